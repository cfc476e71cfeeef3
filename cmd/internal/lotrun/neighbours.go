package lotrun

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"curbfall/io/vector"
)

// What is said of flow over lot lines, m3/s: a garden hose's, and onto a neighbour
// in one place a downspout's; common practice, no source.
const (
	runOnSaid      = 0.0002
	concentratedAt = 0.001
)

// beyondLine is how far over a lot line it is looked whose ground that is, m.
const beyondLine = 1.0

// neighbourWords says how much water comes onto the lot from beyond its lines, and
// where much leaves it in one place onto a neighbour's.
func (y *yard) neighbourWords(when string, sides []vector.BoundaryFlow) (says []string) {
	if y.lot == noLot {
		return nil
	}
	lot := &y.site.Lots[y.lot]
	ring := lot.Area[0]
	in, total := []string{}, 0.0
	for _, s := range sides {
		if s.Lot == lot.ID && s.Before.In >= runOnSaid {
			total += s.Before.In
			in = append(in, fmt.Sprintf("%.1f L/s over %s", s.Before.In*1000, sideWords(ring, s.Side)))
		}
	}
	if len(in) == 1 {
		_, over, _ := strings.Cut(in[0], " over ")
		says = append(says, fmt.Sprintf("%s %.1f L/s run onto the lot over %s", when, total*1000, over))
	} else if len(in) > 1 {
		says = append(says, fmt.Sprintf("%s %.1f L/s run onto the lot: %s", when, total*1000, strings.Join(in, ", ")))
	}
	for _, s := range sides {
		if s.Lot != lot.ID || s.After == nil || s.After.Most < concentratedAt {
			continue
		}
		if id, drawn := y.beyond(ring, &s); drawn {
			now, then := fmt.Sprintf("%.1f", s.Before.Most*1000), fmt.Sprintf("%.1f", s.After.Most*1000)
			asItIs := now + " L/s as it is"
			if now == then {
				asItIs = "as much as it is"
			}
			says = append(says, fmt.Sprintf("%s %s L/s leave the lot in one place over %s, %.1f m along it, onto %s; %s: concentrated flow onto a neighbour is for spreading, or for a drain",
				when, then, sideWords(ring, s.Side), s.After.MostAt, id, asItIs))
		}
	}
	return says
}

// beyond is the lot that lies over a side where most goes out.
func (y *yard) beyond(ring orb.Ring, s *vector.BoundaryFlow) (id string, drawn bool) {
	a, b := s.Line[0], s.Line[1]
	length := planar.Distance(a, b)
	ux, uy, out := (b[0]-a[0])/length, (b[1]-a[1])/length, beyondLine
	if ring.Orientation() == orb.CW {
		out = -beyondLine
	}
	p := orb.Point{a[0] + ux*s.After.MostAt + uy*out, a[1] + uy*s.After.MostAt - ux*out} // right of a ring drawn left about
	for k, l := range y.site.Lots {
		if k != y.lot && planar.PolygonContains(l.Area, p) {
			return l.ID, true
		}
	}
	return "", false
}
