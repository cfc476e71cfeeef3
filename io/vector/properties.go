package vector

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"curbfall/io/units"
)

// reader takes the properties of one feature and remembers which were known.
type reader struct {
	*feature
	foot float64 // the raster's foot, m: for elevations ending _ft
	used map[string]bool
	err  error
}

func newReader(f *feature, foot float64) *reader {
	return &reader{feature: f, foot: foot, used: map[string]bool{"kind": true, "id": true, "source": true}}
}

func (r *reader) fail(format string, args ...any) {
	if r.err == nil {
		r.err = fmt.Errorf("%s: "+format, append([]any{r.name()}, args...)...)
	}
}

// number returns a number as written, NaN where it is not there.
func (r *reader) number(key string) float64 {
	v, ok := r.properties[key]
	if !ok {
		return math.NaN()
	}
	r.used[key] = true
	if v == nil {
		return math.NaN()
	}
	x, ok := v.(float64)
	if !ok {
		r.fail("%s is %v, want a number", key, quote(v))
		return math.NaN()
	}
	return x
}

// quote is a property's value as JSON, cut where it is long.
func quote(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return brief(fmt.Sprint(v))
	}
	return brief(string(text))
}

// suffixes turn a key's ending into metres per unit.
var suffixes = []struct {
	ending string
	metres float64
}{{"_in", 0.0254}, {"_ft", 0.3048}, {"_mm", 0.001}}

// scaled returns a number by its key or the key with _in, _ft or _mm, each
// unit raised to a power; NaN where none is there. It may not be negative, nor
// more than most, where that is above 0.
func (r *reader) scaled(key string, power int, most float64) float64 {
	v := r.number(key)
	for _, s := range suffixes {
		if w := r.number(key + s.ending); !math.IsNaN(w) {
			if !math.IsNaN(v) {
				r.fail("%s is given twice, once with a unit; keep one", key)
			}
			v = w * math.Pow(s.metres, float64(power))
		}
	}
	if v < 0 {
		r.fail("%s, below 0; it starts at 0", r.written(key))
	}
	if most > 0 && v > most {
		r.fail("%s, more than %g %s; %s", r.written(key), most, []string{"", "m", "m2"}[power], r.hint(key, most, power))
	}
	return v
}

// believed is the most a length (m) or an area (m2) is taken for what was meant:
// more is another unit's number, as a bare 6 for a curb of 6 in. Common practice,
// no source. That of a trunk is the criteria's.
var believed = map[string]float64{
	"curb_height":      1,
	"outside_diameter": 1.5,
	"clearance":        2,
	"depth":            10, // of a deep sewer
	"thickness":        1,
	"cover_min":        2,
	"height":           10, // of an opening in an upper floor
	"perimeter":        20,
	"grate_open_area":  5,
}

// hint says which unit a number without one may have been meant in.
func (r *reader) hint(key string, most float64, power int) string {
	v, _ := r.properties[key].(float64)
	for _, s := range []struct {
		unit, ending string
		metres       float64
	}{{"inches", "_in", 0.0254}, {"millimetres", "_mm", 0.001}} {
		if v > 0 && v*math.Pow(s.metres, float64(power)) <= most {
			if power == 2 {
				s.unit = "square " + s.unit
			}
			return fmt.Sprintf("if it is in %s write %s: %s", s.unit, key+s.ending, quote(v))
		}
	}
	return "check the number"
}

// length returns a length in metres.
func (r *reader) length(key string) float64 { return r.lengthUpTo(key, believed[key]) }

// lengthUpTo is length with its own most that is believed.
func (r *reader) lengthUpTo(key string, most float64) float64 { return r.scaled(key, 1, most) }

// area returns an area in square metres; with a unit's ending, in its square.
func (r *reader) area(key string) float64 { return r.scaled(key, 2, believed[key]) }

// written says a number as the file has it: under which key, and how much.
func (r *reader) written(key string) string {
	for _, s := range suffixes {
		if v := r.properties[key+s.ending]; v != nil {
			return fmt.Sprintf("%s is %s", key+s.ending, quote(v))
		}
	}
	return fmt.Sprintf("%s is %s", key, quote(r.properties[key]))
}

// elevation is a level in metres; one ending _ft is in the raster's foot.
func (r *reader) elevation(key string) float64 {
	v := r.number(key)
	if w := r.number(key + "_ft"); !math.IsNaN(w) {
		if !math.IsNaN(v) {
			r.fail("%s is given twice, once in feet; keep one", key)
		}
		v = w * r.foot
	}
	return v
}

// share is a number from 0 to 1.
func (r *reader) share(key string) float64 {
	v := r.number(key)
	if v < 0 || v > 1 {
		r.fail("%s is %g, want 0 to 1", key, v)
	}
	return v
}

// word returns one of the allowed words, "" where it is not there.
func (r *reader) word(key string, allowed ...string) string {
	v, ok := r.properties[key]
	if !ok || v == nil {
		return ""
	}
	r.used[key] = true
	s, ok := v.(string)
	if x, isNumber := v.(float64); isNumber && len(allowed) == 0 {
		s, ok = text(x), true // an id written as a number
	}
	if !ok && len(allowed) == 0 {
		r.fail("%s is %s, want a text", key, quote(v))
		return ""
	}
	if ok && hidden(s) {
		r.fail("%s has a control character in it, such as a line break; take it out", key)
		return ""
	}
	if !ok || len(allowed) > 0 && !slices.Contains(allowed, s) {
		r.fail("%s is %s, want %s", key, quote(v), strings.Join(allowed, ", "))
		return ""
	}
	return s
}

// elevations returns one level or one a vertex.
func (r *reader) elevations(key string, vertices int) []float64 {
	feet, factor := key+"_ft", 1.0
	r.used[key], r.used[feet] = true, true
	if r.properties[feet] != nil {
		if r.properties[key] != nil {
			r.fail("%s is given twice, once in feet; keep one", key)
		}
		key, factor = feet, r.foot
	}
	v := r.properties[key]
	if v == nil {
		return nil
	}
	if x, ok := v.(float64); ok {
		return []float64{x * factor}
	}
	list, ok := v.([]any)
	if !ok {
		r.fail("%s is %s, want a number or a list of %d, one for each vertex", key, quote(v), vertices)
		return nil
	}
	if len(list) != vertices {
		r.fail("%s has %d values for %d vertices; give one for each vertex, or one number", key, len(list), vertices)
		return nil
	}
	var out []float64
	for _, e := range list {
		x, ok := e.(float64)
		if !ok {
			r.fail("%s holds %v, want numbers", key, quote(e))
			return nil
		}
		out = append(out, x*factor)
	}
	return out
}

// unknown lists the properties nobody asked for, sorted.
func (r *reader) unknown() []string {
	var list []string
	for k := range r.properties {
		if !r.used[k] {
			list = append(list, k)
		}
	}
	sort.Strings(list)
	return list
}

// footOf is the foot a raster's elevations are in; the international one where
// they are in metres.
func footOf(metresPerZ float64) float64 {
	if u, ok := units.UnitOfFactor(metresPerZ); ok && u.Metres() > 0.3 && u.Metres() < 0.31 {
		return u.Metres()
	}
	return 0.3048
}
