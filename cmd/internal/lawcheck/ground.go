package lawcheck

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"

	"curbfall/io/units"
)

// register makes GDAL's drivers known, once.
var register = sync.OnceFunc(godal.RegisterAll)

// quiet lets GDAL's warnings pass, which godal takes as errors.
var quiet = godal.ErrLogger(func(ec godal.ErrorCategory, _ int, msg string) error {
	if ec >= godal.CE_Failure {
		return errors.New(msg)
	}
	return nil
})

// ground is the raster as given with its enclosed voids filled.
type ground struct {
	cols, rows int
	gt         [6]float64
	z          []float64 // m, row-major; NaN: void open to the edge
	foot       float64   // the foot of elevations ending _ft, m
	cell       float64   // the longer side of a cell in grid metres
	crs        *godal.SpatialRef
	plane      *godal.SpatialRef // grid metres; the raster's own unless that is in degrees
	planeUnit  float64           // metres per unit of plane
	toRaster   *godal.Transform  // nil where the plane is the raster's
}

// readGround reads a raster; verticalUnit is for one that does not say.
// middle is a place of the site in longitude and latitude.
func readGround(path, verticalUnit string, middle orb.Point) (*ground, error) {
	ds, err := godal.Open(path, godal.RasterOnly(), quiet)
	if err != nil {
		return nil, err
	}
	defer ds.Close()
	g := &ground{cols: ds.Structure().SizeX, rows: ds.Structure().SizeY}
	if g.gt, err = ds.GeoTransform(); err != nil {
		return nil, err
	}
	if g.crs, err = godal.NewSpatialRef(ds.Projection()); err != nil {
		return nil, err
	}
	if err := g.settlePlane(middle); err != nil {
		return nil, err
	}
	perZ, err := g.verticalUnit(verticalUnit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	g.foot = 0.3048 // the international foot, exact by definition
	if perZ > 0.304 && perZ < 0.305 {
		g.foot = perZ
	}
	g.z = make([]float64, g.cols*g.rows)
	band := ds.Bands()[0]
	if err := band.Read(0, 0, g.z, g.cols, g.rows); err != nil {
		return nil, err
	}
	nodata, has := band.NoData()
	scale, offset := ds.Structure().Scale, ds.Structure().Offset
	if scale == 0 {
		scale = 1
	}
	for i, v := range g.z {
		g.z[i] = (v*scale + offset) * perZ
		// A float raster rounds its nodata value, so it is compared as float32 too.
		if has && (v == nodata || float32(v) == float32(nodata)) || math.IsInf(v, 0) {
			g.z[i] = math.NaN()
		}
	}
	g.fillVoids()
	return g, nil
}

func (g *ground) close() {
	if g.toRaster != nil {
		g.toRaster.Close()
	}
}

// settlePlane chooses grid metres: the raster's own system, or for degrees the
// UTM zone of the site on the raster's datum.
func (g *ground) settlePlane(middle orb.Point) error {
	g.plane, g.planeUnit = g.crs, 1
	g.cell = math.Max(math.Abs(g.gt[1]), math.Abs(g.gt[5]))
	if !g.crs.Geographic() {
		text, ok := g.crs.AttrValue("PROJCS|UNIT", 1)
		v, err := strconv.ParseFloat(text, 64)
		if !ok || err != nil {
			return fmt.Errorf("no unit in the raster's coordinate system")
		}
		g.planeUnit, g.cell = v, g.cell*v
		return nil
	}
	zone := int((middle[0]+180)/6) + 1
	code := 32600 + zone
	datum, _ := g.crs.AttrValue("GEOGCS", 0)
	if middle[1] < 0 {
		code += 100
	} else if strings.HasPrefix(datum, "NAD83") {
		code = 26900 + zone
	} else if strings.HasPrefix(datum, "ETRS89") {
		code = 25800 + zone
	}
	var err error
	if g.plane, err = godal.NewSpatialRef(fmt.Sprintf("EPSG:%d", code)); err != nil {
		return err
	}
	if g.toRaster, err = godal.NewTransform(g.plane, g.crs); err != nil {
		return err
	}
	const metresPerDegree = 111320 // of a great circle; a longitude is shorter
	g.cell = math.Max(math.Abs(g.gt[1])*math.Cos(middle[1]*math.Pi/180), math.Abs(g.gt[5])) * metresPerDegree
	return nil
}

func (g *ground) verticalUnit(flag string) (float64, error) {
	if text, ok := g.crs.AttrValue("VERT_CS|UNIT", 1); ok {
		return strconv.ParseFloat(text, 64)
	}
	if flag == "" {
		return 0, fmt.Errorf("vertical unit neither declared nor given")
	}
	u, err := units.VerticalUnit(flag)
	return u.Metres(), err
}

// at is the ground elevation at a point in grid metres, bilinear between cell
// centres; NaN in voids and outside the outermost centres.
func (g *ground) at(p orb.Point) float64 {
	x, y := p[0]/g.planeUnit, p[1]/g.planeUnit
	if math.IsNaN(x + y) { // a position that could not be read
		return math.NaN()
	}
	if g.toRaster != nil {
		xs, ys := []float64{x}, []float64{y}
		if err := g.toRaster.TransformEx(xs, ys, nil, nil); err != nil {
			return math.NaN()
		}
		x, y = xs[0], ys[0]
	}
	u, v := (x-g.gt[0])/g.gt[1]-0.5, (y-g.gt[3])/g.gt[5]-0.5
	i, j := math.Floor(u), math.Floor(v)
	z := 0.0
	for _, c := range []struct{ i, j, weight float64 }{
		{i, j, (i + 1 - u) * (j + 1 - v)}, {i + 1, j, (u - i) * (j + 1 - v)},
		{i, j + 1, (i + 1 - u) * (v - j)}, {i + 1, j + 1, (u - i) * (v - j)},
	} {
		if c.weight < 1e-9 { // on a row or column of centres, but for rounding
			continue
		}
		if c.i < 0 || c.j < 0 || int(c.i) >= g.cols || int(c.j) >= g.rows {
			return math.NaN()
		}
		z += c.weight * g.z[int(c.j)*g.cols+int(c.i)]
	}
	return z
}

// fillVoids fills the 8-connected voids that do not touch the raster's edge
// with the discrete Laplace surface of the cells around them.
func (g *ground) fillVoids() {
	seen := make([]bool, len(g.z))
	for start := range g.z {
		if seen[start] || !math.IsNaN(g.z[start]) {
			continue
		}
		cells, open := []int{start}, false
		seen[start] = true
		for k := 0; k < len(cells); k++ {
			i, j := cells[k]%g.cols, cells[k]/g.cols
			open = open || i == 0 || j == 0 || i == g.cols-1 || j == g.rows-1
			for dj := max(0, j-1); dj <= min(g.rows-1, j+1); dj++ {
				for di := max(0, i-1); di <= min(g.cols-1, i+1); di++ {
					if n := dj*g.cols + di; !seen[n] && math.IsNaN(g.z[n]) {
						seen[n] = true
						cells = append(cells, n)
					}
				}
			}
		}
		if !open {
			g.relax(cells)
		}
	}
}

// relax solves for the mean of the four neighbours by over-relaxation.
func (g *ground) relax(cells []int) {
	const (
		omega = 1.9   // near the best for voids of some 50 cells across
		done  = 1e-10 // m a sweep; far under the micrometre asked for
		most  = 200000
	)
	sum, n := 0.0, 0
	for _, c := range cells {
		for _, d := range []int{-1, 1, -g.cols, g.cols} {
			if v := g.z[c+d]; !math.IsNaN(v) {
				sum, n = sum+v, n+1
			}
		}
	}
	for _, c := range cells {
		g.z[c] = sum / float64(n)
	}
	for range most {
		worst := 0.0
		for _, c := range cells {
			d := (g.z[c-1]+g.z[c+1]+g.z[c-g.cols]+g.z[c+g.cols])/4 - g.z[c]
			g.z[c] += omega * d
			worst = math.Max(worst, math.Abs(d))
		}
		if worst < done {
			return
		}
	}
}
