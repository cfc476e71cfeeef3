package lotrun

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"

	"curbfall/io/raster"
	"curbfall/io/report"
	"curbfall/io/units"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/grid"
)

// fact is one thing found out about the inputs.
type fact struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Check judges the inputs only. Where a site has several lots and none is
// named, the first stands for all: what is judged does not hang on the lot.
func Check(_ context.Context, in Inputs, s units.System) (*Finished, error) {
	g, err := readForCheck(in)
	if err != nil {
		return nil, err
	}
	defer g.close()
	low, high := g.ground.Range()
	facts := []fact{
		{"raster", fmt.Sprintf("%s, %d x %d cells", in.DEM, g.dem.Cols, g.dem.Rows)},
		{"coordinate system", g.dem.System.Name},
		{"site metres", g.dem.Site.Name},
		{"cell", fmt.Sprintf("%.4g x %.4g m", g.ground.CellX, g.ground.CellY)},
		{"vertical unit", verticalName(g.dem.MetresPerZ)},
		{"ground in the window", fmt.Sprintf("%s to %s", units.FormatElevation(low, s), units.FormatElevation(high, s))},
		{"voids in the window", g.voidWords()},
		{"site", strings.Join([]string{units.Counted(len(g.site.Lots), "lot"), units.Counted(len(g.site.Roofs), "roof"), units.Counted(len(g.site.Curbs), "curb"), units.Counted(len(g.site.Downspouts), "downspout"),
			units.Counted(len(g.site.Inlets), "inlet"), units.Counted(len(g.site.Outlets), "outlet")}, ", ")},
	}
	if in.Criteria != "" {
		facts = append(facts, fact{"criteria", in.Criteria})
	}
	facts = append(facts, fact{"design storm", units.FormatIntensity(g.criteria.Storm.Intensity, s) + ", " + stormSource(g.criteria.Storm)})
	notes := slices.Concat(g.notes, g.dem.Notices, g.assumed(), g.lotWords())
	var b strings.Builder
	b.WriteString("The inputs can be used.\n\n")
	for _, f := range facts {
		fmt.Fprintf(&b, "%-22s %s\n", f.Name, f.Value)
	}
	b.WriteString(noteLines(notes, s))
	data, err := json.MarshalIndent(struct {
		Usable bool     `json:"usable"`
		Facts  []fact   `json:"facts"`
		Notes  []string `json:"notes"`
	}{true, facts, append([]string{}, notes...)}, "", "  ")
	return &Finished{Feasible: true, Report: b.String(), Summary: string(data) + "\n"}, err
}

// lotWords says which outlets lie beside all lots, and which lots have no place to
// discharge.
func (g *given) lotWords() (says []string) {
	for _, k := range g.judged() {
		law := constraint.NewLaw(g.ground, g.site, k, g.criteria.Limits)
		given := slices.ContainsFunc(g.site.Outlets, func(o constraint.Outlet) bool { return law.Reaches(o.At) })
		points, why := law.CurbPoints(checkStep)
		if !given && len(points) == 0 && g.criteria.Outlet == constraint.CurbFace {
			says = append(says, fmt.Sprintf("lot %s has no place to discharge: %s", law.Lot.ID, why.Says))
		}
		for _, odd := range law.Odd() {
			if len(says) == 0 || !strings.HasSuffix(says[len(says)-1], odd) { // the reason it has none
				says = append(says, odd)
			}
		}
	}
	return says
}

// checkStep is the spacing of places looked at along a frontage, m.
const checkStep = 0.5

func readForCheck(in Inputs) (*given, error) {
	if in.Lot == "" {
		in.Lot = anyLot
	}
	return read(in)
}

func verticalName(metresPerZ float64) string {
	if u, ok := units.UnitOfFactor(metresPerZ); ok {
		return u.String()
	}
	return fmt.Sprintf("%g m", metresPerZ)
}

