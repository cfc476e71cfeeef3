package design

import (
	"strings"
	"testing"
)

// What is left over is said whether or not every inflow is served.
func TestLeftOverSaid(t *testing.T) {
	in := Inflow{ID: "ds", Status: Infeasible, ShortBy: 0.02}
	for _, status := range []Status{Feasible, Infeasible} {
		r := &Result{Status: status, Inflows: []Inflow{in}, Leftover: 0.0035}
		if says := (&job{}).verdict(r, 0, 0); !strings.Contains(says, "3.500 L/s") {
			t.Errorf("%s: %q does not say what is left over", status, says)
		}
	}
}

// An outlet is said to be unused where another is used, not where nothing drains.
func TestUnusedOutlet(t *testing.T) {
	for _, tt := range []struct {
		used []discharge
		want int
	}{{nil, 0}, {[]discharge{{id: "a"}}, 1}} {
		d := &job{out: []discharge{{id: "a"}, {id: "b"}}, used: tt.used}
		if d.notedUnused(); len(d.notes) != tt.want {
			t.Errorf("with %d used: %q, want %d notes", len(tt.used), d.notes, tt.want)
		}
	}
}
