package constraint

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Laid is a straight-graded pipe in the ground: inverts in m at its ends.
type Laid struct {
	From, To             orb.Point
	Size                 Size
	InvertUp, InvertDown float64
	Curb                 *CurbPoint // of an outlet pipe to the curb face, else nil
}

// Section is what a laid pipe has above it.
type Section struct {
	CoverMin float64 // least ground to outside top, m
	DepthMax float64 // greatest ground to invert, m
	// Shallow lists the stretches with less than cover_preferred, plan distances
	// from the upper end.
	Shallow []Shallow
	// Raised is the length over which the ground was taken as the top of curb
	// because the raster is lower there, m.
	Raised float64
}

// Shallow is a stretch of less cover than preferred.
type Shallow struct {
	From, To float64 // m from the pipe's upper end
	Cover    float64 // least, m
	Short    bool    // less than the cover_min of the ground crossed
}

// sectionStep is the spacing at which a laid pipe is looked at, m: finer than
// a checker's 5 cm.
const sectionStep = 0.02

// Section looks at a laid pipe every two centimetres.
func (w *Law) Section(p Laid) Section {
	length := planar.Distance(p.From, p.To)
	n := max(1, int(math.Ceil(length/sectionStep)))
	s := Section{CoverMin: math.Inf(1), DepthMax: math.Inf(-1)}
	var open *Shallow
	for k := 0; k <= n; k++ {
		t := float64(k) / float64(n)
		at := along(p.From, p.To, t)
		invert := p.InvertUp + t*(p.InvertDown-p.InvertUp)
		z := w.Ground.Ground(at[0], at[1])
		if p.Curb != nil && p.Curb.Face.Type == VerticalCurb {
			if raised, ok := w.raisedAt(p.Curb.Face, at); ok && raised > z {
				z = raised
				s.Raised += length / float64(n)
			}
		}
		cover := z - invert - p.Size.Rise()
		s.CoverMin = min(s.CoverMin, cover)
		s.DepthMax = max(s.DepthMax, z-invert)
		if cover >= w.Limits.CoverPreferred {
			open = nil
			continue
		}
		if open == nil {
			s.Shallow = append(s.Shallow, Shallow{From: t * length, Cover: cover})
			open = &s.Shallow[len(s.Shallow)-1]
		}
		open.To = t * length
		open.Cover = min(open.Cover, cover)
		open.Short = open.Short || cover < w.coverAt(at)-coverSlack
	}
	return s
}

// coverSlack keeps a cover laid to the limit from being called less, m: half a
// millimetre, what laying leaves between the search and the trench.
const coverSlack = 5e-4

// raisedAt is the top of curb where the ground counts as at least that.
func (w *Law) raisedAt(f *Face, p orb.Point) (float64, bool) {
	_, at := stationOf(f.Line, p)
	if planar.Distance(p, at) > w.CurbRaiseWidth() {
		return 0, false
	}
	return w.topOfCurb(f, p), true
}

// coverAt is the least cover a common pipe needs at p, m.
func (w *Law) coverAt(p orb.Point) float64 {
	cover, paved := w.Limits.CoverMin, false
	for _, z := range w.zones {
		if z.paved && z.distance(p) <= 0 {
			if !paved || z.cover > cover {
				cover = z.cover
			}
			paved = true
		}
	}
	return cover
}

// Covering is the ground whose cover a pipe keeps to at a place.
type Covering struct {
	Kind  ZoneKind // "" for lawn
	ID    string   // "" for lawn
	Own   bool     // the cover is its own, not its kind's
	Cover float64  // m
}

// Covering is the ground whose cover a common pipe at p keeps to, lawn's or that
// of the hard ground asking most.
func (w *Law) Covering(p orb.Point) Covering {
	c, paved := Covering{Cover: w.Limits.CoverMin}, false
	for _, z := range w.zones {
		if z.paved && z.distance(p) <= touch && (!paved || z.cover > c.Cover) {
			c, paved = Covering{Kind: z.kind, ID: z.id, Own: z.own, Cover: z.cover}, true
		}
	}
	return c
}

