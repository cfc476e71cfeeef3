package vector

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"sync/atomic"

	"github.com/airbusgeo/godal"

	"curbfall/io/crs"
)

// quiet lets OGR's warnings pass and keeps its errors.
var quiet = godal.ErrLogger(func(ec godal.ErrorCategory, _ int, msg string) error {
	if ec >= godal.CE_Failure {
		return errors.New(msg)
	}
	return nil
})

// readOGR reads any vector file OGR opens, by way of GeoJSON in its own
// coordinate system, which it must declare.
func readOGR(file string) ([]feature, *crs.System, error) {
	godal.RegisterAll()
	ds, err := godal.Open(file, godal.VectorOnly(), quiet)
	if err != nil {
		return nil, nil, &Error{file, fmt.Sprintf("cannot be read as site lines: %s; give GeoJSON, or anything OGR reads", brief(err.Error()))}
	}
	defer func() { _ = ds.Close() }()
	var list []feature
	var system *crs.System
	for _, layer := range ds.Layers() {
		if layer.Type() == godal.GTNone {
			continue // a table without places
		}
		s, err := layerSystem(layer)
		if err == nil && system != nil && system.WKT != s.WKT {
			err = errors.New("its layers are in different coordinate systems; save them in one")
		}
		if err == nil {
			system = s
			list, err = readLayer(ds, layer.Name(), system, list)
		}
		if err != nil {
			return nil, nil, &Error{file, err.Error()}
		}
	}
	return list, system, nil
}

func layerSystem(layer godal.Layer) (*crs.System, error) {
	ref := layer.SpatialRef()
	if ref == nil {
		return nil, fmt.Errorf("layer %s has no coordinate system; assign the right one", layer.Name())
	}
	wkt, err := ref.WKT()
	if err != nil || wkt == "" {
		return nil, fmt.Errorf("layer %s has no coordinate system; assign the right one", layer.Name())
	}
	return crs.Parse(wkt)
}

// passed numbers the texts layers pass through.
var passed atomic.Int64

// coordinatePrecision is enough decimals for degrees and metres to come
// through as they are.
const coordinatePrecision = "15"

// virtual begins the names of files that GDAL alone opens: in an archive, at an
// address.
const virtual = "/vsi"

// readVirtual reads such a file whole.
func readVirtual(path string) ([]byte, error) {
	f, err := godal.VSIOpen(path, quiet)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	return io.ReadAll(f)
}

// readLayer adds the features of a layer to a list. They pass as GeoJSON, not
// field by field: a field holding nothing would read as 0 there.
func readLayer(ds *godal.Dataset, name string, system *crs.System, list []feature) ([]feature, error) {
	path := fmt.Sprintf("/vsimem/curbfall-layer-%d.json", passed.Add(1))
	out, err := ds.VectorTranslate(path, []string{"-f", "GeoJSON", "-lco", "RFC7946=NO", "-lco", "COORDINATE_PRECISION=" + coordinatePrecision, name}, quiet)
	if err != nil {
		return nil, fmt.Errorf("layer %s cannot be read: %s", name, brief(err.Error()))
	}
	defer func() { _ = godal.VSIUnlink(path) }()
	if err := out.Close(); err != nil {
		return nil, fmt.Errorf("layer %s cannot be read: %s", name, brief(err.Error()))
	}
	data, err := readVirtual(path)
	if err != nil {
		return nil, fmt.Errorf("layer %s cannot be read: %s", name, brief(err.Error()))
	}
	var c rawCollection
	if err := json.Unmarshal(data, &c); err != nil {
		return nil, fmt.Errorf("layer %s %s", name, jsonFault(data, err))
	}
	for _, raw := range c.Features {
		for key, v := range raw.Properties {
			if v == nil { // every row of a table has every column
				delete(raw.Properties, key)
			} else if s, ok := v.(string); ok && strings.HasPrefix(key, "gutter_elevation") {
				raw.Properties[key] = listed(s)
			}
		}
		f, err := raw.feature(len(list) + 1)
		if err == nil {
			err = f.checkDegrees(system, true)
		}
		if err != nil {
			return nil, err
		}
		list = append(list, f)
	}
	return list, nil
}

// ogrList is how OGR writes a list of numbers into a column of text.
var ogrList = regexp.MustCompile(`^\(\d+:(.*)\)$`)

// listed returns the list of numbers a text holds, else the text: many tables
// have no column for lists.
func listed(s string) any {
	text := strings.TrimSpace(s)
	if m := ogrList.FindStringSubmatch(text); m != nil {
		text = "[" + m[1] + "]"
	}
	var list []any
	if err := json.Unmarshal([]byte(text), &list); err == nil && len(list) > 0 {
		return list
	}
	return s
}
