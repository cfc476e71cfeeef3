package criteria

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"curbfall/io/units"
	"curbfall/routing/constraint"
)

// farFetched is how many times its default a value may be before it is taken
// for one in another unit: 12 typed for 12 in is 39 times as much as meant, a
// bare 1 for 1 % a hundred times. Common practice, no source.
const farFetched = 20

// leastPrice is that of lawn: the search counts on no metre being cheaper.
const leastPrice = 1

// prices are the keys that say what a metre costs beside one of lawn.
var prices = []string{"limits.walk_factor", "limits.driveway_factor", "limits.root_zone_price_factor", "limits.wall_strip_factor"}

// aboveZero are the keys that something is divided by, or without which no
// water moves.
var aboveZero = []string{
	"limits.slope_min", "limits.slope_min_large", "limits.slope_min_single_wall", "limits.depth_max", "limits.outlet_size_max",
	"limits.outlets_max", "limits.outlet_zone", "limits.cleanout_spacing", "limits.downspout_roof_area", "limits.trunk_diameter_assumed", "checks.trunk_diameter_max", "limits.depth_ratio_max",
	"storm.intensity", "storm.duration", "storm.return_period", "storm.check_return_period", "pipes.size_min_main", "inlet.grate_open_area", "inlet.perimeter", "outlet.gutter.roughness", "outlet.gutter.cross_slope",
}

// plausible refuses a value that cannot be meant.
func (s *setting) plausible(written string, v float64) error {
	switch {
	case v == 0 && isCost(s.key):
		return fmt.Errorf("%s is too little: it must be above 0", written)
	case v == 0 && (slices.Contains(aboveZero, s.key) || strings.HasPrefix(s.key, "pipes.")):
		return fmt.Errorf("%s is too little: it must be above 0; the default is %s", written, s.value)
	case slices.Contains(prices, s.key) && v < leastPrice:
		return fmt.Errorf("%s is less than %d, the price of lawn; write %d or more", written, leastPrice, leastPrice)
	case s.dim == units.Count && v != math.Trunc(v):
		return fmt.Errorf("%s is no whole number; write %g or %g", written, math.Floor(v), math.Ceil(v))
	case s.dim == units.Angle && v > math.Pi/2:
		return fmt.Errorf("%s is more than 90 deg; a plain number is in radians: write %q for the default", written, s.value)
	}
	if most := s.most(); v > most {
		return fmt.Errorf("%s is more than %g, the most it can be", written, most)
	}
	usual, err := units.Parse(s.value, s.dim)
	if err != nil || usual == 0 || v <= farFetched*usual {
		return nil // the default of some keys is a word
	}
	switch s.dim {
	case units.Length, units.Slope, units.Intensity, units.Area, units.Velocity, units.TrunkRatio:
		if hasUnit(written) {
			return fmt.Errorf("%s is more than %s, which is %d times the default, %s; check the number and its unit", written, s.times(farFetched), farFetched, s.value)
		}
		return fmt.Errorf("%s is more than %d times the default, %s; a plain number is in %s: write the unit behind it", written, farFetched, s.value, plain(s.dim))
	}
	return nil
}

// hasUnit tells whether more than a number is written.
func hasUnit(written string) bool { return strings.Trim(written, "0123456789 .,/+-_eE") != "" }

// times is a multiple of the default, as the default is written.
func (s *setting) times(n float64) string {
	number, unit, _ := strings.Cut(s.value, " ")
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return fmt.Sprintf("%g times %s", n, s.value)
	}
	return strings.TrimSpace(fmt.Sprintf("%g %s", n*v, unit))
}

// plain is the unit of a number without one.
func plain(d units.Dimension) string {
	switch d {
	case units.Length:
		return "metres"
	case units.Slope:
		return "rise over run"
	case units.Area:
		return "square metres"
	case units.TrunkRatio:
		return "trunk diameters"
	}
	return "m/s"
}

// most is the largest value a key can have: a share of a whole, or a Manning n
// of a pipe.
func (s *setting) most() float64 {
	switch {
	case strings.HasPrefix(s.key, "storm.runoff_coeff."), s.key == "limits.depth_ratio_max", s.key == "storm.grate_clogged", s.key == "outlet.emitter.bed_porosity":
		return 1
	case strings.HasSuffix(s.key, ".roughness"):
		return roughest
	}
	return math.Inf(1)
}

// roughest is above the Manning n of any pipe sold: corrugated ones reach
// 0.025 (Caltrans Highway Design Manual, Table 851.2).
const roughest = 0.1

