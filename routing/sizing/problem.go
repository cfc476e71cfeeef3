package sizing

import (
	"fmt"
	"math"

	"curbfall/routing/constraint"
	"curbfall/routing/hydraulics"
)

// Problem is a plan tree with everything its pipes may be. It is not modified.
type Problem struct {
	Pipes []Pipe
	Sizes []constraint.Size // smallest first: a pipe's size never comes before one that arrives
	Match Match
	// Levels are Datum + k Step, k any integer; what Match names lies on them.
	// Put Datum where it must be met exactly, at the outlet's control.
	Step, Datum float64
	Cost        Cost
}

// Match says which elevations of pipes that meet are compared and lie on the
// grid of levels.
type Match int

// What is compared where pipes meet.
const (
	Inverts Match = iota // an invert leaves at or below every invert that arrives
	Crowns               // the same of the inside tops
)

// Pipe is one pipe of the plan: straight-graded, or with a Way of its own. Its
// upstream node is its own; it ends at the upstream node of the next.
type Pipe struct {
	Next    int     // the pipe it drains to, -1 at an outlet
	Length  float64 // plan length, m
	Flow    float64 // design flow, m3/s
	Shrinks bool    // it alone may be smaller than what arrives: the last pipe to a curb hole
	Choices []Choice
}

// Choice is what is admitted of a pipe in one size; Choices has one for each of
// Problem.Sizes.
type Choice struct {
	// Stations are the inverts admitted along the pipe, from S = 0 to its length;
	// none where the size is not offered.
	Stations []constraint.Station
	Limits   hydraulics.FlowLimits
	// Way, in place of Stations and Limits, is a pipe with a course of its own
	// between its ends: grades that break, their price, whatever couples them. It
	// is not asked for Cost.Run.
	Way Way
}

// Way carries costs down a pipe in one size. Levels are the problem's.
type Way interface {
	// Ends returns the lowest and the highest level of the upper end and of the
	// lower one; a lowest above the highest where there is none.
	Ends() (upLo, upHi, downLo, downHi int)
	// Down returns the least cost at each level of the lower end, from downLo up,
	// given the cost at each level of the upper end, from upLo up; +Inf where there
	// is no way. The slices are not kept.
	Down(heads []float64) []float64
	// Up returns the level of the upper end that Down's cost at a level of the lower
	// end comes from, the highest of several.
	Up(heads []float64, down int) int
}

// offered tells whether there is anything to choose.
func (c *Choice) offered() bool { return len(c.Stations) > 0 || c.Way != nil }

// Cost is the sum of three functions over all pipes, each by pipe, size (index
// into Problem.Sizes) and invert. A nil one is nothing; +Inf forbids; NaN and
// -Inf are errors.
type Cost struct {
	Head func(pipe, size int, invertUp float64) float64   // its upper end and the structure there
	Foot func(pipe, size int, invertDown float64) float64 // its lower end
	// Run is what neither end has alone. With it every pair of levels is asked.
	Run func(pipe, size int, invertUp, invertDown float64) float64
}

// Ground is the surface over a pipe at one place; between two it is straight.
type Ground struct {
	S         float64 // plan distance from the pipe's upper end, m
	Elevation float64
}

// Trench returns the stations of a pipe of a size under ground, with cover from
// the surface to its outside top and depthMax from the surface to its invert.
func Trench(ground []Ground, size constraint.Size, cover, depthMax float64) []constraint.Station {
	stations := make([]constraint.Station, len(ground))
	for i, g := range ground {
		stations[i] = constraint.Free(g.S, g.Elevation-cover-size.Rise(), g.Elevation-depthMax)
	}
	return stations
}

// ProblemError reports a problem that says nothing to solve: Place is a pipe, a
// size or the problem itself.
type ProblemError struct {
	Place string
	Says  string
}

func (e *ProblemError) Error() string { return e.Place + ": " + e.Says }

func faulty(place, format string, a ...any) error {
	return &ProblemError{place, fmt.Sprintf(format, a...)}
}