func (g *given) voidWords() string {
	open, closed, area := 0, 0, 0.0
	for _, v := range g.voids {
		if v.Open {
			open++
			continue
		}
		closed++
		area += float64(len(v.Cells)) * g.ground.CellArea()
	}
	if open+closed == 0 {
		return "none"
	}
	return fmt.Sprintf("%d closed, filled over %.1f m2; %d open to the edge, left unknown", closed, area, open)
}

// Terrain shows where water gathers and runs, and writes its layers.
func Terrain(ctx context.Context, in Inputs, out Output) (*Finished, error) {
	defer debug.SetGCPercent(debug.SetGCPercent(letGo))
	f, err := newFolder(terrainCommand, out.Folder, in, out.Overwrite)
	if err != nil {
		return nil, err
	}
	defer f.abandon()
	done, err := terrainInto(ctx, in, out, f)
	if err != nil {
		return nil, f.unwritten(asInput(err))
	}
	return done, f.unwritten(f.settle())
}

func terrainInto(ctx context.Context, in Inputs, out Output, f *folder) (*Finished, error) {
	g, err := readForTerrain(in, out)
	if err != nil {
		return nil, err
	}
	defer g.close()
	if g.window == nil {
		return g.terrainGrids(ctx, out, f)
	}
	w, err := g.readWater(catchmentMost)
	if err := errors.Join(err, ctx.Err()); err != nil {
		return nil, err
	}
	g.notes = slices.Concat(g.notes, w.curbWords(), w.smallWords())
	writer, err := vector.NewWriter(g.dem.Site)
	if err != nil {
		return nil, err
	}
	defer writer.Close()
	low, paths := w.layers()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	v, err := g.yard(w, noLot).weather(nil)
	if err := errors.Join(err, ctx.Err()); err != nil {
		return nil, err
	}
	dams := w.dams(g.site)
	g.notes = slices.Concat(g.notes, g.terrainAssumed(in), damWords(dams))
	layers := []vector.Layer{low, paths, v.overflow, v.pondings, damLayer(dams)}
	if len(g.site.Lots) > 0 {
		every := make([]int, len(g.site.Lots))
		for k := range every {
			every[k] = k
		}
		a := g.audit(w, every)
		g.notes = append(g.notes, a.says...)
		layers = append(layers, v.boundary, vector.Grading(a.findings))
	}
	for _, l := range layers {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := writer.WriteGeoJSON(f.making, l); err != nil {
			return nil, err
		}
	}
	if out.Rasters {
		if err := g.writeRasters(ctx, f.making, w); err != nil {
			return nil, err
		}
	}
	count := func(l vector.Layer) *int { n := len(l.Features); return &n }
	summary, err := g.terrainSummary(ctx, f, g.criteria.Used, terrainCounts{count(low), count(paths), count(v.overflow), count(v.pondings)})
	if err != nil {
		return nil, err
	}
	return &Finished{Feasible: true, Summary: summary, Report: fmt.Sprintf("%s deeper than %s, %s draining %s or more, in %s.\n", units.Counted(len(low.Features), "low spot"),
		units.FormatDepth(w.least.Depth, out.Units), units.Counted(len(paths.Features), "flow path"), units.FormatArea(pathShown, out.Units), out.Folder) + w.firstLines(out.Units) + noteLines(g.notes, out.Units)}, nil
}

// terrainAssumed says what the water on the ground rests on.
func (g *given) terrainAssumed(in Inputs) (says []string) {
	storm := g.criteria.Storm
	says = append(says, fmt.Sprintf("storm: %.1f mm/h, %s; ponding and flow over lot lines rest on it", storm.Intensity*1000*3600, stormSource(storm)))
	if in.Site == "" {
		says = append(says, fmt.Sprintf("all ground is taken as lawn, runoff coefficient %.2f, since no site was given", g.criteria.Storm.Lawn))
	}
	return says
}