// consistent refuses values that contradict each other, at the line of the one
// the user set.
func consistent(file string, s map[string]*setting) error {
	for i := range defaults {
		outside := s[defaults[i].key]
		base, ok := strings.CutSuffix(outside.key, ".outside_diameter")
		if !ok {
			continue
		}
		if inside := s[base+".inside_diameter"]; inside.number >= outside.number {
			return &Error{file, max(inside.line, outside.line), fmt.Sprintf("%s: inside diameter %.4f m is not less than the outside one, %.4f m; set both from the maker's sheet", base, inside.number, outside.number)}
		}
	}
	if err := wholeCatalogue(file, s); err != nil {
		return err
	}
	if err := allPriced(file, s); err != nil {
		return err
	}
	if table, rain := s["storm.table"], s["storm.intensity"]; table.word != noTable && rain.given {
		return &Error{file, max(table.line, rain.line), fmt.Sprintf("storm.intensity and storm.table (%s) both say how hard it rains; keep one", table.word)}
	}
	if c := s["storm.plumbing_convention"]; c.given {
		if _, err := readConvention(c.word); err != nil {
			return &Error{file, c.line, c.key + ": " + err.Error()}
		}
	}
	if f := s["storm.frequency_factor"]; f.given {
		if _, err := readFrequency(f.word); err != nil {
			return &Error{file, f.line, f.key + ": " + err.Error()}
		}
	}
	depth := s["limits.depth_max"]
	for _, key := range []string{"limits.cover_min", "limits.cover_min_walk", "limits.cover_min_driveway"} {
		if cover := s[key]; cover.number >= depth.number {
			return &Error{file, max(cover.line, depth.line), fmt.Sprintf("%s %.3f m leaves no room above limits.depth_max %.3f m (ground to invert); lower it or raise depth_max", key, cover.number, depth.number)}
		}
	}
	return nil
}

// wholeCatalogue refuses sizes with a hole, sizes that are not in order inside, and
// limits that leave none of them.
func wholeCatalogue(file string, s map[string]*setting) error {
	list := s["pipes.sizes"]
	sizes, err := sizesOf(list.word)
	if err != nil {
		return &Error{file, list.line, list.key + ": " + err.Error()}
	}
	smallest, largest := sizes[0], sizes[len(sizes)-1]
	main, hole := s["pipes.size_min_main"], s["limits.outlet_size_max"]
	switch {
	case main.number > largest.inches*metresPerInch+constraint.Tolerance:
		return &Error{file, max(main.line, list.line), fmt.Sprintf("pipes.size_min_main %.3f m is more than the largest of pipes.sizes, %s in; lower it, or put in larger sizes", main.number, largest.label)}
	case hole.number < smallest.inches*metresPerInch-constraint.Tolerance:
		return &Error{file, max(hole.line, list.line), fmt.Sprintf("limits.outlet_size_max %.3f m is less than the smallest of pipes.sizes, %s in: no pipe fits the hole through the curb; raise it, or put in smaller sizes", hole.number, smallest.label)}
	}
	for _, family := range s["pipes.default_family"].words {
		var before *setting
		for _, n := range nominals {
			inside := s["pipes."+family+"."+n.label+".inside_diameter"]
			if inside == nil {
				continue
			}
			if before != nil && inside.number <= before.number {
				return &Error{file, max(inside.line, before.line), fmt.Sprintf("%s %.4f m is not more than that of the size below, %.4f m; set both from the maker's sheet", inside.key, inside.number, before.number)}
			}
			before = inside
		}
	}
	return nil
}

// remarks are what the user should hear about values that are taken.
func remarks(s map[string]*setting) []string {
	var notes []string
	rain := s["storm.intensity"]
	if inches := rain.number * 3600 / metresPerInch; rain.given && (inches < 1 || inches > 15) {
		notes = append(notes, fmt.Sprintf("criteria: storm.intensity %.2f in/h is outside 1 to 15 in/h, where design storms lie: check it", inches))
	}
	laid := s["pipes.default_family"].word
	for _, family := range []string{"pvc_sdr35", "pvc_d2729", "pe_dual_wall", "pe_single_wall"} {
		if family == laid {
			continue
		}
		for i := range defaults {
			if s[defaults[i].key].given && strings.HasPrefix(defaults[i].key, "pipes."+family+".") {
				notes = append(notes, fmt.Sprintf("criteria: pipes.%s is set and not laid; pipes.default_family is %s", family, laid))
				break
			}
		}
	}
	return notes
}
