package hydraulics

import "math"

// Standing is water that stays in pipes below the lid of an emitter.
type Standing struct {
	Length float64 // plan length of pipe with water in it, m
	Volume float64 // m3
}

// StandingWater returns what stands in a tree of reaches below a level, their
// flows aside: along each, from its lower end to where its invert passes the
// level.
func StandingWater(reaches []Reach, level float64) Standing {
	var sum Standing
	for k := range reaches {
		r := &reaches[k]
		low, high := level-r.InvertDown, level-r.InvertUp // depths at the ends
		switch {
		case low <= 0:
			continue
		case low == high:
			sum.Length += r.Length
			sum.Volume += r.Length * SegmentAt(r.Diameter, low).Area
			continue
		}
		perDepth := r.Length / (low - high)
		sum.Length += perDepth * (low - math.Max(high, 0))
		sum.Volume += perDepth * (hoof(r.Diameter, low) - hoof(r.Diameter, high))
	}
	return sum
}

// hoof returns the integral of the wetted area over depth from 0 to depth, m3:
// the water in a pipe on slope 1, the cylinder's hoof and the full pipe beyond.
func hoof(diameter, depth float64) float64 {
	if depth <= 0 {
		return 0
	}
	r := diameter / 2
	full := math.Max(depth-diameter, 0)
	phi := 2 * math.Asin(math.Sqrt(math.Min(depth/diameter, 1))) // half the angle at the centre
	sin, cos := math.Sincos(phi)
	return r*r*r*(sin-sin*sin*sin/3-phi*cos) + full*fullArea*square(diameter)
}

// EmitterTailwater returns the level at which an emitter lets a flow out over its
// lid, an elevation: the lid's seat is a weir all round, perimeter m long.
func EmitterTailwater(lid, perimeter, flow float64) float64 {
	mustBePositive(perimeter)
	mustNotBeNegative(flow)
	return lid + math.Pow(flow/(WeirCoeff*perimeter), 2.0/3)
}

// Weep is the hole in an emitter's base.
type Weep struct {
	Area      float64 // m2
	Elevation float64
}

// StoneBed is the stone round an emitter's base, into which the weep drains.
type StoneBed struct {
	Area     float64 // of the soil under it, m2
	Depth    float64 // m
	Porosity float64 // share that is pores
}

// Pores is the water the bed holds, m3.
func (b StoneBed) Pores() float64 { return b.Area * b.Depth * b.Porosity }

// drainSlices cut the falling level; they crowd at the bottom, where the head on
// the weep vanishes. Twice as many change a time by under 0.1 %.
const drainSlices = 400

// DrainTime returns how long, in s, the water standing below level takes to fall
// to the weep: as fast as the weep lets it into the bed's pores, dry at first,
// and once they are full no faster than the soil under the bed takes it at
// soilRate, m/s. What the soil takes meanwhile is not counted. left is what
// stands below the weep and does not drain, m3. The time is +Inf where water
// must leave and nothing takes it.
func DrainTime(reaches []Reach, level float64, weep Weep, bed StoneBed, soilRate float64) (time, left float64) {
	mustNotBeNegative(weep.Area, bed.Area, bed.Depth, bed.Porosity, soilRate)
	left = StandingWater(reaches, weep.Elevation).Volume
	if level <= weep.Elevation {
		return 0, StandingWater(reaches, level).Volume
	}
	soil := soilRate * bed.Area
	start := StandingWater(reaches, level).Volume
	above := start
	for k := drainSlices; k > 0; k-- {
		head := (level - weep.Elevation) * square(float64(k-1)/drainSlices)
		below := left
		if k > 1 {
			below = StandingWater(reaches, weep.Elevation+head).Volume
		}
		middle := (level - weep.Elevation) * square((float64(k)-0.5)/drainSlices)
		rate := OrificeFlow(OrificeCoeff, weep.Area, middle)
		quick := math.Min(above-below, math.Max(0, bed.Pores()-(start-above)))
		slow := above - below - quick
		if quick > 0 {
			time += quick / rate
		}
		if slow > 0 {
			time += slow / math.Min(rate, soil)
		}
		above = below
	}
	return time, left
}

// StoneBedArea returns the bed that drains a volume within a time, m2, were the
// weep no limit: what its pores do not hold, the soil takes meanwhile. Porosity
// times depth and soilRate may not both be 0.
func StoneBedArea(volume, within, depth, porosity, soilRate float64) float64 {
	mustNotBeNegative(volume, within, depth, porosity, soilRate)
	takes := depth*porosity + soilRate*within
	mustBePositive(takes)
	return volume / takes
}