// stormSource is who says how hard it rains.
func stormSource(s design.Storm) string {
	switch {
	case s.Assumed:
		return "assumed since none was given"
	case s.Source != "":
		return fmt.Sprintf("%s (%s)", s.Source, s.Table)
	}
	return "as given (storm.intensity)"
}

// terrainCounts says how much was found, nothing of what was not looked for.
type terrainCounts struct {
	LowSpots      *int `json:"low_spots"`
	FlowPaths     *int `json:"flow_paths"`
	OverflowPaths *int `json:"overflow_paths"`
	Ponds         *int `json:"ponds"`
}

// terrainSummary writes summary.json and returns it.
func (g *given) terrainSummary(ctx context.Context, f *folder, used []constraint.Used, found terrainCounts) (string, error) {
	inputs, err := g.digests(ctx, f)
	if err != nil {
		return "", err
	}
	summary, err := json.MarshalIndent(struct {
		terrainCounts
		Notes   []string       `json:"notes"`
		Limits  []report.Limit `json:"limits"`
		Inputs  []report.Input `json:"inputs"`
		Version string         `json:"version"`
	}{found, append([]string{}, g.notes...), report.Limits(used), inputs, Version}, "", "  ")
	if err != nil {
		return "", err
	}
	summary = append(summary, '\n')
	return string(summary), os.WriteFile(filepath.Join(f.making, "summary.json"), summary, 0o644)
}

// noteLines prints notes in the units people read.
func noteLines(notes []string, s units.System) string {
	var b strings.Builder
	for _, n := range report.Said(notes, s) {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	return b.String()
}

// readForTerrain reads what terrain needs; of a raster too large to be looked at
// whole, no cells.
func readForTerrain(in Inputs, out Output) (*given, error) {
	if in.Site != "" {
		return readForCheck(in)
	}
	g := &given{in: in}
	err := g.readCriteria()
	if err != nil {
		return nil, asInput(err)
	}
	if g.dem, err = raster.Open(in.DEM, in.VerticalUnit); err != nil {
		return nil, asInput(err)
	}
	m := g.dem.Middle()
	large := false
	if err = g.dem.SetSite(m[0], m[1]); err == nil {
		large, err = tooLarge(g.dem, out)
	}
	if err == nil && !large {
		g.window, err = g.dem.ReadAll()
	}
	if err != nil {
		g.close()
		return nil, asInput(err)
	}
	if large {
		return g, nil
	}
	g.voids = g.window.Voids()
	g.ground = g.window.FillVoids(g.voids)
	g.site = &constraint.Site{}
	g.suspectModel()
	return g, nil
}

// The grids of terrain.
const (
	filledRaster    = "filled.tif"
	depthRaster     = "ponding_depth.tif"
	directionRaster = "flow_direction.tif"
	areaRaster      = "contributing_area.tif"
)

// writeRasters writes the surface's grids on the raster's own cells.
func (g *given) writeRasters(ctx context.Context, folder string, w *water) error {
	l := &large{
		Banded: &grid.Banded{Frame: w.surface.Frame, Cols: w.surface.Cols, Rows: w.surface.Rows, Height: alignedRows},
		dem:    g.dem, window: g.window, folder: folder,
	}
	return errors.Join(
		l.writeLevels(ctx, keep(l, w.surface.Z), keep(l, w.filled.Z)),
		l.writeDirections(ctx, keep(l, w.dir)),
		l.writeAreas(func(to grid.RowWriter[uint32]) error { return to.WriteRows(0, w.acc) }))
}

// standingLevels is the filled surface and the depth of water that fills it, m.
func standingLevels(bare, filled *grid.Grid) (levels, depths []float32) {
	levels, depths = make([]float32, len(filled.Z)), make([]float32, len(filled.Z))
	for i := range levels {
		levels[i] = float32(filled.Elevation(i))
		depths[i] = float32((float64(filled.Z[i]) - float64(bare.Z[i])) * filled.MetresPerZ)
	}
	return levels, depths
}
