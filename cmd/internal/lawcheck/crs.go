package lawcheck

import (
	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"
)

// toLonLat carries a point of a named system to longitude and latitude.
func toLonLat(system string, p orb.Point) (orb.Point, error) {
	from, err := godal.NewSpatialRef(system)
	if err != nil {
		return p, err
	}
	defer from.Close()
	to, err := godal.NewSpatialRef(lonLat)
	if err != nil {
		return p, err
	}
	defer to.Close()
	t, err := godal.NewTransform(from, to)
	if err != nil {
		return p, err
	}
	defer t.Close()
	x, y := []float64{p[0]}, []float64{p[1]}
	err = t.TransformEx(x, y, nil, nil)
	return orb.Point{x[0], y[0]}, err
}

// mover carries points of another system into grid metres.
type mover struct {
	t    *godal.Transform
	unit float64
}

func (g *ground) moverFrom(system string) (*mover, error) {
	from, err := godal.NewSpatialRef(system)
	if err != nil {
		return nil, err
	}
	t, err := godal.NewTransform(from, g.plane)
	return &mover{t, g.planeUnit}, err
}

func (m *mover) move(p orb.Point) (orb.Point, error) {
	x, y := []float64{p[0]}, []float64{p[1]}
	if err := m.t.TransformEx(x, y, nil, nil); err != nil {
		return p, err
	}
	return orb.Point{x[0] * m.unit, y[0] * m.unit}, nil
}
