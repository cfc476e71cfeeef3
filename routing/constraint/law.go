package constraint

import (
	"math"

	"github.com/paulmach/orb"

	"curbfall/terrain/grid"
)

// Law is the pipe's law for one lot: what every point of every pipe must obey.
type Law struct {
	Limits   Limits
	Lot      Lot
	Ground   *grid.Grid // as given, closed voids filled; not modified
	Frontage *Frontage  // nil where the lot meets no curb
	// StreetDisagrees tells that the ground round the curb puts the street on
	// the lot's side of it.
	StreetDisagrees bool

	site    *Site
	region  []*shape   // where pipes may run: the lot and its frontage
	bars    []obstacle // nothing but an inflow's own exit may enter
	curbs   []*shape   // nothing passes a curb
	zones   []zone
	buried  []buried
	roofs   []roofZone
	lotLine []*shape // the strips along side and rear lot lines
}

// obstacle is an area nothing may pass.
type obstacle struct {
	*shape
	Rule string
	ID   string
}

// roofZone is a roof with its setback.
type roofZone struct {
	*Roof
	bare, grown *shape
}

// zone is ground with its own cover or price.
type zone struct {
	*shape
	kind   ZoneKind
	id     string
	paved  bool
	cover  float64
	own    bool // cover was given with it
	factor float64
}

// ZoneKind names ground that a pipe may cross at a price or with its own cover.
type ZoneKind string

// The kinds of zone.
const (
	ZoneWalk      ZoneKind = "walk"
	ZoneDriveway  ZoneKind = "driveway"
	ZonePatio     ZoneKind = "patio"
	ZoneRoots     ZoneKind = "root_zone"
	ZoneWallStrip ZoneKind = "wall_strip"
	ZoneEasement  ZoneKind = "easement"
)

// buried is a utility of known depth.
type buried struct {
	*Utility
	clearance float64
}

// The names of the rules, as the summary prints them.
const (
	RuleKeepOut     = "keep_out"
	RuleOtherLot    = "other_lot"
	RuleRootPlate   = "root_plate_factor"
	RuleRootZone    = "root_zone_rule"
	RuleEasement    = "easement"
	RuleRoofSetback = "roof_setback"
	RuleLotLine     = "lot_line_setback"
)

// ExitBeyond is how much longer than the shortest straight line out of its own
// roof's setback an inflow's exit may be, m.
const ExitBeyond = 0.5

// NewLaw settles the law for the lot at index lot of the site. The ground must
// have its closed voids filled.
func NewLaw(ground *grid.Grid, site *Site, lot int, limits Limits) *Law {
	w := &Law{Limits: limits, Lot: site.Lots[lot], Ground: ground, site: site}
	w.region = []*shape{solidShape(w.Lot.Area, 0)}
	var others []*shape
	for k, l := range site.Lots {
		if k != lot {
			s := solidShape(l.Area, 0)
			others = append(others, s)
			w.bars = append(w.bars, obstacle{s, RuleOtherLot, l.ID})
		}
	}
	for _, c := range site.Curbs {
		w.curbs = append(w.curbs, lineShape(c.Line, 0))
	}
	front := w.settleFrontage(append(others, w.region[0]))
	w.settleLotLines(front)
	w.settleRoofs()
	w.settleObstacles()
	w.settleZones()
	w.settleUtilities()
	w.barSetbacks()
	return w
}

// barSetbacks bars what an inflow's own exit alone may enter, after all else.
func (w *Law) barSetbacks() {
	for _, r := range w.roofs {
		w.bars = append(w.bars, obstacle{r.grown, RuleRoofSetback, r.ID})
	}
	for _, l := range w.lotLine {
		w.bars = append(w.bars, obstacle{l, RuleLotLine, w.Lot.ID})
	}
}

func (w *Law) settleFrontage(others []*shape) map[int]bool {
	k := nearestCurb(w.Lot.Area, w.site.Curbs)
	if k < 0 {
		return nil
	}
	curb := &w.site.Curbs[k]
	f, ok := frontageOf(w.Lot.Area, curb.Line, others)
	if !ok {
		return nil
	}
	f.Face = &Face{Curb: curb}
	f.Face, w.StreetDisagrees = newFace(curb, w.Ground, w.Limits.CurbHeight, w.Limits.StreetSideStep, f.From, f.To, f.lotSide(w.Lot.Area))
	if len(f.Area) > 0 {
		w.region = append(w.region, solidShape(f.Area, 0))
	}
	w.Frontage = &f
	return f.front
}

// settleLotLines makes the strips along side and rear lot lines.
func (w *Law) settleLotLines(front map[int]bool) {
	if w.Limits.LotLineSetback == 0 {
		return
	}
	ring := counterClockwise(w.Lot.Area[0])
	for k := 1; k < len(ring); k++ {
		if !front[k] {
			w.lotLine = append(w.lotLine, lineShape(orb.LineString{ring[k-1], ring[k]}, w.Limits.LotLineSetback))
		}
	}
}

