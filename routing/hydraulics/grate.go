package hydraulics

import "math"

// Coefficients of a grate in a sag.
// Source: TxDOT Hydraulic Design Manual, Eq. 10-30 and 10-31; the same in FHWA
// HEC-12 (1984), Eq. 17 and 18.
const (
	WeirCoeff    = 1.66 // m^0.5/s
	OrificeCoeff = 0.67
)

// GrateClogged is the share of a grate taken as stopped, of its perimeter and
// of its opening alike. Source: TxDOT Hydraulic Design Manual, Eq. 10-30, 10-31.
const GrateClogged = 0.5

// WeirFlow returns coeff length depth^1.5, m3/s.
func WeirFlow(coeff, length, depth float64) float64 {
	mustNotBeNegative(coeff, length, depth)
	return coeff * length * depth * math.Sqrt(depth)
}

// WeirLength returns the crest that passes a flow at a depth, m.
func WeirLength(coeff, flow, depth float64) float64 {
	mustBePositive(coeff, depth)
	mustNotBeNegative(flow)
	return flow / WeirFlow(coeff, 1, depth)
}

// OrificeFlow returns coeff area (2 g head)^0.5, m3/s.
func OrificeFlow(coeff, area, head float64) float64 {
	mustNotBeNegative(coeff, area, head)
	return coeff * area * math.Sqrt(2*Gravity*head)
}

// Grate is an inlet's grate in a low place, as sold.
type Grate struct {
	Perimeter float64 // m, without a side along a wall or curb
	OpenArea  float64 // clear opening, m2
	Clogged   float64 // share of both that is stopped, 0 to 1; GrateClogged is usual
}

// Capacity returns what the grate takes with water standing depth over it: the
// smaller of weir and orifice. The transition between the two is not resolved.
// A grate clogged altogether takes nothing.
func (g Grate) Capacity(depth float64) float64 {
	mustNotBeNegative(g.Perimeter, g.OpenArea, g.Clogged, 1-g.Clogged)
	open := 1 - g.Clogged
	return math.Min(WeirFlow(WeirCoeff, open*g.Perimeter, depth), OrificeFlow(OrificeCoeff, open*g.OpenArea, depth))
}

// Depth returns the depth of water over the grate at which it takes flow, m;
// +Inf for one that takes none.
func (g Grate) Depth(flow float64) float64 {
	mustNotBeNegative(flow, g.Perimeter, g.OpenArea, g.Clogged, 1-g.Clogged)
	if flow == 0 {
		return 0
	}
	open := 1 - g.Clogged
	weir := math.Pow(flow/(WeirCoeff*open*g.Perimeter), 2.0/3)
	orifice := square(flow/(OrificeCoeff*open*g.OpenArea)) / (2 * Gravity)
	return math.Max(weir, orifice)
}

// Needed returns the perimeter and opening of a grate as much clogged that takes a
// flow under a depth of water above 0; +Inf of one clogged altogether.
func (g Grate) Needed(flow, depth float64) Grate {
	open := 1 - g.Clogged
	mustNotBeNegative(open)
	g.Perimeter = WeirLength(WeirCoeff, flow, depth) / open
	g.OpenArea = flow / OrificeFlow(OrificeCoeff, open, depth)
	return g
}

// DrownedCapacity returns what the grate takes where the pipe's water stands
// above its rim: only the difference of the two levels drives it, as an orifice
// under water. surface, pipeLevel and rim are elevations.
func (g Grate) DrownedCapacity(surface, pipeLevel, rim float64) float64 {
	if pipeLevel <= rim {
		return g.Capacity(math.Max(surface-rim, 0))
	}
	under := OrificeFlow(OrificeCoeff, (1-g.Clogged)*g.OpenArea, math.Max(surface-pipeLevel, 0))
	return math.Min(g.Capacity(math.Max(surface-rim, 0)), under)
}
