package lawcheck

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"curbfall/io/units"
)

// pipe is one printed pipe; numbers that were not printed are NaN.
type pipe struct {
	id, role, from, to, nominal, material string
	up, down                              orb.Point // in grid metres, as drawn
	number                                map[string]float64
	diameter                              float64 // nominal, m
}

func (p *pipe) inside() float64      { return p.number["inside_diameter_m"] }
func (p *pipe) wall() float64        { return (p.number["outside_diameter_m"] - p.inside()) / 2 }
func (p *pipe) invertUp() float64    { return p.number["invert_up_m"] }
func (p *pipe) invertDown() float64  { return p.number["invert_down_m"] }
func (p *pipe) length() float64      { return length(p.up, p.down) }
func (p *pipe) at(t float64) float64 { return p.invertUp() + t*(p.invertDown()-p.invertUp()) }

// node is one printed node.
type node struct {
	id, kind, roof, outletType string
	at                         orb.Point
	number                     map[string]float64
}

func (n *node) inflow() bool {
	return n.kind == "downspout" || n.kind == "inlet" || n.kind == "channel_drain"
}

// summary is what of summary.json the law speaks of.
type summary struct {
	Status     string  `json:"status"`
	Verdict    string  `json:"verdict"`
	PlanLength float64 `json:"plan_length_m"`
	LeftOver   float64 `json:"left_over_lps"`
	Inflows    []struct {
		ID         string  `json:"id"`
		Kind       string  `json:"kind"`
		Status     string  `json:"status"`
		DesignFlow float64 `json:"design_flow_lps"`
	} `json:"inflows"`
	Protections []protection `json:"protections"`
	Limits      []struct {
		Name  string `json:"name"`
		Value any    `json:"value"`
		Unit  string `json:"unit"`
	} `json:"limits"`
}

// output is the folder as read.
type output struct {
	pipes   []*pipe
	nodes   []*node
	node    map[string]*node
	summary summary
}

// What the properties are: t text, n number, T and N may be null.
var (
	pipeProperties = map[string]byte{
		"id": 't', "role": 't', "from_node": 't', "to_node": 't', "length_m": 'n', "nominal_size": 't', "inside_diameter_m": 'n',
		"outside_diameter_m": 'n', "material": 't', "roughness_n": 'n', "invert_up_m": 'n', "invert_down_m": 'n', "slope_pct": 'n',
		"fall_m": 'n', "cover_min_m": 'n', "invert_depth_max_m": 'n', "design_flow_lps": 'n', "capacity_full_lps": 'n',
		"depth_ratio": 'N', "velocity_mps": 'N',
	}
	nodeProperties = map[string]byte{
		"id": 't', "kind": 't', "ground_m": 'n', "rim_m": 'N', "invert_m": 'N', "invert_depth_m": 'N', "station_m": 'n', "roof": 'T',
		"inflow_lps": 'N', "outlet_type": 'T', "gutter_m": 'N', "lid_m": 'N', "hgl_m": 'N', "freeboard_m": 'N',
	}
	roles = []string{"main", "lateral", "outlet"}
	kinds = []string{"downspout", "inlet", "channel_drain", "bend", "wye", "reducer", "cleanout", "sediment_trap", "grade_break", "outlet"}
)

// layer is a GeoJSON layer as printed.
type layer struct {
	Type     string          `json:"type"`
	CRS      json.RawMessage `json:"crs"`
	Features []struct {
		Type       string         `json:"type"`
		Properties map[string]any `json:"properties"`
		Geometry   struct {
			Type        string          `json:"type"`
			Coordinates json.RawMessage `json:"coordinates"`
		} `json:"geometry"`
	} `json:"features"`
}

