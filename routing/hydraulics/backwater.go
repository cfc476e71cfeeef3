package hydraulics

import "math"

// stepsMin and stepLength cut a reach for the energy equation: halving both
// moves a level of the tests' pipes by less than 0.3 mm.
const (
	stepsMin   = 16
	stepLength = 0.5 // m
	stepsMax   = 400 // of a reach longer than any yard's
)

// depthSlack is how exactly a depth is found, m: far below a level's reading.
const depthSlack = 1e-8

// up works the grade line of a reach from the level at its lower end.
func (r *Reach) up(below float64) Grade {
	if r.Flow == 0 {
		return r.still(below)
	}
	w := water{Reach: r, critical: CriticalDepth(r.Flow, r.Diameter), full: SlopeForFlow(r.Flow, r.Diameter, r.Roughness)}
	start := below - r.InvertDown
	g := Grade{Down: r.InvertDown + r.endDepth(below)}
	depth := math.Max(start, w.critical)
	everyFull := depth >= r.Diameter-depthSlack
	anyFull := everyFull
	steps := int(math.Min(math.Max(stepsMin, math.Ceil(r.Length/stepLength)), stepsMax))
	dx := r.Length / float64(steps)
	for range steps {
		before := depth
		depth = w.next(depth, dx)
		full := depth >= r.Diameter-depthSlack
		anyFull = anyFull || full
		everyFull = everyFull && full
		if math.Abs(depth-before) < depthSlack {
			break // uniform or critical from here on: 400 steps move it by microns
		}
	}
	switch {
	case everyFull:
		g.Regime = Pressurised
	case anyFull:
		g.Regime = PartlyFull
	default:
		g.Regime = FreeSurface
	}
	g.Up = r.InvertUp + depth
	g.VelocityDown = r.Flow / SegmentAt(r.Diameter, g.Down-r.InvertDown).Area
	g.VelocityUp = r.Flow / SegmentAt(r.Diameter, depth).Area
	return g
}

// still is a reach without flow: water stands level where it reaches.
func (r *Reach) still(below float64) Grade {
	g := Grade{Down: math.Max(below, r.InvertDown), Up: math.Max(below, r.InvertUp), Regime: FreeSurface}
	switch {
	case below >= r.InvertUp+r.Diameter && below >= r.InvertDown+r.Diameter:
		g.Regime = Pressurised
	case below >= r.InvertDown+r.Diameter:
		g.Regime = PartlyFull
	}
	return g
}

// water is the flow of a reach.
type water struct {
	*Reach
	critical float64
	full     float64 // friction slope flowing full
}

// energy is depth and velocity head, and friction the slope of the energy line.
// Above the diameter depth is pressure and both stay those of the full pipe;
// both rise or fall one way above critical depth, so that one depth answers.
func (w *water) energy(depth float64) (energy, friction float64) {
	s := SegmentAt(w.Diameter, depth)
	v := w.Flow / s.Area
	energy, friction = depth+velocityHead(v), w.full
	if depth < capacityRatio*w.Diameter {
		friction = s.frictionSlope(w.Flow, w.Roughness)
	}
	return energy, friction
}

// next returns the depth a length dx upstream of a depth at or above the
// critical one: the one whose energy is what stands below, plus friction, less
// the rise of the invert; critical depth where there is none.
func (w *water) next(depth, dx float64) float64 {
	e, f := w.energy(depth)
	want := e + f*dx/2 - w.slope()*dx
	over := func(y float64) float64 {
		e, f := w.energy(y)
		return e - f*dx/2 - want
	}
	if lack := over(w.Diameter); lack <= 0 {
		return w.Diameter - lack // full: pressure alone is left to rise
	}
	if over(w.critical) >= 0 {
		return w.critical
	}
	lo, hi := w.critical, w.Diameter
	for hi-lo > depthSlack {
		if mid := (lo + hi) / 2; over(mid) >= 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
