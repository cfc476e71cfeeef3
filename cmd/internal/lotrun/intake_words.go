package lotrun

import (
	"fmt"
	"math"

	"github.com/paulmach/orb/planar"

	"curbfall/io/units"
)

// shortShare is the share of a flow under which a shortage is the search's
// slack and no shortage.
const shortShare = 1e-3

// caughtLeast is the ground that must drain to an area drain for it to be of
// use, m2; common practice, no source.
const caughtLeast = 5

// intakeWords says what each inflow takes of its design flow, less where the others
// have theirs at other times, with every low spot brim full.
func (d *drainage) intakeWords(r *rain, taken []float64) (says []string) {
	const litres = 1000
	for _, f := range r.inflows {
		t := taken[f.place]
		short := f.peak-t > shortShare*f.peak
		switch {
		case !f.served():
		case t < 0:
			says = append(says, fmt.Sprintf("%s: %.2f L/s of the other inflows' water come out over its rim", f.ID, -t*litres))
		case !f.open() && short:
			says = append(says, fmt.Sprintf("%s: %.2f L/s of its %.2f L/s find no room in the pipes and come out where the leader meets the drain", f.ID, (f.peak-t)*litres, f.peak*litres))
		case f.open() && f.Area < caughtLeast:
			says = append(says, fmt.Sprintf("%s: no more than %.1f m2 of ground drain to it: it stands beside the water's way; move it to where the flow paths run", f.ID, f.Area))
		case f.open() && short:
			brim := d.brim(&f)
			why := "the pipes carry no more off"
			switch {
			case d.intake.Mouth(f.place, brim) <= t*(1+shortShare):
				why = "the mouth of its pipe lets no more in"
			case d.intake.Lets(f.place, brim) <= t*(1+shortShare):
				why = fmt.Sprintf("its grate, partly clogged, lets no more in; a lower rim, with %.3f m of water over it, or a larger grate would", d.head(&f))
				if over := brim - f.Rim; over > 0 {
					needed := f.Grate.Needed(f.peak, over)
					why += fmt.Sprintf(": at least %.3f m of perimeter and at least %.4f m2 of opening", units.Up.Step(needed.Perimeter, 0.001), units.Up.Step(needed.OpenArea, 0.0001))
				}
			}
			says = append(says, fmt.Sprintf("%s takes %.2f L/s of its design flow of %.2f L/s with %.3f m of water over it, before that runs past: %s", f.ID, t*litres, f.peak*litres, math.Max(0, brim-f.Rim), why))
		case f.open():
			says = append(says, fmt.Sprintf("%s takes its design flow of %.2f L/s with %.3f m of water over its grate", f.ID, f.flow*litres, d.head(&f)))
		}
		if f.channel() {
			says = append(says, fmt.Sprintf("%s has the water of %.0f m2 along its %.1f m; full to its grate, its outlet lets %.2f L/s go", f.ID, f.Area, planar.Length(f.Line), d.intake.Mouth(f.place, f.Rim)*litres))
		}
	}
	return says
}

// headMost ends the search for a depth, m: deeper than any yard floods.
const headMost = 10.0

// headSlack is how exactly a depth is found, m: it is printed to the millimetre.
const headSlack = 1e-4

// head is the depth of water over a drain at which it takes what comes, m.
func (d *drainage) head(f *inflow) float64 {
	lo, hi := 0.0, headMost
	for hi-lo > headSlack {
		if mid := (lo + hi) / 2; d.intake.Lets(f.place, f.Rim+mid) >= f.flow {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
