// Package raster reads elevations through GDAL and writes grids.
//
//	GeoTIFF, VRT, COG, /vsicurl/ -> header, vertical unit settled
//	                             -> the window round the site as a grid.Grid
package raster

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"

	"curbfall/io/crs"
)

var register sync.Once

// Register makes GDAL's drivers known; it may be called often.
func Register() { register.Do(godal.RegisterAll) }

// Error is a raster that cannot be used: one line with what to do.
type Error struct{ File, Says string }

func (e *Error) Error() string { return e.File + ": " + e.Says }

// quiet lets GDAL's warnings pass and keeps its errors.
var quiet = godal.ErrLogger(func(ec godal.ErrorCategory, _ int, msg string) error {
	if ec >= godal.CE_Failure {
		return errors.New(msg)
	}
	return nil
})

// tries and pause are for a raster on the network, which may miss once.
const (
	tries = 3
	pause = 300 * time.Millisecond
)

// remote are GDAL's settings for a raster on the network: a miss is forgotten
// when the file is closed (else GDAL repeats it from memory, however often it
// is asked), and a server too busy is asked again by GDAL itself.
var remote = godal.ConfigOption("CPL_VSIL_CURL_NON_CACHED=/vsicurl/", "GDAL_HTTP_MAX_RETRY=2", "GDAL_HTTP_RETRY_DELAY=0.3")

// again repeats a read over the network that failed, with a growing wait; a
// local one fails at once.
func again(read func() error, path string) error {
	err := read()
	for n := 1; err != nil && n < tries && strings.Contains(path, "/vsicurl"); n++ {
		time.Sleep(time.Duration(n) * pause)
		err = read()
	}
	return err
}

// Dataset is an open elevation raster.
type Dataset struct {
	Path       string
	System     *crs.System // of the raster
	Site       *crs.System // of site metres; for a raster in degrees settled by SetSite
	Cols, Rows int
	MetresPerZ float64
	Notices    []string // what was odd and read all the same, one line each
	nodata     float64
	hasNodata  bool
	scale      float64
	offset     float64
	gt         [6]float64 // x = gt0 + gt1 col, y = gt3 + gt5 row
	ds         *godal.Dataset
	blockRows  int // of its blocks
}

// Open opens a raster and settles its vertical unit: what its coordinate
// system says, else verticalUnit ("m", "us-ft", "ft"; "" for not given).
func Open(path, verticalUnit string) (*Dataset, error) {
	Register()
	var ds *godal.Dataset
	err := again(func() (err error) { ds, err = godal.Open(path, godal.RasterOnly(), remote, quiet); return err }, path)
	if err != nil {
		return nil, &Error{path, "cannot be read as a raster: " + said(err, path) + "; give an elevation raster GDAL opens"}
	}
	d := &Dataset{Path: path, ds: ds}
	if err := d.header(verticalUnit); err != nil {
		_ = ds.Close()
		return nil, err
	}
	return d, nil
}

// leastCache is GDAL's cache of blocks where those of the raster are small, bytes.
const leastCache = 16 << 20

// BlockCache is the memory GDAL takes for blocks while the raster is read and
// others like it are written, bytes: a row of blocks, and as much again, since
// rows are asked for one after the other. By itself GDAL would take a twentieth of
// the machine's memory. What it is told first holds for all rasters.
func (d *Dataset) BlockCache() int {
	const widest = 8 // bytes a cell
	return max(leastCache, d.Cols*max(d.blockRows, tileRows)*widest)
}

// cache tells GDAL of BlockCache.
func (d *Dataset) cache() godal.BandIOOption {
	return godal.ConfigOption(fmt.Sprintf("GDAL_CACHEMAX=%dMB", d.BlockCache()>>20))
}

// Close closes the raster.
func (d *Dataset) Close() { _ = d.ds.Close() }

