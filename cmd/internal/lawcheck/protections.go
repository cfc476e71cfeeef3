package lawcheck

import (
	"math"
	"strings"

	"github.com/paulmach/orb"
)

// protection is a stretch the summary lists for its shallow cover, stations
// from the outlet.
type protection struct {
	Pipe  string   `json:"pipe"`
	From  *float64 `json:"from_m"`
	To    *float64 `json:"to_m"`
	Cover *float64 `json:"cover_m"`
	Says  string   `json:"says"`
}

// remedyWords are what protects a pipe with too little over it.
var remedyWords = []string{"encase", "sleeve"}

// shallow proves that all cover under cover_preferred is listed with the least
// of it, and under the least cover with the protection it needs. What is
// missed at one step alone may lie between two looks of whoever listed it.
func (c *checker) shallow(p *pipe) {
	var listed []protection
	for _, l := range c.out.summary.Protections {
		switch {
		case l.Pipe != p.id:
		case l.From == nil || l.To == nil || l.Cover == nil || *l.From > *l.To:
			c.report(Form, p.id, math.NaN(), math.NaN(), math.NaN(), "a protection without from_m, to_m or cover_m, or out of order")
		default:
			listed = append(listed, l)
		}
	}
	unlisted, unprotected := 0, 0
	c.walk(p, func(q orb.Point, t, station float64) {
		cover := c.z(p, q) - p.at(t) - p.wall() - p.inside()
		preferred, least := c.limit("cover_preferred"), c.coverAt(q)
		known, kept := false, false
		for _, l := range listed {
			if station >= *l.From-step && station <= *l.To+step && *l.Cover <= cover+coverTolerance {
				known = true
				kept = kept || saysOneOf(l.Says, remedyWords)
			}
		}
		if unlisted++; known || !(cover < preferred-coverTolerance) {
			unlisted = 0
		}
		if unprotected++; kept || !(cover < least-coverTolerance) {
			unprotected = 0
		}
		if unlisted > 1 {
			c.along(Protections, p, "", preferred-cover, station, cover, preferred, "less cover than preferred, and not listed")
		}
		if unprotected > 1 {
			c.along(Protections, p, "for its least cover", least-cover, station, cover, least, "listed without a protection")
		}
	})
}

func saysOneOf(text string, words []string) bool {
	for _, w := range words {
		if strings.Contains(strings.ToLower(text), w) {
			return true
		}
	}
	return false
}
