package hydraulics

import "math"

// gutterFactor and the exponents of gutter flow are kept as printed, for they
// were fitted together: Q = (0.376/n) Sx^1.67 S^0.5 T^2.67 in SI. Exact 5/3 and
// 8/3 would give 0.6 % more on a road, more on a steep cross slope.
// Source: FHWA HEC-22, 4th ed. (2024), Eq. 5.2.
const (
	gutterFactor     = 0.376
	crossSlopePower  = 1.67
	gutterWidthPower = 2.67
)

// Gutter is a street's edge along a curb. With Width and Depression 0 its cross
// slope is one; else the strip Width beside the curb is lower by Depression at
// the curb.
//
//	     |<----- spread T ----->|
//	curb |~~~~~~~~~~~~~~~~~~~~~~/   CrossSlope Sx
//	     |______          _____/
//	     | W    \________/
type Gutter struct {
	Roughness  float64
	CrossSlope float64 // of the pavement, towards the curb
	Grade      float64 // along the curb
	Width      float64 // of the depressed strip, m
	Depression float64 // of the gutter line below the pavement's slope, m
}

// steep is the cross slope of the depressed strip.
func (g Gutter) steep() float64 { return g.CrossSlope + g.Depression/g.Width }

func (g Gutter) depressed() bool { return g.Width > 0 && g.Depression > 0 }

// triangle is the flow of a spread on one cross slope.
func (g Gutter) triangle(crossSlope, spread float64) float64 {
	return gutterFactor / g.Roughness * math.Pow(crossSlope, crossSlopePower) * math.Sqrt(g.Grade) * math.Pow(spread, gutterWidthPower)
}

// Flow returns the flow whose water is spread wide, m3/s.
// Source: FHWA HEC-22, 4th ed., Eq. 5.2, 5.7 and 5.8.
func (g Gutter) Flow(spread float64) float64 {
	mustBePositive(g.Roughness, g.CrossSlope, g.Grade)
	mustNotBeNegative(spread, g.Width, g.Depression)
	switch {
	case !g.depressed():
		return g.triangle(g.CrossSlope, spread)
	case spread <= g.Width:
		return g.triangle(g.steep(), spread)
	}
	front := g.FrontShare(spread)
	if front == 1 { // the pavement's share is lost in rounding
		return g.triangle(g.steep(), g.Width)
	}
	return g.triangle(g.CrossSlope, spread-g.Width) / (1 - front)
}

// FrontShare returns the share of the flow within the depressed strip, 0-1; 0
// where there is none. Source: FHWA HEC-22, 4th ed., Eq. 5.8.
func (g Gutter) FrontShare(spread float64) float64 {
	if !g.depressed() {
		return 0
	}
	if spread <= g.Width {
		return 1
	}
	ratio := g.steep() / g.CrossSlope
	return 1 / (1 + ratio/(math.Pow(1+ratio/(spread/g.Width-1), gutterWidthPower)-1))
}

// widestSpread ends the search for a spread, m: wider than any street.
const widestSpread = 1e3

// Spread returns the width of the water of a flow, m.
func (g Gutter) Spread(flow float64) float64 {
	mustNotBeNegative(flow)
	if flow == 0 {
		return 0
	}
	return bisect(widestSpread, func(t float64) bool { return g.Flow(t) >= flow })
}

// Depth returns the depth of water at the curb, m, of a spread.
func (g Gutter) Depth(spread float64) float64 {
	switch {
	case !g.depressed():
		return spread * g.CrossSlope
	case spread <= g.Width:
		return spread * g.steep()
	}
	return spread*g.CrossSlope + g.Depression
}

// Tailwater returns the level the street's own flow holds outside a curb outlet,
// an elevation, from that of the gutter line.
func (g Gutter) Tailwater(gutterLine, flow float64) float64 {
	return gutterLine + g.Depth(g.Spread(flow))
}
