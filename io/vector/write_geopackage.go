package vector

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/airbusgeo/godal"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"

	"curbfall/io/crs"
	"curbfall/io/raster"
)

// stamp is the time every GeoPackage says it was changed: the bytes may not
// hang on the clock.
const stamp = "2000-01-01T00:00:00.000Z"

// WriteGeoPackage writes layers to a new GeoPackage in the project's
// coordinate system (the one site metres are of), in its own unit, each with a
// style that opens with it. The same layers give the same bytes.
func WriteGeoPackage(file string, project *crs.System, layers []Layer) error {
	if err := writeGeoPackage(file, project, layers); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	return nil
}

func writeGeoPackage(file string, project *crs.System, layers []Layer) (err error) {
	raster.Register()
	ref, err := godal.NewSpatialRefFromWKT(project.WKT)
	if err != nil {
		return err
	}
	defer ref.Close()
	// Layer creation options reach a GeoPackage through a translation alone.
	memory, err := godal.CreateVector(godal.Memory, "", lenient)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, memory.Close()) }()
	for i := range layers {
		if err := fill(memory, &layers[i], ref, project.MetresPerUnit); err != nil {
			return fmt.Errorf("layer %s: %w", layers[i].Name, err)
		}
	}
	if err := fillStyles(memory, layers); err != nil {
		return fmt.Errorf("layer styles: %w", err)
	}
	out, err := memory.VectorTranslate(file, []string{"-f", "GPKG", "-lco", "GEOMETRY_NAME=geom", "-lco", "FID=fid"}, lenient)
	if err != nil {
		return err
	}
	if err := out.Close(lenient); err != nil {
		return err
	}
	return restamp(file)
}

// restamp sets the times of change. Closing a GeoPackage writes them by the
// clock, outside the reach of an option to one call, so it is done afterwards.
func restamp(file string) error {
	ds, err := godal.Open(file, godal.VectorOnly(), godal.Update(), lenient)
	if err != nil {
		return err
	}
	result, err := ds.ExecuteSQL("UPDATE gpkg_contents SET last_change = '"+stamp+"'", lenient)
	if err == nil && result != nil {
		err = result.Close()
	}
	return errors.Join(err, ds.Close(lenient))
}

// lenient lets GDAL's warnings pass and keeps its errors.
var lenient = godal.ErrLogger(func(ec godal.ErrorCategory, _ int, msg string) error {
	if ec >= godal.CE_Failure {
		return errors.New(msg)
	}
	return nil
})

var geometryTypes = map[string]godal.GeometryType{
	"Point": godal.GTPoint, "LineString": godal.GTLineString, "Polygon": godal.GTPolygon,
}

// fill copies a layer to the data set in memory.
func fill(ds *godal.Dataset, l *Layer, ref *godal.SpatialRef, metresPerUnit float64) error {
	kind, ok := geometryTypes[l.Geometry]
	if !ok {
		return fmt.Errorf("no way to write geometry %q", l.Geometry)
	}
	several := slices.ContainsFunc(l.Features, func(f Feature) bool { return f.Geometry.GeoJSONType() == "MultiPolygon" })
	if several {
		kind = godal.GTMultiPolygon
	}
	out, err := ds.CreateLayer(l.Name, ref, kind, columns(l)...)
	if err != nil {
		return err
	}
	for _, f := range l.Features {
		if p, ok := f.Geometry.(orb.Polygon); ok && several {
			f.Geometry = orb.MultiPolygon{p}
		}
		if err := insert(out, f, ref, metresPerUnit); err != nil {
			return err
		}
	}
	return nil
}

// columns are the properties as fields; a property that is nil in every
// feature is text.
func columns(l *Layer) []godal.CreateLayerOption {
	var list []godal.CreateLayerOption
	if len(l.Features) == 0 {
		return nil
	}
	for k, p := range l.Features[0].Properties {
		kind := godal.FTString
		for _, f := range l.Features {
			switch f.Properties[k].Value.(type) {
			case float64:
				kind = godal.FTReal
			case int, bool:
				kind = godal.FTInt
			}
		}
		list = append(list, godal.NewFieldDefinition(p.Name, kind))
	}
	return list
}

func insert(out godal.Layer, f Feature, ref *godal.SpatialRef, metresPerUnit float64) error {
	row, err := out.NewFeature(nil, lenient) // with a geometry it would be in the layer before its fields
	if err != nil {
		return err
	}
	defer row.Close()
	if f.Geometry != nil {
		data, err := wkb.Marshal(scaled(f.Geometry, 1/metresPerUnit))
		if err != nil {
			return err
		}
		g, err := godal.NewGeometryFromWKB(data, ref, lenient)
		if err != nil {
			return err
		}
		defer g.Close()
		if err := row.SetGeometry(g, lenient); err != nil {
			return err
		}
	}
	fields := row.Fields()
	for _, p := range f.Properties {
		v := p.Value
		switch x := v.(type) {
		case nil:
			continue
		case float64:
			if math.IsNaN(x) || math.IsInf(x, 0) {
				continue
			}
		case bool:
			v = 0
			if x {
				v = 1
			}
		}
		if err := row.SetFieldValue(fields[p.Name], v, lenient); err != nil {
			return fmt.Errorf("%s: %w", p.Name, err)
		}
	}
	return out.CreateFeature(row, lenient)
}

// scaled returns a copy of a geometry with its coordinates multiplied.
func scaled(g orb.Geometry, by float64) orb.Geometry {
	g = orb.Clone(g)
	points := func(list []orb.Point) {
		for i := range list {
			list[i] = orb.Point{list[i][0] * by, list[i][1] * by}
		}
	}
	switch g := g.(type) {
	case orb.Point:
		return orb.Point{g[0] * by, g[1] * by}
	case orb.LineString:
		points(g)
	case orb.Polygon:
		for _, r := range g {
			points(r)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			for _, r := range p {
				points(r)
			}
		}
	}
	return g
}
