package lotrun

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"curbfall/io/report"
	"curbfall/io/units"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
	"curbfall/terrain/grid"
)

// Version names the program in its outputs.
const Version = "0.1.0"

// Output says where results go and how people read them.
type Output struct {
	Folder    string
	Overwrite bool
	Units     units.System
	Rasters   bool // Terrain alone
	Memory    int  // Terrain alone: bytes that may be used; 0: as many as it takes
	// Progress is told what is being done on which row of how many, on long runs
	// of Terrain alone; nil: nobody.
	Progress func(doing string, row, rows int)
	Effort   int // networks tried, each grown in another order; 0: as few as usual
}

// Finished is a run that came to its end.
type Finished struct {
	Feasible bool
	Report   string // the page to read
	Summary  string // summary.json
}

// Route designs one lot and writes its layers. An error of type *InputError is
// unusable input; nothing is then written.
func Route(ctx context.Context, in Inputs, out Output) (*Finished, error) {
	f, err := newFolder(routeCommand, out.Folder, in, out.Overwrite)
	if err != nil {
		return nil, err
	}
	defer f.abandon()
	done, err := routeInto(ctx, in, out, f)
	if err != nil {
		return nil, f.unwritten(err)
	}
	return done, f.unwritten(f.settle())
}

func routeInto(ctx context.Context, in Inputs, out Output, f *folder) (*Finished, error) {
	clock := newClock()
	g, err := read(in)
	if err != nil {
		return nil, err
	}
	defer g.close()
	clock.lap("read")
	w, err := g.readWater(catchmentMost)
	if err != nil {
		return nil, asInput(err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	g.notes = slices.Concat(g.notes, w.curbWords(), w.smallWords())
	clock.lap("terrain")
	g.criteria.InvertStep, g.criteria.Effort = out.Units.ElevationStep(), out.Effort
	law := constraint.NewLaw(g.ground, g.site, g.lot, g.criteria.Limits)
	r, err := design.Lot(ctx, law, g.site, w.forDesign(g.site, g.criteria.Storm), g.criteria)
	if err != nil {
		return nil, unusable(in.Site, err)
	}
	r.Assumed = append(g.assumed(), r.Assumed...)
	clock.lap("design")
	v, err := g.yard(w, g.lot).weather(r)
	if err != nil {
		return nil, err
	}
	r.Notes, r.SurfaceWater = append(g.notes, r.Notes...), v.says
	r.WhatIfs = g.whatIfs(r)
	clock.lap("storm")
	summary, err := g.write(ctx, f, r, w, v, out, clock)
	if err != nil {
		return nil, err
	}
	return &Finished{
		Feasible: r.Status == design.Feasible,
		Report:   report.Text(r, g.site.Lots[g.lot].ID, out.Units, out.Folder),
		Summary:  summary,
	}, nil
}

// yard is the water with what is given of the ground; lot is the one asked
// about, noLot for none.
func (g *given) yard(w *water, lot int) *yard {
	return &yard{water: w, ground: g.ground, site: g.site, lot: lot, criteria: g.criteria, harder: g.harderStorms()}
}

// unusable turns what a design cannot start from into unusable input.
func unusable(site string, err error) error {
	var nothing *design.NothingToDrain
	var nowhere *design.NoOutlet
	var below *design.RimBelowLid
	if errors.As(err, &nothing) || errors.As(err, &nowhere) || errors.As(err, &below) {
		return &InputError{site + ": " + err.Error()}
	}
	return err
}

// assumed lists what the site did not say.
func (g *given) assumed() []string {
	var list []string
	for _, c := range g.site.Curbs {
		if !c.TypeAssumed {
			continue
		}
		says := fmt.Sprintf("curb %s has no type: taken as vertical", c.ID)
		if !constraint.Given(c.Height) {
			says += fmt.Sprintf(", %.3f m high (limits.curb_height)", g.criteria.Limits.CurbHeight)
		}
		list = append(list, says)
	}
	for _, t := range g.site.Trees {
		if t.Assumed {
			list = append(list, fmt.Sprintf("tree %s has no trunk diameter: taken as %.2f m", t.ID, t.TrunkDiameter))
		}
	}
	if s := g.criteria.Storm; s.Rain != nil && s.Rain24h > 0 {
		list = append(list, timeWords(s.Rain24h))
	}
	places, total, largest := 0, 0.0, 0.0
	for _, v := range g.voids {
		if area := float64(len(v.Cells)) * g.ground.CellArea(); !v.Open {
			places++
			total += area
			largest = math.Max(largest, area)
		}
	}
	if places > 0 {
		list = append(list, fmt.Sprintf("ground unknown at %s, %.1f m2 in all, %.1f m2 the largest, was filled from the ground around (voids in summary.json)", units.Counted(places, "place"), total, largest))
	}
	return list
}

// write writes every layer into the folder in the making.
func (g *given) write(ctx context.Context, f *folder, r *design.Result, w *water, v *weather, out Output, clock *clock) (string, error) {
	writer, err := vector.NewWriter(g.dem.Site)
	if err != nil {
		return "", err
	}
	defer writer.Close()
	low, paths := w.layers()
	audit := g.audit(w, []int{g.lot})
	r.Notes = append(r.Notes, audit.says...)
	dams := w.dams(g.site)
	r.Notes = append(r.Notes, damWords(dams)...)
	layers := []vector.Layer{vector.Pipes(&r.Network), vector.Nodes(&r.Network), low, paths, v.overflow, v.pondings, v.boundary, vector.Grading(audit.findings), damLayer(dams), vector.Crossings(r.Crossings)}
	for _, l := range append(layers, vector.Review(g.site, g.site.Lots[g.lot].ID, vector.Waters{Ponding: v.ponding, LowSpots: low, FlowPaths: paths, OverflowPaths: v.overflow}, r, out.Units,
		func(says string) string { return report.Said([]string{says}, out.Units)[0] })) {
		if err := writer.WriteGeoJSON(f.making, l); err != nil {
			return "", err
		}
	}
	if err := vector.WriteGeoPackage(filepath.Join(f.making, "design.gpkg"), g.dem.Site, layers); err != nil {
		return "", err
	}
	clock.lap("write")
	inputs, err := g.digests(ctx, f)
	if err != nil {
		return "", err
	}
	lonLat := func(x, y float64) (float64, float64) {
		p, _ := writer.LonLat(orb.Point{x, y})
		return p[0], p[1]
	}
	data, err := report.Summary(r, g.criteria, report.Run{Version: Version, Inputs: inputs, Voids: g.voidList(lonLat), Timings: clock.laps, LonLat: lonLat})
	if err != nil {
		return "", err
	}
	return string(data), os.WriteFile(filepath.Join(f.making, "summary.json"), data, 0o644)
}

// voidList lists the voids of the window.
func (g *given) voidList(lonLat func(x, y float64) (float64, float64)) []report.Void {
	var list []report.Void
	for _, v := range g.voids {
		x, y := middleOf(g.ground, v)
		lon, lat := lonLat(x, y)
		list = append(list, report.Void{Area: float64(len(v.Cells)) * g.ground.CellArea(), At: [2]float64{lon, lat}, Filled: !v.Open})
	}
	return list
}

func middleOf(g *grid.Grid, v grid.Void) (x, y float64) {
	var col, row float64
	for _, i := range v.Cells {
		c, r := g.Cell(i)
		col, row = col+float64(c), row+float64(r)
	}
	n := float64(len(v.Cells))
	return g.ToSite(col/n, row/n)
}

// clock times the stages of a run.
type clock struct {
	last time.Time
	laps map[string]float64
}

func newClock() *clock { return &clock{time.Now(), map[string]float64{}} }

func (c *clock) lap(stage string) {
	now := time.Now()
	c.laps[stage] = now.Sub(c.last).Seconds()
	c.last = now
}