// said is the first line of what GDAL says of a file, without its name and full
// stop.
func said(err error, path string) string {
	line, _, _ := strings.Cut(strings.TrimSpace(err.Error()), "\n")
	for _, name := range []string{path + ": ", "`" + path + "' "} {
		line = strings.TrimPrefix(line, name)
	}
	return strings.TrimRight(line, ". ")
}

// unread is a raster that opens and whose cells cannot be read. What GDAL says
// helps where cells lie in another file or on a server; of a TIFF cut short it
// is the library's own places.
func (d *Dataset) unread(err error) error {
	why := said(err, d.Path)
	switch {
	case strings.HasPrefix(d.Path, "/vsicurl"):
		return d.errorf("its elevations cannot be read: %s; try again, or download the file and give that", why)
	case strings.HasPrefix(why, "TIFF"):
		why = "the file is cut short or damaged"
	}
	return d.errorf("its elevations cannot be read: %s; copy or download the file again, with all that belongs to it", why)
}

// notice adds a line to the notices, once.
func (d *Dataset) notice(format string, args ...any) {
	if line := fmt.Sprintf(format, args...); !slices.Contains(d.Notices, line) {
		d.Notices = append(d.Notices, line)
	}
}

func (d *Dataset) header(verticalUnit string) error {
	st := d.ds.Structure()
	d.Cols, d.Rows = st.SizeX, st.SizeY
	if st.NBands < 1 {
		return d.errorf("has no band; give an elevation raster")
	}
	for _, b := range d.ds.Bands() {
		switch b.ColorInterp() {
		case godal.CIPalette, godal.CIRed, godal.CIGreen, godal.CIBlue:
			return d.errorf("has coloured bands: a picture, not elevations; give an elevation raster")
		}
	}
	if st.NBands > 1 {
		d.notice("%s has %d bands: the first is read as elevations", d.Path, st.NBands)
	}
	band := d.ds.Bands()[0]
	var err error
	if d.gt, err = d.ds.GeoTransform(); err != nil {
		return d.errorf("has no georeference; give it one with gdal_translate -a_ullr")
	}
	if d.gt[2] != 0 || d.gt[4] != 0 {
		return d.errorf("is rotated (terms %g and %g, must be 0); make it north-up with gdalwarp", d.gt[2], d.gt[4])
	}
	if d.gt[1] <= 0 || d.gt[5] == 0 {
		return d.errorf("has cells of %g by %g; the first must be above 0, the second not 0", d.gt[1], d.gt[5])
	}
	wkt := d.ds.Projection()
	if wkt == "" {
		return d.errorf("has no coordinate system; assign the right one with gdal_edit.py -a_srs EPSG:code")
	}
	if d.System, err = crs.Parse(wkt); err != nil {
		return d.errorf("%v; assign the right one with gdal_edit.py -a_srs EPSG:code", err)
	}
	if !d.System.Geographic {
		d.Site = d.System
	}
	d.blockRows = band.Structure().BlockSizeY
	d.nodata, d.hasNodata = band.NoData()
	d.scale, d.offset = st.Scale, st.Offset
	if d.scale == 0 {
		d.scale = 1
	}
	return d.settleVertical(verticalUnit)
}

func (d *Dataset) errorf(format string, args ...any) error {
	return &Error{d.Path, fmt.Sprintf(format, args...)}
}

// SetSite settles site metres for a raster in degrees: the UTM zone of a place
// given by longitude and latitude. Others keep their own system.
func (d *Dataset) SetSite(lon, lat float64) error {
	if !d.System.Geographic {
		return nil
	}
	s, err := d.System.UTM(lon, lat)
	if err != nil {
		return d.errorf("%v", err)
	}
	d.Site = s
	return nil
}

// Middle returns the middle of the raster in its own coordinates (degrees, or
// metres whatever its unit).
func (d *Dataset) Middle() orb.Point {
	m := d.System.MetresPerUnit
	return orb.Point{(d.gt[0] + d.gt[1]*float64(d.Cols)/2) * m, (d.gt[3] + d.gt[5]*float64(d.Rows)/2) * m}
}
