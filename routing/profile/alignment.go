package profile

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/twpayne/go-geom"
)

// PathError reports a plan path that is not as long as the runs laid on it.
type PathError struct {
	Path, Runs float64 // plan lengths, m
}

func (e *PathError) Error() string {
	return fmt.Sprintf("the plan path is %.6f m long, the runs on it %.6f m", e.Path, e.Runs)
}

// Alignment puts runs on their plan path: an XYZM line string, X and Y site
// metres, Z invert elevation, M station, from the lower end up so that stations
// rise. The path is drawn downstream and begins where the first run does. outlet
// is the station of its lower end, 0 where that is the outlet, else the plan
// distance from there on. A vertex stands at each vertex of the path and each
// end of a run; at a drop two share their plan position, the lower first.
//
// Errors: *PathError where lengths differ by more than sameStation for each
// vertex.
func Alignment(path orb.LineString, laid []Run, outlet float64) (*geom.LineString, error) {
	length := planar.Length(path)
	var total float64
	if len(laid) > 0 {
		total = laid[len(laid)-1].To - laid[0].From
	}
	if len(path) < 2 || !(math.Abs(length-total) <= sameStation*float64(len(path))) {
		return nil, &PathError{Path: length, Runs: total}
	}
	var coords []geom.Coord // downstream first, turned round below
	put := func(p orb.Point, r Run, s float64) {
		coords = append(coords, geom.Coord{p[0], p[1], r.Invert(r.From + s), outlet + max(0, length-(s+r.From-laid[0].From))})
	}
	run, before := 0, laid[0].From // S of the path's vertex k-1
	put(path[0], laid[0], 0)
	for k := 1; k < len(path); k++ {
		step := planar.Distance(path[k-1], path[k])
		if step == 0 {
			continue
		}
		for ; run < len(laid)-1 && laid[run].To <= before+step+sameStation; run++ {
			r, next := laid[run], laid[run+1]
			t := min(1, (r.To-before)/step)
			p := orb.Point{path[k-1][0]*(1-t) + path[k][0]*t, path[k-1][1]*(1-t) + path[k][1]*t}
			put(p, r, r.To-r.From)
			if next.InvertFrom != r.InvertTo {
				put(p, next, 0)
			}
		}
		before += step
		if before-laid[run].From > sameStation {
			put(path[k], laid[run], min(before, laid[run].To)-laid[run].From)
		}
	}
	for i, j := 0, len(coords)-1; i < j; i, j = i+1, j-1 {
		coords[i], coords[j] = coords[j], coords[i]
	}
	return geom.NewLineString(geom.XYZM).SetCoords(coords)
}
