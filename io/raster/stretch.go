package raster

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// stretchMost is the part by which a system's metres may differ from the ground's
// without a word: more than the zones of UTM and of states have, less than a crew's
// tape shows over a pipe.
const stretchMost = 0.005

// NoteStretch notes how much longer site metres are than the ground's at a place
// given by longitude and latitude: Web Mercator's by a third at 40 degrees north.
func (d *Dataset) NoteStretch(lon, lat float64) error {
	m, err := fromLonLat(d.Site)
	if err != nil {
		return d.errorf("%v", err)
	}
	defer m.Close()
	const step = 1e-4 // degrees, some 10 m
	east, north := metresPerDegree(lat)
	worst := 1.0
	for _, s := range []struct{ dx, dy, metres float64 }{{step, 0, east * step}, {0, step, north * step}} {
		a, errA := m.Move(orb.Point{lon - s.dx/2, lat - s.dy/2})
		b, errB := m.Move(orb.Point{lon + s.dx/2, lat + s.dy/2})
		if errA != nil || errB != nil {
			return nil // told where the site is found not to lie on the raster
		}
		if k := planar.Distance(a, b) / s.metres; math.Abs(k-1) > math.Abs(worst-1) {
			worst = k
		}
	}
	if math.Abs(worst-1) > stretchMost {
		d.notice("%s: a metre on the ground is %.3f m in its coordinate system here, and so are all lengths and grades: project it with gdalwarp to the site's UTM zone", d.Path, worst)
	}
	return nil
}

// metresPerDegree is the length of a degree of longitude and of latitude on the
// ellipsoid, m, good to 1 in 100,000.
//
// Source: series of the radii of curvature of WGS 84.
func metresPerDegree(lat float64) (east, north float64) {
	phi := lat * math.Pi / 180
	east = 111412.84*math.Cos(phi) - 93.5*math.Cos(3*phi) + 0.118*math.Cos(5*phi)
	north = 111132.954 - 559.822*math.Cos(2*phi) + 1.175*math.Cos(4*phi)
	return east, north
}