func pipePlace(p int) string { return fmt.Sprintf("pipe %d", p) }

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func (p *Problem) validate() error {
	switch {
	case len(p.Pipes) == 0:
		return faulty("problem", "no pipes")
	case len(p.Sizes) == 0:
		return faulty("problem", "no sizes to choose from")
	case !(p.Step > 0) || !finite(p.Step, p.Datum):
		return faulty("problem", "the step of levels must be above zero and the datum a number, got %g and %g", p.Step, p.Datum)
	case p.Match != Inverts && p.Match != Crowns:
		return faulty("problem", "unknown match %d", p.Match)
	}
	for k, s := range p.Sizes {
		switch {
		case !(s.Inside > 0) || !(s.Roughness > 0) || !(s.Outside >= s.Inside) || !finite(s.Outside, s.Roughness):
			return faulty("size "+s.Nominal, "inside diameter and roughness must be above zero and the outside no less, got %g, %g and %g", s.Inside, s.Roughness, s.Outside)
		case k > 0 && s.Inside < p.Sizes[k-1].Inside:
			return faulty("size "+s.Nominal, "inside diameter %g m follows %g m: list the smallest first", s.Inside, p.Sizes[k-1].Inside)
		}
	}
	for k := range p.Pipes {
		if err := p.validatePipe(k); err != nil {
			return err
		}
	}
	return nil
}

// validatePipe checks a pipe and what is offered of it.
func (p *Problem) validatePipe(k int) error {
	pipe := &p.Pipes[k]
	switch {
	case pipe.Next < -1 || pipe.Next >= len(p.Pipes):
		return faulty(pipePlace(k), "drains to pipe %d, which is not there", pipe.Next)
	case !(pipe.Length > 0) || !finite(pipe.Length):
		return faulty(pipePlace(k), "length must be above zero, got %g m", pipe.Length)
	case !(pipe.Flow >= 0) || !finite(pipe.Flow):
		return faulty(pipePlace(k), "flow must not be negative, got %g m3/s", pipe.Flow)
	case len(pipe.Choices) != len(p.Sizes):
		return faulty(pipePlace(k), "has %d choices for %d sizes", len(pipe.Choices), len(p.Sizes))
	}
	for d := range pipe.Choices {
		if err := p.validateChoice(k, d); err != nil {
			return err
		}
	}
	return nil
}

func (p *Problem) validateChoice(k, d int) error {
	pipe, c, size := &p.Pipes[k], &p.Pipes[k].Choices[d], p.Sizes[d].Nominal
	if len(c.Stations) == 0 {
		return nil
	}
	if c.Way != nil {
		return faulty(pipePlace(k), "has both stations and a way in size %s", size)
	}
	l := c.Limits
	if !(l.SlopeMin >= 0) || !(l.SlopeMax >= 0) || !(l.VelocityMin >= 0) || !(l.VelocityMax >= 0) || !(l.FillingMax > 0 && l.FillingMax <= 1) {
		return faulty(pipePlace(k), "limits of size %s are out of range: %+v", size, l)
	}
	last := 0.0
	for _, st := range c.Stations {
		if !(st.S >= last) || math.IsNaN(st.Ceiling) || math.IsNaN(st.Floor) || math.IsNaN(st.Low) || math.IsNaN(st.High) {
			return faulty(pipePlace(k), "stations of size %s are out of order or not numbers at %g m", size, st.S)
		}
		last = st.S
	}
	if c.Stations[0].S != 0 || math.Abs(last-pipe.Length) > stationSlack {
		return faulty(pipePlace(k), "stations of size %s run from %g to %g m of %g m", size, c.Stations[0].S, last, pipe.Length)
	}
	// Levels are counted: the ends must be bounded, what lies between need not.
	if a, b := c.Stations[0], c.Stations[len(c.Stations)-1]; !finite(a.Floor, a.Ceiling, b.Floor, b.Ceiling) {
		return faulty(pipePlace(k), "an end of size %s is without bounds", size)
	}
	return nil
}

// stationSlack is how far the last station may stand from a pipe's end, m:
// rounding of a sum of plan lengths, far below what is set out.
const stationSlack = 1e-6
