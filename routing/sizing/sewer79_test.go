package sizing

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

// A published problem of 79 sewers on flat ground. Data and rules: "Optimization
// of Sewer Networks Using an Adaptive Genetic Algorithm", Water Resources
// Management 26 (2012) 3441-3456, DOI 10.1007/s11269-012-0084-3, Tables 1 to 3
// (numbers) and Fig. 3 (layout, read by eye). Ground levels are as printed,
// although pipes 27 and 33 end 0.20 m above the node they drain to.
const (
	sewerRoughness = 0.014
	sewerCover     = 1.0  // to the inside top, m
	sewerDepthMax  = 12.0 // to the inside top here; none is printed, and none comes near it
)

// sewerDiameters are those of the source up to 1.0 m: its printed cost of larger
// ones falls with depth.
var sewerDiameters = []float64{0.2, 0.25, 0.30, 0.35, 0.38, 0.40, 0.45, 0.50, 0.53, 0.60, 0.70, 0.80, 0.90, 1.00}

type sewer struct {
	number, drains       string
	groundUp, groundDown float64
	length, flow         float64
	next                 int
}

func readSewers(tb testing.TB) []sewer {
	tb.Helper()
	f, err := os.Open("testdata/sewer79_pipes.csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	index := map[string]int{"OUT": -1}
	var list []sewer
	for k, rec := range records[1:] {
		var v [4]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(rec[i+1], 64); err != nil {
				tb.Fatal(err)
			}
		}
		index[rec[0]] = k
		list = append(list, sewer{number: rec[0], groundUp: v[0], groundDown: v[1], length: v[2], flow: v[3] / 1000, drains: rec[5]})
	}
	for k := range list {
		next, ok := index[list[k].drains]
		if !ok {
			tb.Fatalf("pipe %s drains to %s, which is not there", list[k].number, list[k].drains)
		}
		list[k].next = next
	}
	if len(list) != 79 {
		tb.Fatalf("%d pipes, the source has 79", len(list))
	}
	return list
}

// sewerLimits are Table 2: up to 15 l/s a least slope, above it a least velocity.
func sewerLimits(flow, diameter float64) hydraulics.FlowLimits {
	l := hydraulics.FlowLimits{SlopeMax: math.Inf(1), VelocityMax: 5}
	switch {
	case diameter <= 0.30:
		l.FillingMax = 0.60
	case diameter <= 0.45:
		l.FillingMax = 0.70
	case diameter <= 0.90:
		l.FillingMax = 0.75
	default:
		l.FillingMax = 0.80
	}
	switch {
	case flow <= 0.015:
		l.SlopeMin = 0.003
	case diameter <= 0.50:
		l.VelocityMin = 0.7
	default:
		l.VelocityMin = 0.8
	}
	return l
}

// Cost in yuan, Table 3 for D <= 1 m. A pipe's h is the depth of its lower
// invert, a manhole's that of the invert that leaves it; the outlet's manhole is
// not counted.
func sewerPipeCost(d, h, length float64) float64 {
	if h <= 3 {
		return (4.27 + 93.59*d*d + 2.86*d*h + 2.39*h*h) * length
	}
	return (36.47 + 88.96*d*d + 8.70*d*h + 1.78*h*h) * length
}

func manholeCost(d, h float64) float64 {
	if h <= 3 {
		return 136.67 + 166.19*d*d + 3.50*d*h + 16.22*h*h
	}
	return 132.67 + 790.94*d*d - 280.23*d*h + 34.97*h*h
}

func sewerProblem(list []sewer, step float64) *Problem {
	p := &Problem{Step: step, Match: Crowns, Cost: Cost{
		Head: func(pipe, size int, invert float64) float64 {
			return manholeCost(sewerDiameters[size], list[pipe].groundUp-invert)
		},
		Foot: func(pipe, size int, invert float64) float64 {
			s := &list[pipe]
			return sewerPipeCost(sewerDiameters[size], s.groundDown-invert, s.length)
		},
	}}
	for _, d := range sewerDiameters {
		p.Sizes = append(p.Sizes, constraint.Size{Nominal: fmt.Sprintf("%g m", d), Inside: d, Outside: d, Roughness: sewerRoughness})
	}
	for _, s := range list {
		pipe := Pipe{Next: s.next, Length: s.length, Flow: s.flow}
		for k, d := range sewerDiameters {
			ground := []Ground{{0, s.groundUp}, {s.length, s.groundDown}}
			pipe.Choices = append(pipe.Choices, Choice{
				Stations: Trench(ground, p.Sizes[k], sewerCover, sewerDepthMax+d),
				Limits:   sewerLimits(s.flow, d),
			})
		}
		p.Pipes = append(p.Pipes, pipe)
	}
	return p
}

// Of record: exact dynamic programming over crown levels by another program,
// 1,843,710 on 10 mm and 1,838,655 on 5 mm. The source's own best is 1.84e6.
func TestSewer79(t *testing.T) {
	list := readSewers(t)
	for _, c := range []struct{ step, record float64 }{{0.010, 1843710}, {0.005, 1838655}} {
		d, err := Solve(sewerProblem(list, c.step))
		if err != nil {
			t.Fatal(err)
		}
		cost := recheckSewers(t, list, d)
		t.Logf("%g mm: %.2f yuan, of record %.0f", c.step*1000, d.Cost, c.record)
		if math.Abs(cost-d.Cost) > 1e-6*cost {
			t.Errorf("%g mm: says %.3f, its pipes and manholes cost %.3f", c.step*1000, d.Cost, cost)
		}
		// Printed to the yuan.
		if d.Cost > c.record+0.5 {
			t.Errorf("%g mm: %.1f, of record %.0f", c.step*1000, d.Cost, c.record)
		}
	}
}

func BenchmarkSewer79(b *testing.B) {
	list := readSewers(b)
	for _, step := range []float64{0.005, 0.001} {
		b.Run(fmt.Sprintf("%gmm", step*1000), func(b *testing.B) {
			p := sewerProblem(list, step)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Solve(p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