// read reads the folder, reporting what breaks its form. The error is for a
// folder too broken to go on.
func (c *checker) read(dir string, m *mover) error {
	c.out = &output{node: map[string]*node{}}
	data, err := os.ReadFile(filepath.Join(dir, "summary.json"))
	if err != nil {
		return err
	}
	if err := json.Unmarshal(data, &c.out.summary); err != nil {
		return fmt.Errorf("summary.json: %w", err)
	}
	nodes, nodeAt, err := c.readLayer(dir, "nodes.geojson", "Point", m)
	if err != nil {
		return err
	}
	for k, f := range nodes.Features {
		n := &node{number: c.numbers(f.Properties, nodeProperties), at: orb.Point{math.NaN(), math.NaN()}}
		n.id, n.kind, n.roof, n.outletType = word(f.Properties["id"]), word(f.Properties["kind"]), word(f.Properties["roof"]), word(f.Properties["outlet_type"])
		if len(nodeAt[k]) == 1 {
			n.at = nodeAt[k][0]
		}
		if c.out.node[n.id] != nil {
			c.report(NodeIDs, n.id, math.NaN(), math.NaN(), math.NaN(), "two nodes have this id")
		}
		c.formOfNode(n)
		c.out.node[n.id] = n
		c.out.nodes = append(c.out.nodes, n)
	}
	pipes, pipeAt, err := c.readLayer(dir, "pipes.geojson", "LineString", m)
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for k, f := range pipes.Features {
		p := &pipe{number: c.numbers(f.Properties, pipeProperties)}
		p.id, p.role, p.from, p.to = word(f.Properties["id"]), word(f.Properties["role"]), word(f.Properties["from_node"]), word(f.Properties["to_node"])
		p.nominal, p.material = word(f.Properties["nominal_size"]), word(f.Properties["material"])
		if seen[p.id] {
			c.report(Form, p.id, math.NaN(), math.NaN(), math.NaN(), "two pipes have this id")
		}
		seen[p.id] = true
		c.shapeOfPipe(p, pipeAt[k])
		c.out.pipes = append(c.out.pipes, p)
	}
	return nil
}

// shapeOfPipe takes the line as drawn and settles what the words say.
func (c *checker) shapeOfPipe(p *pipe, line []orb.Point) {
	if len(line) < 2 {
		c.report(Geometry, p.id, math.NaN(), float64(len(line)), 2, "a line has two positions")
		p.up, p.down = orb.Point{math.NaN(), math.NaN()}, orb.Point{math.NaN(), math.NaN()}
		return
	}
	p.up, p.down = line[0], line[len(line)-1]
	for _, q := range line {
		if d := length(q, between(p.up, p.down, foot(q, p.up, p.down))); d > planTolerance {
			c.report(Geometry, p.id, math.NaN(), d, 0, "the line is not straight")
		}
	}
	if !slices.Contains(roles, p.role) {
		c.report(Form, p.id, math.NaN(), math.NaN(), math.NaN(), "role %q is none of %v", p.role, roles)
	}
	var err error
	if p.diameter, err = units.Parse(p.nominal, units.Length); err != nil {
		c.report(Form, p.id, math.NaN(), math.NaN(), math.NaN(), "nominal_size: %v", err)
		p.diameter = p.inside()
	}
}

// formOfNode checks what is null and what is not.
func (c *checker) formOfNode(n *node) {
	if !slices.Contains(kinds, n.kind) {
		c.report(Form, n.id, math.NaN(), math.NaN(), math.NaN(), "kind %q is none of %v", n.kind, kinds)
	}
	for _, e := range []struct {
		key     string
		applies bool
	}{
		{"inflow_lps", n.inflow()},
		{"rim_m", n.kind == "inlet"},
		{"lid_m", n.outletType == "emitter"},
		{"gutter_m", n.outletType == "curb_face"},
		{"hgl_m", true},
		{"freeboard_m", !math.IsNaN(n.number["rim_m"])},
	} {
		if e.key == "rim_m" && n.kind != "inlet" && (n.kind == "channel_drain" || n.kind == "sediment_trap") {
			continue // open or not, as built
		}
		if has := !math.IsNaN(n.number[e.key]); has != e.applies {
			c.report(Form, n.id, math.NaN(), n.number[e.key], math.NaN(), "%s is there: %v, but it applies: %v", e.key, has, e.applies)
		}
	}
	if free := n.number["rim_m"] - n.number["hgl_m"]; math.Abs(free-n.number["freeboard_m"]) > invertTolerance {
		c.report(Printed, n.id, math.NaN(), n.number["freeboard_m"], free, "freeboard_m is not rim_m less hgl_m")
	}
	if (n.kind == "outlet") != (n.outletType != "") {
		c.report(Form, n.id, math.NaN(), math.NaN(), math.NaN(), "a node of kind %q has outlet_type %q", n.kind, n.outletType)
	}
}

