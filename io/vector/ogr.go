package vector

import (
	"encoding/json"
	"fmt"

	"github.com/airbusgeo/godal"

	"curbfall/io/crs"
)

// readOGR reads any vector file OGR opens, by way of GeoJSON in its own
// coordinate system, which it must declare.
func readOGR(file string) ([]feature, *crs.System, error) {
	godal.RegisterAll()
	ds, err := godal.Open(file, godal.VectorOnly(), godal.ErrLogger(func(ec godal.ErrorCategory, _ int, msg string) error {
		if ec >= godal.CE_Failure {
			return fmt.Errorf("%s", msg)
		}
		return nil
	}))
	if err != nil {
		return nil, nil, &Error{file, fmt.Sprintf("cannot be read as site lines: %s; give GeoJSON, or anything OGR reads", brief(err.Error()))}
	}
	defer func() { _ = ds.Close() }()
	var list []feature
	var system *crs.System
	for _, layer := range ds.Layers() {
		ref := layer.SpatialRef()
		if ref == nil {
			return nil, nil, &Error{file, fmt.Sprintf("layer %s has no coordinate system; assign the right one", layer.Name())}
		}
		wkt, err := ref.WKT()
		if err != nil {
			return nil, nil, &Error{file, fmt.Sprintf("layer %s: %v", layer.Name(), err)}
		}
		s, err := crs.Parse(wkt)
		if err != nil {
			return nil, nil, &Error{file, err.Error()}
		}
		if system != nil && system.WKT != s.WKT {
			return nil, nil, &Error{file, "its layers are in different coordinate systems; save them in one"}
		}
		system = s
		for f := layer.NextFeature(); f != nil; f = layer.NextFeature() {
			read, err := fromOGR(f, len(list)+1)
			f.Close()
			if err == nil {
				err = read.checkDegrees(system, true)
			}
			if err != nil {
				return nil, nil, &Error{file, err.Error()}
			}
			list = append(list, read)
		}
	}
	return list, system, nil
}

func fromOGR(f *godal.Feature, index int) (feature, error) {
	properties := map[string]any{}
	for name, field := range f.Fields() {
		if !field.IsSet() {
			continue
		}
		switch field.Type() {
		case godal.FTInt, godal.FTInt64:
			properties[name] = float64(field.Int())
		case godal.FTReal:
			properties[name] = field.Float()
		default:
			if s := field.String(); s != "" {
				properties[name] = listed(s)
			}
		}
	}
	raw := rawFeature{Type: "Feature", Properties: properties}
	if g := f.Geometry(); g != nil && !g.Empty() {
		text, err := g.GeoJSON()
		if err != nil {
			return feature{}, err
		}
		raw.Geometry = json.RawMessage(text)
	}
	return raw.feature(index)
}

// listed returns a list of numbers where a text is one, else the text: a table
// has no column for lists, so they come as JSON.
func listed(s string) any {
	var list []any
	if err := json.Unmarshal([]byte(s), &list); err == nil && len(list) > 0 {
		return list
	}
	return s
}
