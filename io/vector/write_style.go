package vector

import (
	"fmt"

	"github.com/airbusgeo/godal"
)

// look is how one layer of the GeoPackage is drawn, in the colours of the
// review file.
type look struct {
	symbol, class string // "line", "SimpleLine"
	properties    [][2]string
}

var looks = map[string]look{
	"pipes":      {"line", "SimpleLine", [][2]string{{"line_color", "192,57,43,255"}, {"line_width", "1.2"}, {"line_width_unit", "MM"}}},
	"flow_paths": {"line", "SimpleLine", [][2]string{{"line_color", "93,173,226,255"}, {"line_width", "0.4"}, {"line_width_unit", "MM"}}},
	"low_spots": {"fill", "SimpleFill", [][2]string{{"color", "127,179,213,115"}, {"outline_color", "127,179,213,255"},
		{"outline_width", "0.26"}, {"outline_width_unit", "MM"}, {"style", "solid"}}},
	"overflow_paths": {"line", "SimpleLine", [][2]string{{"line_color", "40,116,166,255"}, {"line_width", "0.6"}, {"line_width_unit", "MM"}}},
	"ponding": {"fill", "SimpleFill", [][2]string{{"color", "46,134,193,128"}, {"outline_color", "46,134,193,255"},
		{"outline_width", "0.26"}, {"outline_width_unit", "MM"}, {"style", "solid"}}},
	"crossings": {"marker", "SimpleMarker", [][2]string{{"name", "diamond"}, {"color", "243,156,18,255"}, {"size", "2.4"}, {"size_unit", "MM"}}},
	"nodes":     {"marker", "SimpleMarker", [][2]string{{"name", "circle"}, {"color", "31,97,141,255"}, {"size", "2.8"}, {"size_unit", "MM"}}},
}

// qml is the look as the style text that desktop viewers keep in a
// layer_styles table.
func (l look) qml() string {
	s := `<!DOCTYPE qgis><qgis version="3.22" styleCategories="Symbology"><renderer-v2 type="singleSymbol" enableorderby="0" symbollevels="0">` +
		fmt.Sprintf(`<symbols><symbol type="%s" name="0" alpha="1" clip_to_extent="1"><layer class="%s" enabled="1" locked="0" pass="0">`, l.symbol, l.class)
	for _, p := range l.properties {
		s += fmt.Sprintf(`<prop k="%s" v="%s"/>`, p[0], p[1])
	}
	return s + `</layer></symbol></symbols></renderer-v2></qgis>`
}

// fillStyles adds the table of styles, one for each layer that has a look.
func fillStyles(ds *godal.Dataset, layers []Layer) error {
	names := []string{"f_table_catalog", "f_table_schema", "f_table_name", "f_geometry_column", "styleName",
		"styleQML", "styleSLD", "useAsDefault", "description", "owner", "ui", "update_time"}
	table := Layer{Name: "layer_styles"}
	for _, l := range layers {
		k, ok := looks[l.Name]
		if !ok {
			continue
		}
		values := []any{"", "", l.Name, "geom", l.Name, k.qml(), "", 1, "", "", nil, stamp}
		f := Feature{}
		for i, v := range values {
			f.Properties = append(f.Properties, Property{names[i], v})
		}
		table.Features = append(table.Features, f)
	}
	if len(table.Features) == 0 {
		return nil
	}
	out, err := ds.CreateLayer(table.Name, nil, godal.GTNone, columns(&table)...)
	if err != nil {
		return err
	}
	for _, f := range table.Features {
		if err := insert(out, f, nil, 1); err != nil {
			return err
		}
	}
	return nil
}
