package constraint

import (
	"math"

	"github.com/paulmach/orb"
)

// Site is everything drawn on and round a lot, in site metres. A number that
// was not given is NaN; Given tells.
type Site struct {
	Lots          []Lot
	Roofs         []Roof
	Curbs         []Curb
	Downspouts    []Downspout
	Inlets        []Inlet
	ChannelDrains []ChannelDrain
	Outlets       []Outlet
	Paved         []Paved
	Trees         []Tree
	Utilities     []Utility
	KeepOuts      []KeepOut
	Easements     []Easement
	Openings      []Opening
	Culverts      []Culvert
}

// Given tells whether an optional number was given.
func Given(v float64) bool { return !math.IsNaN(v) }

// Lot is a parcel. Pipes stay inside the lot being designed and its frontage.
type Lot struct {
	ID   string
	Area orb.Polygon
}

// Roof is the drawn outline of a roof (its eaves).
type Roof struct {
	ID            string
	Outline       orb.Polygon
	RunoffCoeff   float64 // 0-1, or NaN
	FinishedFloor float64 // elevation m, or NaN
}

// CurbType is the shape of a street's edge.
type CurbType string

// The kinds of street edge.
const (
	VerticalCurb   CurbType = "vertical"
	RolledCurb     CurbType = "rolled"
	EdgeOfPavement CurbType = "edge_of_pavement"
)

// Side is a side of a line, seen along its direction.
type Side int

// The sides of a line. SideUnknown stands where none was given.
const (
	SideUnknown Side = iota
	Left
	Right
)

func (s Side) String() string { return [...]string{"unknown", "left", "right"}[s] }

// Curb is a line along the face of curb.
type Curb struct {
	ID          string
	Line        orb.LineString
	Type        CurbType
	TypeAssumed bool // no type was given: taken as vertical
	// Gutter is the gutter elevation, m: one for the whole curb, one per
	// vertex (linear between), or none.
	Gutter     []float64
	Height     float64 // m, or NaN: Limits.CurbHeight
	StreetSide Side
}

// Downspout is where a roof's water comes down.
type Downspout struct {
	ID      string
	At      orb.Point
	Roof    string  // id, "" where not given: the nearest roof
	Share   float64 // of that roof's area, or NaN: an equal part of what is left
	Assumed bool    // proposed by us
}

// Inlet is an area drain.
type Inlet struct {
	ID             string
	At             orb.Point
	Rim            float64 // elevation m, or NaN: at ground
	GrateOpenArea  float64 // m2, or NaN
	GratePerimeter float64 // m, or NaN
	Assumed        bool    // proposed by us
}

// ChannelDrain is a line of grate.
type ChannelDrain struct {
	ID   string
	Line orb.LineString
	Rim  float64 // elevation m, or NaN
}

// OutletType is how the system discharges.
type OutletType string

// The kinds of outlet.
const (
	CurbFace   OutletType = "curb_face"
	Emitter    OutletType = "emitter"
	Daylight   OutletType = "daylight"
	StormInlet OutletType = "storm_inlet"
)

// Outlet is a place to discharge; where any is given, water goes there alone.
type Outlet struct {
	ID     string
	At     orb.Point
	Type   OutletType
	Invert float64 // lowest invert allowed, elevation m, or NaN
}

// PavedKind is the kind of a hard surface.
type PavedKind string

// The kinds of hard surface.
const (
	Walk     PavedKind = "walk"
	Driveway PavedKind = "driveway"
	Patio    PavedKind = "patio"
)

// Paved is a hard surface.
type Paved struct {
	Gravel    bool // open to water: it sheds less, and slower, than a pavement
	ID        string
	Kind      PavedKind
	Area      orb.Polygon
	Thickness float64 // m, or NaN
	CoverMin  float64 // m, or NaN: the limit for its kind
}

// Tree is a trunk.
type Tree struct {
	ID            string
	At            orb.Point
	TrunkDiameter float64 // m; where none was given the assumed one
	Assumed       bool    // the diameter was assumed
}

// Utility is a buried line. At most one of Top and Depth is given; with
// neither its depth is unknown.
type Utility struct {
	ID              string
	Type            string
	Line            orb.LineString
	Top             float64 // elevation of its top m, or NaN
	Depth           float64 // ground to top m, or NaN
	OutsideDiameter float64 // m, or NaN: taken as nothing, and said
	Clearance       float64 // m, or NaN: Limits.UtilityClearance
}

// KeepOut is an area no pipe may enter.
type KeepOut struct {
	ID   string
	Area orb.Polygon
}

// Easement is an area with somebody else's rights.
type Easement struct {
	ID     string
	Area   orb.Polygon
	Forbid bool // no pipe may enter; else it is crossed and listed
}

// Opening is a door sill, vent or window well.
type Opening struct {
	ID        string
	At        orb.Point
	Elevation float64 // m, or NaN where Height is given
	Height    float64 // above ground m, or NaN
}

// Culvert is a line where water passes what the raster shows as a wall.
type Culvert struct {
	ID   string
	Line orb.LineString
}
