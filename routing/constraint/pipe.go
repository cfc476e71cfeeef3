package constraint

// Size is one pipe that can be bought.
type Size struct {
	Family    string  // "pvc_sdr35"
	Material  string  // as a crew says it: "SDR 35"
	Nominal   string  // trade label: "4 in"
	Diameter  float64 // nominal diameter, m: only to rank sizes
	Inside    float64 // inside diameter, m
	Outside   float64 // outside diameter, m
	Roughness float64 // Manning n
}

// Wall is the wall thickness in metres.
func (s Size) Wall() float64 { return (s.Outside - s.Inside) / 2 }

// Rise is the height from the invert to the outside top, m.
func (s Size) Rise() float64 { return s.Inside + s.Wall() }

// Bore is what is laid for one nominal size: the default family in lawn, the
// stronger one under hard surfaces and for the outlet pipe to a curb face.
type Bore struct {
	Nominal  string
	Diameter float64 // nominal, m
	Lawn     Size
	Hard     Size // under walk, patio and driveway
	Outlet   Size // the outlet pipe
}

// Catalogue lists the bores a design may use, smallest first.
type Catalogue struct {
	Bores []Bore
	// MainMin is the smallest nominal diameter of a pipe that carries more than
	// one downspout or any area drain, m; the curb hole may be smaller.
	MainMin float64
}
