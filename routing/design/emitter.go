package design

import (
	"fmt"
	"math"

	"curbfall/routing/hydraulics"
)

// EmitterBase is what lets the water out that stands below an emitter's lid.
type EmitterBase struct {
	Weep     float64 // diameter of the hole at the invert, m
	BedArea  float64 // of the soil under the stone, m2
	BedDepth float64 // of the stone, m
	Porosity float64 // share of the stone that is pores
	SoilRate float64 // what the soil takes, m/s
}

// bed is the stone with an area of soil under it, m2.
func (b EmitterBase) bed(area float64) hydraulics.StoneBed {
	return hydraulics.StoneBed{Area: area, Depth: b.BedDepth, Porosity: b.Porosity}
}

const (
	secondsPerHour = 3600
	metresPerInch  = 0.0254
)

// notedStanding notes what stays in the pipes below an emitter's lid after each
// storm, and how long.
func (l *layer) notedStanding(w *pipework, reaches []hydraulics.Reach, k int) {
	outlet, b := &w.Nodes[w.Pipes[k].To], l.criteria.Base
	behind := w.draining(reaches, w.Pipes[k].To)
	standing := hydraulics.StandingWater(behind, outlet.Lid)
	weep := hydraulics.Weep{Area: math.Pi / 4 * b.Weep * b.Weep, Elevation: outlet.Invert}
	time := func(area float64) float64 {
		t, _ := hydraulics.DrainTime(behind, outlet.Lid, weep, b.bed(area), b.SoilRate)
		return t
	}
	stands, most := time(b.BedArea), l.criteria.Limits.StandingWaterMax
	if math.IsInf(stands, 1) {
		l.note("%s: %.1f m of pipe stand with %.3f m3 of water below the lid after each storm, and nothing drains it", outlet.ID, standing.Length, standing.Volume)
		return
	}
	l.note("%s: %.1f m of pipe stand with %.3f m3 of water below the lid after each storm; through the weep and a peastone bed of %.2f m2, %.2f m deep, it is gone in %.1f h, the soil taking %.2g mm/h or %.2g in/h (outlet.emitter.soil_rate)",
		outlet.ID, standing.Length, standing.Volume, b.BedArea, b.BedDepth, stands/secondsPerHour, b.SoilRate*1000*secondsPerHour, b.SoilRate/metresPerInch*secondsPerHour)
	if stands > most {
		l.note("%s: water stands longer than %.0f h, standing_water_hours_max: mosquitoes, ice; %s", outlet.ID, most/secondsPerHour, b.remedy(standing.Volume, most, time))
	}
}

// bedSlack is how exactly a bed is found, m2: it is printed to a tenth.
const bedSlack = 0.01

// remedy says what drains the water standing below a lid within a time, s; time
// is how long it takes with a bed of an area. The largest bed of use holds all of
// it in its pores.
func (b EmitterBase) remedy(volume, most float64, time func(area float64) float64) string {
	const larger = "give it a larger weep"
	if b.BedDepth*b.Porosity == 0 {
		return larger + " and a stone bed"
	}
	lo, hi := b.BedArea, math.Max(b.BedArea, volume/(b.BedDepth*b.Porosity))
	if time(hi) > most {
		return larger
	}
	for hi-lo > bedSlack {
		if mid := (lo + hi) / 2; time(mid) <= most {
			hi = mid
		} else {
			lo = mid
		}
	}
	return fmt.Sprintf("a peastone bed of %.1f m2, %.2f m deep, drains it in time", math.Ceil(hi*10)/10, b.BedDepth)
}

// notedSetbacks notes what an emitter stands too near to.
func (l *layer) notedSetbacks(w *pipework, k int) {
	outlet := &w.Nodes[w.Pipes[k].To]
	for _, n := range l.law.EmitterNear(outlet.At) {
		l.note("%s: the emitter stands %.2f m from the %s %s, less than %s %.2f m: move it, or ask the authority", outlet.ID, down(n.Away, centimetre), n.What, n.ID, n.Rule, n.Limit)
	}
}
