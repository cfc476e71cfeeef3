package sizing

import (
	"math"
	"testing"
)

// recheckSewers holds every rule of the source against a design and returns its
// cost, from the design's numbers alone: no formula of the packages under test
// is used.
func recheckSewers(t *testing.T, list []sewer, d *Design) float64 {
	t.Helper()
	const slack = 1e-9 // m and relative: rounding
	total := 0.0
	lowest := map[int]float64{} // crown arriving at the head of a pipe
	for k, s := range list {
		r := d.Runs[k]
		dia := sewerDiameters[r.Size]
		crownUp, crownDown := r.InvertUp+dia, r.InvertDown+dia
		if s.groundUp-crownUp < 1-slack || s.groundDown-crownDown < 1-slack {
			t.Errorf("pipe %s: cover %.4f and %.4f m", s.number, s.groundUp-crownUp, s.groundDown-crownDown)
		}
		slope := (r.InvertUp - r.InvertDown) / s.length
		angle, velocity := sewerFlow(s.flow, dia, slope)
		if math.IsNaN(angle) {
			t.Errorf("pipe %s: %.4f m3/s does not fit %g m at %.5f", s.number, s.flow, dia, slope)
			continue
		}
		filling := (1 - math.Cos(angle/2)) / 2
		most := 0.80
		if dia <= 0.30 {
			most = 0.60
		} else if dia <= 0.45 {
			most = 0.70
		} else if dia <= 0.90 {
			most = 0.75
		}
		if filling > most+1e-6 || velocity > 5 {
			t.Errorf("pipe %s: filling %.5f of %g, velocity %.4f m/s", s.number, filling, most, velocity)
		}
		if s.flow <= 0.015 && slope < 0.003-slack {
			t.Errorf("pipe %s: slope %.6f", s.number, slope)
		}
		if s.flow > 0.015 && (velocity < 0.7-1e-6 || dia > 0.5 && velocity < 0.8-1e-6) {
			t.Errorf("pipe %s: velocity %.5f m/s in %g m", s.number, velocity, dia)
		}
		h := s.groundDown - r.InvertDown
		if h <= 3 {
			total += s.length * (4.27 + 93.59*dia*dia + 2.86*dia*h + 2.39*h*h)
		} else {
			total += s.length * (36.47 + 88.96*dia*dia + 8.70*dia*h + 1.78*h*h)
		}
		h = s.groundUp - r.InvertUp
		if h <= 3 {
			total += 136.67 + 166.19*dia*dia + 3.50*dia*h + 16.22*h*h
		} else {
			total += 132.67 + 790.94*dia*dia - 280.23*dia*h + 34.97*h*h
		}
		if s.next < 0 {
			continue
		}
		if next := d.Runs[s.next]; sewerDiameters[next.Size] < dia {
			t.Errorf("pipe %s of %g m runs into %g m", s.number, dia, sewerDiameters[next.Size])
		}
		if c, ok := lowest[s.next]; !ok || crownDown < c {
			lowest[s.next] = crownDown
		}
	}
	// The crown that leaves is the lowest that arrives.
	for k, crown := range lowest {
		leaves := d.Runs[k].InvertUp + sewerDiameters[d.Runs[k].Size]
		if math.Abs(leaves-crown) > slack {
			t.Errorf("pipe %s leaves at crown %.4f, the lowest that arrives is %.4f", list[k].number, leaves, crown)
		}
	}
	return total
}

// sewerFlow finds the angle at the centre of uniform flow by halving, in
// Manning's Q = (1/n) A^(5/3) P^(-2/3) S^(1/2); NaN where the pipe is too small.
func sewerFlow(flow, dia, slope float64) (angle, velocity float64) {
	q := func(a float64) float64 {
		return math.Pow(dia*dia/8*(a-math.Sin(a)), 5.0/3) * math.Pow(dia*a/2, -2.0/3) * math.Sqrt(slope) / 0.014
	}
	// Up to 302.5 degrees flow rises with the angle.
	lo, hi := 0.0, 302.5*math.Pi/180
	if q(hi) < flow {
		return math.NaN(), math.NaN()
	}
	for range 200 {
		if mid := (lo + hi) / 2; q(mid) < flow {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, flow / (dia * dia / 8 * (hi - math.Sin(hi)))
}