// BuriedNear is the utility of known depth that lies nearest to p in plan, "" where
// there is none.
func (w *Law) BuriedNear(p orb.Point) (id string) {
	near := math.Inf(1)
	for k := range w.buried {
		if d := planar.DistanceFrom(w.buried[k].Line, p); d < near {
			id, near = w.buried[k].ID, d
		}
	}
	return id
}

// Stretch is a part of a straight line, plan distances from its start, m.
type Stretch struct{ From, To float64 }

// PavedAlong returns the stretches of a line under walk, patio or driveway,
// sorted and disjoint.
func (w *Law) PavedAlong(a, b orb.Point) []Stretch {
	var in []span
	for _, z := range w.zones {
		if z.paved {
			in = append(in, z.spans(a, b)...)
		}
	}
	var out []Stretch
	for _, s := range union(in) {
		out = append(out, Stretch{s.from, s.to})
	}
	return out
}

// Meeting is something a line meets.
type Meeting struct {
	Kind    ZoneKind // "" for a utility
	ID      string
	Utility *Utility // nil for a zone
	// From, To is the stretch inside a zone; for a utility the one that is dug by
	// hand, Nearest the place on it where the line crosses the utility or comes
	// nearest, and Away how near, in plan.
	From, To      float64
	Nearest, Away float64
}

// HandDig is how far either side of a utility's mark is dug by hand, m: 24 in, 18 to
// 30 in by state.
//
// Source: a one-call centre's notice, read-quoted.
const HandDig = 24 * 0.0254

// Meetings lists what the line from a to b meets: zones in the order drawn,
// then utilities, those of unknown depth too.
func (w *Law) Meetings(a, b orb.Point) []Meeting {
	var list []Meeting
	for _, z := range w.zones {
		for _, s := range z.spans(a, b) {
			list = append(list, Meeting{Kind: z.kind, ID: z.id, From: s.from, To: s.to})
		}
	}
	for k := range w.site.Utilities {
		u := &w.site.Utilities[k]
		for _, s := range lineShape(u.Line, max(w.clearing(u).clearance, HandDig)).spans(a, b) {
			at, away := nearestTo(u.Line, a, b, s)
			list = append(list, Meeting{ID: u.ID, Utility: u, From: s.from, To: s.to, Nearest: at, Away: away})
		}
	}
	return list
}

// nearestTo returns where in a stretch of the line from a to b it comes
// nearest to another line, and how near.
func nearestTo(line orb.LineString, a, b orb.Point, s span) (at, best float64) {
	length := planar.Distance(a, b)
	best, at = math.Inf(1), s.from
	n := max(1, int(math.Ceil((s.to-s.from)/sectionStep)))
	for k := 0; k <= n; k++ {
		x := s.from + (s.to-s.from)*float64(k)/float64(n)
		p := along(a, b, x/length)
		_, q := stationOf(line, p)
		if d := planar.Distance(p, q); d < best {
			best, at = d, x
		}
	}
	return at, best
}

// Clearance is the vertical clearance a pipe keeps to a utility, and how near it comes
// to it in plan for that to hold, m.
func (w *Law) Clearance(u *Utility, size Size) (vertical, within float64) {
	b := w.clearing(u)
	return b.clearance, b.clearance + (size.Outside+b.diameter())/2
}

// clearing is a utility with the clearance it asks for.
func (w *Law) clearing(u *Utility) buried {
	b := buried{Utility: u, clearance: w.Limits.UtilityClearance}
	if Given(u.Clearance) {
		b.clearance = u.Clearance
	}
	return b
}

// UtilityTop is the elevation of a utility's top beside p, m; NaN where its
// depth is unknown.
func (w *Law) UtilityTop(u *Utility, p orb.Point) float64 {
	if Given(u.Top) {
		return u.Top
	}
	_, at := stationOf(u.Line, p)
	return w.Ground.Ground(at[0], at[1]) - u.Depth
}
