package terrain_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"
	"testing"

	"curbfall/terrain/depression"
	"curbfall/terrain/fill"
	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
	"curbfall/terrain/storm"
)

// subdivision is synthetic ground of half-metre cells: a slope with swells,
// streets with a crown, gutters and curbs, lots that fall to them from a swale
// behind, errors that hang together over metres, and a centimetre of noise.
func subdivision(n int) *grid.Grid {
	const cell, noise, drift = 0.5, 0.01, 0.02
	g := grid.New(grid.NewFrame(0, 0, cell, cell), n, n)
	rng := rand.New(rand.NewPCG(101, 103))
	const knot = 12 // cells between the knots of the drift
	knots := make([]float64, (n/knot+2)*(n/knot+2))
	for k := range knots {
		knots[k] = drift * rng.NormFloat64()
	}
	for i := range g.Z {
		c, r := g.Cell(i)
		x, y := cell*float64(c), cell*float64(r)
		street := min(fromMultiple(x, 140), fromMultiple(y, 70)) // distance to the nearest centre line, m
		z := 100 + 0.007*x + 0.012*y + 1.5*math.Sin(x/61)*math.Sin(y/53) + 0.4*math.Sin(x/19+y/23)
		switch {
		case street < 4.5:
			z -= 0.02 * street
		case street < 4.8:
			z += 0.06
		default:
			z += 0.06 + 0.02*min(street-4.8, 14) - 0.18*max(0, 1-(35-fromMultiple(y, 70))/3)
		}
		at := r/knot*(n/knot+2) + c/knot
		u, v := float64(c%knot)/knot, float64(r%knot)/knot
		z += (knots[at]*(1-u)+knots[at+1]*u)*(1-v) + (knots[at+n/knot+2]*(1-u)+knots[at+n/knot+3]*u)*v
		g.Z[i] = float32(z + noise*rng.NormFloat64())
	}
	return g
}

// fromMultiple is how far a number is from the nearest multiple of a step.
func fromMultiple(x, step float64) float64 { return math.Abs(x - step*math.Round(x/step)) }

// stage is a step of the way from a raster to its answers, and the reference's
// steps that come to the same.
type stage struct {
	name  string
	steps string   // to ask the reference for
	lines []string // of what it tells, to be added
	do    func(g, filled *grid.Grid, dir []uint8)
}

const raceRunoff = 0.05 // m

var stages = []stage{
	{"filling", "fill_radix", []string{"fill_radix"}, func(g, _ *grid.Grid, _ []uint8) { fill.Depressions(g) }},
	{"directions and flats", "d8", []string{"d8", "flats"}, func(_, f *grid.Grid, _ []uint8) { flow.Directions(f) }},
	{"accumulation", "accum", []string{"accum"}, func(_, f *grid.Grid, dir []uint8) { flow.Accumulate(f, dir) }},
	{"shares", "mfd", []string{"mfd"}, func(_, f *grid.Grid, dir []uint8) { flow.Disperse(f, dir, func(int) float64 { return 1 }) }},
	{"tree and storm", "fsm", []string{"fsm"}, func(g, _ *grid.Grid, _ []uint8) {
		if _, err := storm.Run(depression.Build(g, nil), storm.Water{Runoff: func(int) float64 { return raceRunoff }}); err != nil {
			panic(err)
		}
	}},
}

// BenchmarkStages runs each stage on synthetic ground; at 4,000 x 4,000 cells in
// turn with the independent C++ reference on one thread, where that is there.
// Times of processors are compared, the least of all turns: they mean something
// on a machine that does other things too.
func BenchmarkStages(b *testing.B) {
	for _, n := range []int{1000, 2000, 4000, 8000} {
		b.Run(fmt.Sprintf("%dx%d", n, n), func(b *testing.B) {
			g := subdivision(n)
			f := fill.Depressions(g)
			dir := flow.Directions(f)
			race := newRace(b, g, n)
			for _, s := range stages {
				b.Run(s.name, func(b *testing.B) { turns(b, race, s, g, f, dir) })
			}
		})
	}
}

// turns runs one stage and, where there is one, the reference.
func turns(b *testing.B, race *race, s stage, g, filled *grid.Grid, dir []uint8) {
	ours, theirs := math.Inf(1), math.Inf(1)
	for b.Loop() {
		b.StopTimer()
		theirs = min(theirs, race.run(b, s))
		runtime.GC()
		b.StartTimer()
		before := processorTime(b)
		s.do(g, filled, dir)
		ours = min(ours, processorTime(b)-before)
	}
	cells := float64(len(g.Z))
	b.ReportMetric(cells*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
	b.ReportMetric(cells/ours/1e6, "Mcells/cpu-s")
	if !math.IsInf(theirs, 1) {
		b.ReportMetric(cells/theirs/1e6, "C++-Mcells/cpu-s")
		b.ReportMetric(theirs/ours, "times-C++")
	}
}

// race is the reference with a raster to run on; nil where there is none.
type race struct {
	*program
	raster string
	n      int
}

func newRace(b *testing.B, g *grid.Grid, n int) *race {
	if n != 4000 {
		return nil
	}
	p := findProgram(b)
	if p == nil {
		return nil
	}
	r := &race{p, filepath.Join(b.TempDir(), "raster"), n}
	write(b, r.raster, g.Z)
	return r
}

// run is the processor time the reference takes for a stage, s.
func (r *race) run(b *testing.B, s stage) (seconds float64) {
	if r == nil {
		return math.Inf(1)
	}
	size := strconv.Itoa(r.n)
	out, err := exec.Command(r.path, r.raster, "--raw", size, size, "--cell", "0.5", "--threads", "1", "--runoff", fmt.Sprint(raceRunoff), "--steps", s.steps).Output()
	if err != nil {
		b.Fatal(err)
	}
	for dec := json.NewDecoder(bytes.NewReader(out)); dec.More(); {
		var line struct {
			Step    string
			Seconds float64 `json:"cpu_s"`
		}
		if err := dec.Decode(&line); err != nil {
			b.Fatal(err)
		}
		for _, name := range s.lines {
			if line.Step == name {
				seconds += line.Seconds
			}
		}
	}
	return seconds
}

// processorTime is what this process has had of all processors, s.
func processorTime(b *testing.B) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}