func (w *Law) settleRoofs() {
	setback := w.Limits.RoofSetback
	if w.Limits.WallStripRule == Forbid {
		setback = max(setback, w.Limits.WallStrip)
	}
	for k := range w.site.Roofs {
		r := &w.site.Roofs[k]
		w.roofs = append(w.roofs, roofZone{r, solidShape(r.Outline, 0), solidShape(r.Outline, setback)})
		strip := solidShape(r.Outline, w.Limits.WallStrip)
		w.zones = append(w.zones, zone{shape: strip, kind: ZoneWallStrip, id: r.ID, factor: w.Limits.WallStripFactor})
	}
}

func (w *Law) settleObstacles() {
	bar := func(s *shape, rule, id string) { w.bars = append(w.bars, obstacle{s, rule, id}) }
	for _, k := range w.site.KeepOuts {
		bar(solidShape(k.Area, 0), RuleKeepOut, k.ID)
	}
	for _, t := range w.site.Trees {
		if r := t.TrunkDiameter * w.Limits.RootPlateFactor; r > 0 {
			bar(pointShape(t.At, r), RuleRootPlate, t.ID)
		}
		roots := pointShape(t.At, w.RootZoneRadius(t))
		if w.Limits.RootZoneRule == Forbid {
			bar(roots, RuleRootZone, t.ID)
			continue
		}
		w.zones = append(w.zones, zone{shape: roots, kind: ZoneRoots, id: t.ID, factor: w.Limits.RootZonePrice})
	}
	for _, e := range w.site.Easements {
		s := solidShape(e.Area, 0)
		if e.Forbid {
			bar(s, RuleEasement, e.ID)
			continue
		}
		w.zones = append(w.zones, zone{shape: s, kind: ZoneEasement, id: e.ID, factor: 1})
	}
}

// RootZoneRadius is the radius of a tree's protected roots, m.
func (w *Law) RootZoneRadius(t Tree) float64 {
	return max(w.Limits.RootZoneRadiusFloor, t.TrunkDiameter*w.Limits.RootZoneFactor)
}

func (w *Law) settleZones() {
	for _, p := range w.site.Paved {
		z := zone{shape: solidShape(p.Area, 0), kind: ZoneKind(p.Kind), id: p.ID, paved: true,
			cover: w.Limits.CoverMinWalk, factor: w.Limits.WalkFactor}
		if p.Kind == Driveway {
			z.cover, z.factor = w.Limits.CoverMinDriveway, w.Limits.DrivewayFactor
		}
		if Given(p.CoverMin) {
			z.cover, z.own = p.CoverMin, true
		}
		w.zones = append(w.zones, z)
	}
}

func (w *Law) settleUtilities() {
	for k := range w.site.Utilities {
		u := &w.site.Utilities[k]
		if !Given(u.Top) && !Given(u.Depth) {
			continue // listed by the caller: expose before digging
		}
		w.buried = append(w.buried, w.clearing(u))
	}
}

// top is the elevation of the top of a utility beside p, m, and band what its
// clearance forbids to the invert of a pipe.
func (w *Law) band(u *buried, p orb.Point, size Size) (low, high float64) {
	top := w.UtilityTop(u.Utility, p)
	return top - u.diameter() - u.clearance - size.Rise(), top + u.clearance + size.Wall()
}

// diameter is the utility's outside diameter, nothing where it was not given.
func (u *buried) diameter() float64 {
	if Given(u.OutsideDiameter) {
		return u.OutsideDiameter
	}
	return 0
}

// Bound is the box pipes may run in.
func (w *Law) Bound() orb.Bound {
	b := w.region[0].bound
	for _, r := range w.region[1:] {
		b = b.Union(r.bound)
	}
	return b
}

// Open tells whether a pipe may pass through p at some depth.
func (w *Law) Open(p orb.Point) bool {
	inside := false
	for _, r := range w.region {
		inside = inside || r.distance(p) <= touch
	}
	if !inside || math.IsNaN(w.Ground.Ground(p[0], p[1])) {
		return false
	}
	for _, s := range w.bars {
		if s.bound.Contains(p) && s.distance(p) < -touch {
			return false
		}
	}
	return true
}

// Bar is what forbids a place to every pipe.
type Bar struct{ Rule, ID string }

// BarAt returns what forbids p to every pipe, the first of the law's order;
// ok is false where nothing does but the end of the lot, its frontage or the
// known ground.
func (w *Law) BarAt(p orb.Point) (Bar, bool) {
	for _, s := range w.bars {
		if s.bound.Contains(p) && s.distance(p) < -touch {
			return Bar{s.Rule, s.ID}, true
		}
	}
	return Bar{}, false
}
