package lotrun

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/cmd/internal/lawcheck"
	"curbfall/io/crs"
	"curbfall/io/raster"
	"curbfall/io/vector"
	"curbfall/routing/constraint"
)

// printed is a design as its files show it; numbers by property name.
type printed struct {
	Pipes, Nodes []shown
	Leftover     bool
	limits       map[string]float64
}

type shown struct {
	Points     []orb.Point
	Properties map[string]any
}

func (s shown) num(k string) float64 {
	v, ok := s.Properties[k].(float64)
	if !ok {
		return math.NaN()
	}
	return v
}

func (s shown) word(k string) string { w, _ := s.Properties[k].(string); return w }

func readPrinted(t *testing.T, folder string, mover *crs.Mover) printed {
	t.Helper()
	layer := func(name string) (list []shown) {
		var c struct {
			Features []struct {
				Properties map[string]any
				Geometry   struct {
					Type        string
					Coordinates json.RawMessage
				}
			}
		}
		data, err := os.ReadFile(filepath.Join(folder, name))
		if err == nil {
			err = json.Unmarshal(data, &c)
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.Features {
			raw := f.Geometry.Coordinates
			if f.Geometry.Type == "Point" {
				raw = json.RawMessage("[" + string(raw) + "]")
			}
			var pts []orb.Point
			if err := json.Unmarshal(raw, &pts); err != nil {
				t.Fatal(err)
			}
			s := shown{Properties: f.Properties}
			for _, p := range pts {
				q, err := mover.Move(p)
				if err != nil {
					t.Fatal(err)
				}
				s.Points = append(s.Points, q)
			}
			list = append(list, s)
		}
		return list
	}
	p := printed{Pipes: layer("pipes.geojson"), Nodes: layer("nodes.geojson"), limits: map[string]float64{}}
	var summary struct {
		Verdict string
		Limits  []struct {
			Name  string
			Value any
		}
	}
	data, err := os.ReadFile(filepath.Join(folder, "summary.json"))
	if err == nil {
		err = json.Unmarshal(data, &summary)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range summary.Limits {
		if v, ok := l.Value.(float64); ok {
			p.limits[strings.TrimPrefix(l.Name, "limits.")] = v
		}
	}
	p.Leftover = strings.Contains(summary.Verdict, "left over")
	return p
}

// walker re-proves the law in 5 cm steps from raster and site alone. It shares
// no code with what made the design but the reading of files.
type walker struct {
	z          []float64
	cols, rows int
	gt         [6]float64
	toRaster   func(orb.Point) orb.Point // site metres to the raster's own units
	unit       float64                   // metres per vertical unit
	site       *constraint.Site
	lot        constraint.Lot
}

func (w *walker) ground(p orb.Point) float64 {
	q := w.toRaster(p)
	c, r := (q[0]-w.gt[0])/w.gt[1]-0.5, (q[1]-w.gt[3])/w.gt[5]-0.5
	i, j := int(c), int(r)
	u, v := c-float64(i), r-float64(j)
	at := func(a, b int) float64 { return w.z[b*w.cols+a] * w.unit }
	return (at(i, j)*(1-u)+at(i+1, j)*u)*(1-v) + (at(i, j+1)*(1-u)+at(i+1, j+1)*u)*v
}

func toRing(p orb.Point, area orb.Polygon) float64 {
	return planar.DistanceFrom(orb.LineString(area[0]), p)
}

// check lists what breaks the law, "rule pipe".
func (w *walker) check(d printed) []string {
	var bad []string
	say := func(rule, id string) {
		if s := rule + " " + id; !slices.Contains(bad, s) {
			bad = append(bad, s)
		}
	}
	nodes := map[string]shown{}
	for _, n := range d.Nodes {
		nodes[n.word("id")] = n
	}
	for i, p := range d.Pipes {
		w.pipe(d, p, nodes, func(rule string) { say(rule, p.word("id")) })
		for _, q := range d.Pipes[:i] {
			if cross(p.Points, q.Points) {
				say("crossing", p.word("id"))
			}
		}
		for _, q := range d.Pipes {
			if q.word("from_node") != p.word("to_node") {
				continue
			}
			if p.num("invert_down_m") < q.num("invert_up_m")-0.001 {
				say("invert at node", p.word("id"))
			}
			if size(p) > size(q) && q.word("role") != "outlet" {
				say("shrinks", p.word("id"))
			}
		}
	}
	return bad
}

func size(p shown) (inches float64) {
	_, _ = fmt.Sscanf(p.word("nominal_size"), "%g in", &inches)
	return inches
}

func cross(a, b []orb.Point) bool {
	side := func(o, e, x orb.Point) float64 { return (e[0]-o[0])*(x[1]-o[1]) - (e[1]-o[1])*(x[0]-o[0]) }
	const end = 1e-4
	return side(a[0], a[1], b[0])*side(a[0], a[1], b[1]) < -end && side(b[0], b[1], a[0])*side(b[0], b[1], a[1]) < -end
}

func (w *walker) pipe(d printed, p shown, nodes map[string]shown, say func(string)) {
	a, b := p.Points[0], p.Points[1]
	length := planar.Distance(a, b)
	up, down := p.num("invert_up_m"), p.num("invert_down_m")
	inside, outside := p.num("inside_diameter_m"), p.num("outside_diameter_m")
	wall := (outside - inside) / 2
	from, ok1 := nodes[p.word("from_node")]
	to, ok2 := nodes[p.word("to_node")]
	if !ok1 || !ok2 || planar.Distance(from.Points[0], a) > 0.002 || planar.Distance(to.Points[0], b) > 0.002 {
		say("nodes")
		return
	}
	if math.Abs(length-p.num("length_m")) > 0.002 {
		say("length")
	}
	if slope := (up - down) / length; slope < d.limits["slope_min"]-1e-5 && size(p) < 8 {
		say("slope")
	}
	// Full capacity by Manning: Q = 0.3117 / n D^(8/3) S^(1/2) (FHWA HEC-22 3rd ed. Eq. 7-1, from memory; constant computed).
	if q := 311.69 / p.num("roughness_n") * math.Pow(inside, 8.0/3) * math.Sqrt((up-down)/length); p.num("design_flow_lps") > q*1.001 && !d.Leftover {
		say("capacity")
	}
	outlet := p.word("role") == "outlet" && to.word("outlet_type") == "curb_face"
	n := int(length/0.05) + 1
	for k := 0; k <= n; k++ {
		s := math.Min(length, float64(k)*0.05)
		at := orb.Point{a[0] + (b[0]-a[0])*s/length, a[1] + (b[1]-a[1])*s/length}
		invert := up + (down-up)*s/length
		z := w.ground(at)
		cover := w.coverAt(d, at)
		if outlet {
			cover = d.limits["outlet_cover"]
			z = math.Max(z, w.topOfCurb(d, at))
		}
		if z-invert-wall-inside < cover-0.002 {
			say("cover")
		}
		if z-invert > d.limits["depth_max"]+0.002 {
			say("depth")
		}
		w.place(d, at, s, from, say)
		w.utilities(d, at, invert, inside, outside, say)
	}
	if outlet {
		if length > d.limits["outlet_zone"]+0.002 {
			say("outlet zone")
		}
		if down < to.num("gutter_m")+d.limits["outlet_above_gutter"]-0.001 {
			say("outlet invert")
		}
	}
}

func (w *walker) coverAt(d printed, p orb.Point) float64 {
	cover, paved := d.limits["cover_min"], false
	for _, a := range w.site.Paved {
		if !planar.PolygonContains(a.Area, p) || toRing(p, a.Area) < 0.002 {
			continue
		}
		c := d.limits["cover_min_walk"]
		if a.Kind == constraint.Driveway {
			c = d.limits["cover_min_driveway"]
		}
		if !paved || c > cover {
			cover = c
		}
		paved = true
	}
	return cover
}

// topOfCurb is the raised ground behind the curb, far below where none is: the
// gutter beside the nearest point of the curb, away from the lot, and the
// curb's height on it.
func (w *walker) topOfCurb(d printed, p orb.Point) float64 {
	for _, c := range w.site.Curbs {
		for k := 1; k < len(c.Line); k++ {
			a, b := c.Line[k-1], c.Line[k]
			l := planar.Distance(a, b)
			ux, uy := (b[0]-a[0])/l, (b[1]-a[1])/l
			s := ux*(p[0]-a[0]) + uy*(p[1]-a[1])
			side := ux*(p[1]-a[1]) - uy*(p[0]-a[0])
			if s < 0 || s > l || math.Abs(side) > math.Min(3, w.gt[1]*w.cell()) {
				continue
			}
			middle := w.lot.Area[0].Bound().Center()
			nx, ny := uy, -ux
			if nx*(middle[0]-a[0])+ny*(middle[1]-a[1]) > 0 {
				nx, ny = -nx, -ny
			}
			gutter := math.Inf(1)
			for far := 0.3; far <= 1.0001; far += 0.01 {
				gutter = math.Min(gutter, w.ground(orb.Point{a[0] + s*ux + far*nx, a[1] + s*uy + far*ny}))
			}
			h := d.limits["curb_height"]
			if !math.IsNaN(c.Height) {
				h = c.Height
			}
			return gutter + h
		}
	}
	return math.Inf(-1)
}

func (w *walker) cell() float64 {
	p, q := w.toRaster(orb.Point{w.lot.Area[0][0][0] + 1, w.lot.Area[0][0][1]}), w.toRaster(w.lot.Area[0][0])
	return 1 / math.Hypot(p[0]-q[0], p[1]-q[1])
}

// place holds a point of a pipe to where pipes may lie.
func (w *walker) place(d printed, p orb.Point, s float64, from shown, say func(string)) {
	exit := math.Inf(-1)
	if k := from.word("kind"); k == "downspout" || k == "inlet" {
		exit = d.limits["roof_setback"] + 0.5 + 0.002
		// At a hollow corner the shortest way out is longer than the setback.
		exit *= math.Sqrt2
	}
	for _, r := range w.site.Roofs {
		inside := planar.PolygonContains(r.Outline, p)
		far := toRing(p, r.Outline)
		if inside && far > 0.002 || !inside && far < d.limits["roof_setback"]-0.002 && s > exit {
			say("roof setback")
		}
	}
	for _, l := range w.site.Lots {
		if l.ID != w.lot.ID && planar.PolygonContains(l.Area, p) && toRing(p, l.Area) > 0.002 {
			say("other lot")
		}
	}
	for _, k := range w.site.KeepOuts {
		if planar.PolygonContains(k.Area, p) && toRing(p, k.Area) > 0.002 {
			say("keep-out")
		}
	}
	for _, t := range w.site.Trees {
		if planar.Distance(p, t.At) < t.TrunkDiameter*d.limits["root_plate_factor"]-0.002 {
			say("root plate")
		}
	}
	if !planar.PolygonContains(w.lot.Area, p) && toRing(p, w.lot.Area) > 0.002 {
		near := math.Inf(1)
		for _, c := range w.site.Curbs {
			near = math.Min(near, planar.DistanceFrom(c.Line, p))
		}
		// The verge: between the lot and its curb.
		if near > 12 {
			say("outside the lot")
		}
	}
}

func (w *walker) utilities(d printed, p orb.Point, invert, inside, outside float64, say func(string)) {
	wall := (outside - inside) / 2
	for _, u := range w.site.Utilities {
		clear := d.limits["utility_clearance"]
		if !math.IsNaN(u.Clearance) {
			clear = u.Clearance
		}
		if math.IsNaN(u.Depth) || planar.DistanceFrom(u.Line, p) > clear+(outside+u.OutsideDiameter)/2-0.002 {
			continue
		}
		// The ground over the line itself, within a clearance's breadth of p.
		top := w.ground(p) - u.Depth
		slack := 0.06*clear + 0.005
		if invert-wall < top+clear-slack && invert+inside+wall > top-u.OutsideDiameter-clear+slack {
			say("utility")
		}
	}
}

// newWalker reads raster and site afresh.
func newWalker(t *testing.T, dem, siteFile, lot string) (*walker, *crs.Mover) {
	t.Helper()
	d, err := raster.Open(dem, "")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	lines, err := vector.Read(siteFile)
	if err != nil {
		t.Fatal(err)
	}
	m, err := lines.Middle()
	if err == nil {
		err = d.SetSite(m[0], m[1])
	}
	if err != nil {
		t.Fatal(err)
	}
	w := &walker{unit: d.MetresPerZ}
	if w.site, _, err = lines.Site(d.Site, d.MetresPerZ, 0.3048); err != nil {
		t.Fatal(err)
	}
	w.lot = w.site.Lots[slices.IndexFunc(w.site.Lots, func(l constraint.Lot) bool { return lot == "" || l.ID == lot })]
	ds, err := godal.Open(dem)
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	w.gt, _ = ds.GeoTransform()
	w.cols, w.rows = ds.Structure().SizeX, ds.Structure().SizeY
	w.z = make([]float64, w.cols*w.rows)
	if err := ds.Bands()[0].Read(0, 0, w.z, w.cols, w.rows); err != nil {
		t.Fatal(err)
	}
	back, err := crs.NewMover(d.Site, d.System)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(back.Close)
	unit := d.System.MetresPerUnit
	w.toRaster = func(p orb.Point) orb.Point {
		q, err := back.Move(p)
		if err != nil {
			t.Fatal(err)
		}
		return orb.Point{q[0] / unit, q[1] / unit}
	}
	wgs, err := crs.WGS84()
	if err != nil {
		t.Fatal(err)
	}
	out, err := crs.NewMover(wgs, d.Site)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(out.Close)
	return w, out
}

// independent asks the checker that shares no code with the design at all.
func independent(t *testing.T, dem, site, lot, folder string) {
	t.Helper()
	bad, err := lawcheck.Check(dem, site, lot, folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range bad {
		t.Errorf("%+v", v)
	}
}

func TestDemoObeysTheLaw(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "demo")
	done, err := Demo(context.Background(), Output{Folder: folder})
	if err != nil || !done.Feasible {
		t.Fatal(err, done)
	}
	independent(t, filepath.Join(folder, DemoGround), filepath.Join(folder, DemoSite), "lot-1", folder)
	w, mover := newWalker(t, filepath.Join(folder, DemoGround), filepath.Join(folder, DemoSite), "")
	d := readPrinted(t, folder, mover)
	if bad := w.check(d); len(bad) > 0 {
		t.Fatalf("the printed design breaks the law: %v", bad)
	}
	spoiled(t, w, func() printed { return readPrinted(t, folder, mover) })
}

// spoiled copies of a good design must each be caught, by the right rule.
func spoiled(t *testing.T, w *walker, good func() printed) {
	pipe := func(d printed, role string) *shown {
		for i := range d.Pipes {
			if d.Pipes[i].word("role") == role {
				return &d.Pipes[i]
			}
		}
		t.Fatalf("no %s pipe", role)
		return nil
	}
	add := func(s *shown, k string, by float64) { s.Properties[k] = s.num(k) + by }
	shift := func(d printed, dx, dy float64) {
		for _, list := range [][]shown{d.Pipes, d.Nodes} {
			for i := range list {
				for j := range list[i].Points {
					list[i].Points[j][0] += dx
					list[i].Points[j][1] += dy
				}
			}
		}
	}
	for _, c := range []struct {
		rule  string
		spoil func(d printed)
	}{
		{"cover", func(d printed) { add(pipe(d, "lateral"), "invert_up_m", 0.005) }},
		{"slope", func(d printed) { add(pipe(d, "lateral"), "invert_down_m", 0.05) }},
		{"slope", func(d printed) {
			p := pipe(d, "main")
			p.Properties["invert_up_m"], p.Properties["invert_down_m"] = p.num("invert_down_m"), p.num("invert_up_m")
		}},
		{"invert at node", func(d printed) { add(pipe(d, "lateral"), "invert_down_m", -3) }},
		{"depth", func(d printed) { add(pipe(d, "main"), "invert_up_m", -2); add(pipe(d, "main"), "invert_down_m", -2.1) }},
		{"outlet invert", func(d printed) { add(pipe(d, "outlet"), "invert_down_m", -0.02) }},
		{"cover", func(d printed) { add(pipe(d, "outlet"), "invert_down_m", 0.02) }},
		{"length", func(d printed) { add(pipe(d, "main"), "length_m", 0.01) }},
		{"nodes", func(d printed) { pipe(d, "main").Properties["from_node"] = "nowhere" }},
		{"shrinks", func(d printed) { pipe(d, "lateral").Properties["nominal_size"] = "12 in" }},
		{"capacity", func(d printed) { pipe(d, "main").Properties["design_flow_lps"] = 99.0 }},
		{"roof setback", func(d printed) { shift(d, 0, -1.2) }},
		{"outlet zone", func(d printed) {
			p := pipe(d, "outlet")
			for i := range d.Nodes {
				if d.Nodes[i].word("id") == p.word("from_node") {
					d.Nodes[i].Points[0][1] += 3
				}
			}
			p.Points[0][1] += 3
			p.Properties["length_m"] = planar.Distance(p.Points[0], p.Points[1])
		}},
		{"root plate", func(d printed) { d.limits["root_plate_factor"] = 40 }},
		{"utility", func(d printed) { d.limits["utility_clearance"] = 9; w.site.Utilities[0].Clearance = math.NaN() }},
	} {
		clearance := w.site.Utilities[0].Clearance
		d := good()
		c.spoil(d)
		bad := w.check(d)
		w.site.Utilities[0].Clearance = clearance
		if !slices.ContainsFunc(bad, func(s string) bool { return strings.HasPrefix(s, c.rule+" ") }) {
			t.Errorf("spoiled by %q, caught as %v", c.rule, bad)
		}
	}
}

// The real lots: verdicts, and the law on what is printed. Verdicts: an
// independent trial on a 0.5 m lattice found lots 1 to 4 served and lot 5 short
// by 15 to 35 mm.
func TestRealLots(t *testing.T) {
	data := filepath.Join("..", "..", "..", "..", "shared", "data")
	site := filepath.Join(data, "fl-subdivision-site.geojson")
	if _, err := os.Stat(site); err != nil {
		t.Skipf("real rasters are not here: %v", err)
	}
	for _, dem := range []string{"fl-subdivision-3m.tif", "fl-subdivision-degrees.tif"} {
		for lot := 1; lot <= 5; lot++ {
			id := fmt.Sprintf("lot-%d", lot)
			t.Run(dem+" "+id, func(t *testing.T) {
				folder := filepath.Join(t.TempDir(), "out")
				done, err := Route(context.Background(), Inputs{DEM: filepath.Join(data, dem), Site: site, Lot: id}, Output{Folder: folder})
				if err != nil {
					t.Fatal(err)
				}
				if done.Feasible != (lot != 5) {
					t.Fatalf("feasible %v\n%s", done.Feasible, done.Report)
				}
				if lot != 5 { // nothing is drawn there
					independent(t, filepath.Join(data, dem), site, id, folder)
				}
				w, mover := newWalker(t, filepath.Join(data, dem), site, id)
				if bad := w.check(readPrinted(t, folder, mover)); len(bad) > 0 {
					t.Fatalf("the printed design breaks the law: %v", bad)
				}
				if lot == 5 {
					shortBetween(t, done.Summary, 0.010, 0.040)
				}
			})
		}
	}
}

func shortBetween(t *testing.T, summary string, low, high float64) {
	t.Helper()
	var s struct {
		Inflows []struct {
			Status  string
			ShortBy *float64 `json:"short_by_m"`
		}
	}
	if err := json.Unmarshal([]byte(summary), &s); err != nil {
		t.Fatal(err)
	}
	for _, in := range s.Inflows {
		if in.ShortBy == nil || *in.ShortBy < low || *in.ShortBy > high {
			t.Errorf("%+v: short by %v, want %v to %v m", in.Status, in.ShortBy, low, high)
		}
	}
}
