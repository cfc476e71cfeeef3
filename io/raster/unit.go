package raster

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"sync/atomic"

	"github.com/airbusgeo/godal"

	"curbfall/io/units"
)

// sameUnit is how far two lengths of a unit may differ and be one, a part of
// the unit: the two feet differ by two parts in a million.
const sameUnit = 1e-9

// settleVertical settles the unit of elevations: what the coordinate system
// says, else the band's own unit, else the flag. Two that contradict each
// other are refused; nothing is guessed.
func (d *Dataset) settleVertical(flag string) error {
	name := d.bandUnit()
	declared, by := d.System.MetresPerVertical, "its coordinate system"
	if math.IsNaN(declared) {
		if m, ok := unitNames[name]; ok {
			declared, by = m, fmt.Sprintf("its band's unit %q", name)
		}
	} else if contradicts(name, declared) {
		return d.errorf("says two things of its elevations: units of %g m by its coordinate system, %q by its band; mend the one that is wrong with gdal_edit.py", declared, name)
	}
	if flag == "" {
		switch {
		case !math.IsNaN(declared):
			d.MetresPerZ = declared
			return nil
		case someFoot[name]:
			return d.errorf("has elevations in %q but does not say which foot; say it with --vertical-unit us-ft or ft", name)
		}
		return d.errorf("does not say the unit of its elevations (coordinate system %s has no vertical part); say it with --vertical-unit m, us-ft or ft", d.System.Name)
	}
	u, err := units.VerticalUnit(flag)
	if err != nil {
		return d.errorf("--vertical-unit: %v", err)
	}
	m := u.Metres()
	if !math.IsNaN(declared) && math.Abs(declared-m) > sameUnit*m {
		return d.errorf("says by %s that its elevations are in units of %g m, --vertical-unit %s is %g m; leave the flag out, or mend the file", by, declared, flag, m)
	}
	if contradicts(name, m) {
		return d.errorf("says that its elevations are in %q, --vertical-unit is %s; leave the flag at a foot, or mend the file", name, flag)
	}
	d.MetresPerZ = m
	return nil
}

// unitNames are the names a band's unit goes by, lower case, and its metres;
// GDAL writes "metre" and "US survey foot" for the EPSG units 9001 and 9003,
// and its raster data model names "m".
var unitNames = map[string]float64{
	"m": 1, "metre": 1, "meter": 1, "metres": 1, "meters": 1,
	"us survey foot": 1200.0 / 3937, "us-ft": 1200.0 / 3937, "ftus": 1200.0 / 3937,
}

// someFoot are names that do not tell the two feet apart, though "foot" is
// GDAL's for the international one: people write it for either.
var someFoot = map[string]bool{"ft": true, "foot": true, "feet": true}

// contradicts tells whether a band's unit cannot be one of so many metres. A
// name not known says nothing.
func contradicts(name string, metres float64) bool {
	if m, ok := unitNames[name]; ok {
		return math.Abs(m-metres) > sameUnit*m
	}
	return someFoot[name] && math.Abs(metres-0.3048) > 0.001
}

// described numbers the descriptions asked for.
var described atomic.Int64

// bandUnit returns the unit of the first band, lower case, "" where there is
// none. GDAL tells it here only in a description of the raster (a VRT, which
// reads no cells).
func (d *Dataset) bandUnit() string {
	path := fmt.Sprintf("/vsimem/curbfall-unit-%d.vrt", described.Add(1))
	vrt, err := d.ds.Translate(path, []string{"-of", "VRT", "-b", "1"}, quiet)
	if err != nil {
		return ""
	}
	defer func() { _ = godal.VSIUnlink(path) }()
	if vrt.Close() != nil {
		return ""
	}
	f, err := godal.VSIOpen(path, quiet)
	if err != nil {
		return ""
	}
	defer func() { _ = f.Close() }()
	data, err := io.ReadAll(f)
	if err != nil {
		return ""
	}
	var text struct {
		Unit string `xml:"VRTRasterBand>UnitType"`
	}
	if xml.Unmarshal(data, &text) != nil {
		return ""
	}
	return strings.ToLower(strings.TrimSpace(text.Unit))
}
