package lawcheck

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// checker is one check: what was read, what was settled, what was found.
type checker struct {
	ground *ground
	site   *site
	out    *output
	lot    *feature
	front  *frontage // nil where no side of the lot faces a curb
	limits map[string]float64
	words  map[string]string
	in     map[string][]*pipe // by node
	outOf  map[string][]*pipe
	exits  map[string]exit // by inflow node
	found  []Violation
	worst  map[string]float64 // by rule, pipe and object: how bad the one in found is
	index  map[string]int
}

// Check proves the law over again for what was printed into a folder. lotID
// may be "" where the site has one lot. The raster must declare its vertical
// unit. The list is in the order found, the worst place of each pipe, rule and
// object alone; an error means that there is nothing to check.
func Check(demPath, sitePath, lotID, outDir string) ([]Violation, error) {
	return CheckUnit(demPath, sitePath, lotID, outDir, "")
}

// CheckUnit is Check for a raster that does not say its vertical unit: "m",
// "us-ft" or "ft".
func CheckUnit(demPath, sitePath, lotID, outDir, verticalUnit string) ([]Violation, error) {
	c := &checker{limits: map[string]float64{}, words: map[string]string{}, in: map[string][]*pipe{}, outOf: map[string][]*pipe{},
		exits: map[string]exit{}, worst: map[string]float64{}, index: map[string]int{}}
	s, system, err := readSite(sitePath)
	if err != nil {
		return nil, err
	}
	c.site = s
	register()
	middle, err := toLonLat(system, s.middle)
	if err != nil {
		return nil, err
	}
	if c.ground, err = readGround(demPath, verticalUnit, middle); err != nil {
		return nil, err
	}
	defer c.ground.close()
	s.foot = c.ground.foot
	m, err := c.ground.moverFrom(system)
	if err != nil {
		return nil, err
	}
	defer m.t.Close()
	if err := s.place(m); err != nil {
		return nil, err
	}
	if err := c.chooseLot(lotID); err != nil {
		return nil, err
	}
	fromLonLat, err := c.ground.moverFrom(lonLat)
	if err != nil {
		return nil, err
	}
	defer fromLonLat.t.Close()
	if err := c.read(outDir, fromLonLat); err != nil {
		return nil, fmt.Errorf("%s: %w", outDir, err)
	}
	c.prove(outDir)
	return c.found, nil
}

func (c *checker) chooseLot(id string) error {
	lots := c.site.byKind["lot"]
	for _, l := range lots {
		if l.id == id || id == "" && len(lots) == 1 {
			c.lot = l
			return nil
		}
	}
	return fmt.Errorf("lot %q is not among the site's %d", id, len(lots))
}

// prove goes through the law.
func (c *checker) prove(outDir string) {
	c.takeLimits()
	c.front = c.settleFrontage()
	c.network()
	c.settleExits()
	for _, p := range c.out.pipes {
		c.sections(p)
		c.places(p)
		c.utilities(p)
		c.figures(p)
		c.shallow(p)
	}
	c.crossings()
	c.hidden(outDir)
	for _, n := range c.out.nodes {
		c.atNode(n)
		c.turns(n)
		if n.kind == "outlet" {
			c.outlet(n)
		}
	}
	c.servedInflows()
}

// needed are the limits the law is checked by.
var needed = []string{
	"cover_min", "cover_preferred", "cover_min_walk", "cover_min_driveway", "outlet_cover", "outlet_zone", "daylight_zone", "depth_max", "slope_min",
	"slope_min_large", "slope_min_single_wall", "curb_height", "roof_setback", "wall_strip", "lot_line_setback", "root_plate_factor",
	"root_zone_factor", "root_zone_radius_floor", "trunk_diameter_assumed", "utility_clearance", "outlet_above_gutter",
	"emitter_rise_max", "frontage_margin", "curb_clearance_driveway", "outlet_size_max", "bend_max",
}

// curbRaiseMost bounds the width of one cell by the law, m.
const curbRaiseMost = 3

// takeLimits takes the limits as printed.
func (c *checker) takeLimits() {
	for _, l := range c.out.summary.Limits {
		switch v := l.Value.(type) {
		case float64:
			if l.Unit == "deg" {
				v *= math.Pi / 180
			}
			c.limits[l.Name] = v
		case string:
			c.words[l.Name] = v
		default:
			c.report(Limits, l.Name, math.NaN(), math.NaN(), math.NaN(), "value %v is neither a number nor a word", l.Value)
		}
	}
	for _, name := range needed {
		if _, ok := c.limits["limits."+name]; !ok {
			c.report(Limits, name, math.NaN(), math.NaN(), math.NaN(), "limits.%s is used and not printed as a number", name)
			c.limits["limits."+name] = math.NaN()
		}
	}
	if _, ok := c.limits["limits.curb_raise_width"]; !ok {
		c.limits["limits.curb_raise_width"] = math.Min(c.ground.cell, curbRaiseMost)
	}
}

func (c *checker) limit(name string) float64 { return c.limits["limits."+name] }

// report keeps a violation that happens once.
func (c *checker) report(rule Rule, pipe string, station, value, limit float64, format string, args ...any) {
	c.found = append(c.found, Violation{rule, pipe, station, value, limit, fmt.Sprintf(format, args...)})
}

// along keeps the worst violation of a rule along a pipe; by is how much the
// rule is broken, object what it is about.
func (c *checker) along(rule Rule, p *pipe, object string, by, station, value, limit float64, says string) {
	key := string(rule) + "\x00" + p.id + "\x00" + object
	if object != "" {
		says += " " + object
	}
	v := Violation{rule, p.id, station, value, limit, says}
	if k, ok := c.index[key]; !ok {
		c.index[key] = len(c.found)
		c.found = append(c.found, v)
	} else if by > c.worst[key] {
		c.found[k] = v
	} else {
		return
	}
	c.worst[key] = by
}

// walk calls do every step along a pipe and at its ends: t is the share of the
// way from its upper end, station the distance to the outlet.
func (c *checker) walk(p *pipe, do func(q orb.Point, t, station float64)) {
	l := p.length()
	if math.IsNaN(l) || l == 0 {
		return
	}
	foot := c.foot(p)
	for k := 0; ; k++ {
		t := math.Min(1, float64(k)*step/l)
		do(between(p.up, p.down, t), t, foot+(1-t)*l)
		if t == 1 {
			return
		}
	}
}

// foot is the station of a pipe's lower end as printed, NaN where it has no node.
func (c *checker) foot(p *pipe) float64 {
	if n := c.out.node[p.to]; n != nil {
		return n.number["station_m"]
	}
	return math.NaN()
}

// lastTo returns the type of the outlet a pipe ends at, "" where it ends
// elsewhere.
func (c *checker) lastTo(p *pipe) string {
	if n := c.out.node[p.to]; n != nil && n.kind == "outlet" {
		return n.outletType
	}
	return ""
}
