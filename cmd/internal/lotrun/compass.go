package lotrun

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// quarters are the ways a side can face, from east round by north.
var quarters = [...]string{"east", "northeast", "north", "northwest", "west", "southwest", "south", "southeast"}

// sideWords names a side of a lot, from 1, by the way it faces and by its number in
// boundary_flow.geojson.
func sideWords(ring orb.Ring, side int) string {
	a, b := ring[side-1], ring[side]
	dx, dy := b[0]-a[0], b[1]-a[1]
	out := math.Atan2(-dx, dy) // right of the way drawn, which is out of a ring drawn left about
	if ring.Orientation() == orb.CW {
		out += math.Pi
	}
	n := len(quarters)
	k := int(math.Round(out/(2*math.Pi)*float64(n))) + n
	return fmt.Sprintf("its %s side (side %d)", quarters[k%n], side)
}