// numbers takes the numbers among the properties, NaN where null, and checks
// every property's type.
func (c *checker) numbers(properties map[string]any, want map[string]byte) map[string]float64 {
	id := word(properties["id"])
	out := map[string]float64{}
	for key, kind := range want {
		v, there := properties[key]
		x, isNumber := v.(float64)
		_, isText := v.(string)
		ok := there && (isNumber && (kind == 'n' || kind == 'N') || isText && (kind == 't' || kind == 'T') || v == nil && (kind == 'N' || kind == 'T'))
		if !ok {
			c.report(Form, id, math.NaN(), math.NaN(), math.NaN(), "property %s is %v (there: %v)", key, v, there)
		}
		if kind == 'n' || kind == 'N' {
			out[key] = math.NaN()
			if isNumber {
				out[key] = x
			}
		}
	}
	return out
}

// leastDecimals is how many decimals the law asks of coordinates.
const leastDecimals = 8

// readLayer reads a layer and moves its positions into grid metres.
func (c *checker) readLayer(dir, name, shape string, m *mover) (*layer, [][]orb.Point, error) {
	data, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		return nil, nil, err
	}
	var l layer
	if err := json.Unmarshal(data, &l); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	if l.Type != "FeatureCollection" || len(l.CRS) > 0 {
		c.report(Form, name, math.NaN(), math.NaN(), math.NaN(), "type %q, crs member %q; RFC 7946 has a FeatureCollection and no crs", l.Type, l.CRS)
	}
	finest, numbers := 0, 0
	var at [][]orb.Point
	for _, f := range l.Features {
		var list [][]json.Number
		raw := f.Geometry.Coordinates
		if shape == "Point" {
			raw = slices.Concat([]byte("["), raw, []byte("]"))
		}
		if f.Type != "Feature" || f.Geometry.Type != shape || json.Unmarshal(raw, &list) != nil {
			c.report(Form, word(f.Properties["id"]), math.NaN(), math.NaN(), math.NaN(), "%s holds a %s of %s", name, f.Type, f.Geometry.Type)
		}
		var moved []orb.Point
		for _, position := range list {
			q, decimals, err := c.position(word(f.Properties["id"]), position, m)
			if err != nil {
				return nil, nil, fmt.Errorf("%s: %w", name, err)
			}
			finest, numbers = max(finest, decimals), numbers+2
			moved = append(moved, q)
		}
		at = append(at, moved)
	}
	// One number may end in zeros that were left out; of many, one has none.
	if numbers >= 4 && finest < leastDecimals {
		c.report(Form, name, math.NaN(), float64(finest), leastDecimals, "no coordinate carries enough decimals")
	}
	return &l, at, nil
}

// position checks a longitude and latitude and moves it into grid metres.
func (c *checker) position(id string, position []json.Number, m *mover) (orb.Point, int, error) {
	if len(position) != 2 {
		c.report(Form, id, math.NaN(), float64(len(position)), 2, "a position of two numbers is wanted")
		return orb.Point{math.NaN(), math.NaN()}, 0, nil
	}
	decimals := 0
	var p orb.Point
	for k, number := range position {
		v, err := number.Float64()
		if err != nil {
			return p, 0, err
		}
		p[k] = v
		if _, after, ok := strings.Cut(number.String(), "."); ok {
			decimals = max(decimals, len(after))
		}
	}
	if math.Abs(p[0]) > 180 || math.Abs(p[1]) > 90 {
		c.report(Form, id, math.NaN(), math.Max(math.Abs(p[0]), math.Abs(p[1])), 180, "no longitude and latitude")
		return orb.Point{math.NaN(), math.NaN()}, decimals, nil
	}
	q, err := m.move(p)
	return q, decimals, err
}
