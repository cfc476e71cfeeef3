package vector

import (
	"fmt"
	"math"
	"strconv"

	"curbfall/routing/constraint"
)

// CheckElevations refuses the first level of a site further than most metres
// outside the ground's low to high (m): feet typed as metres. A level that was
// not given (NaN) passes.
func CheckElevations(file string, s *constraint.Site, low, high, most float64) error {
	for _, v := range levels(s) {
		if v.m < low-most || v.m > high+most {
			return &Error{file, fmt.Sprintf("%s %q: %s is %s m, more than %.0f m outside the ground's %.2f to %.2f m; check its unit: metres, or feet as %s_ft",
				v.kind, brief(v.id), v.key, fixed(v.m, 2), most, low, high, v.key)}
		}
	}
	return nil
}

// senseless is beyond any coordinate or level, m.
const senseless = 1e9

// fixed prints a number with so many decimals, a senseless one by its size.
func fixed(v float64, decimals int) string {
	if math.Abs(v) >= senseless {
		return fmt.Sprintf("%g", v)
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// level is an elevation of a site, m, and where it was written.
type level struct {
	kind, id, key string
	m             float64
}

// levels lists every elevation of a site, those not given too.
func levels(s *constraint.Site) []level {
	var list []level
	for _, c := range s.Curbs {
		for _, g := range c.Gutter {
			list = append(list, level{"curb", c.ID, "gutter_elevation", g})
		}
	}
	for _, r := range s.Roofs {
		list = append(list, level{"roof", r.ID, "finished_floor", r.FinishedFloor})
	}
	for _, i := range s.Inlets {
		list = append(list, level{"inlet", i.ID, "rim", i.Rim})
	}
	for _, c := range s.ChannelDrains {
		list = append(list, level{"channel_drain", c.ID, "rim", c.Rim})
	}
	for _, o := range s.Outlets {
		list = append(list, level{"outlet", o.ID, "invert", o.Invert})
	}
	for _, u := range s.Utilities {
		list = append(list, level{"utility", u.ID, "top", u.Top})
	}
	for _, o := range s.Openings {
		list = append(list, level{"building_opening", o.ID, "elevation", o.Elevation})
	}
	return list
}
