package lotrun

import (
	"curbfall/io/criteria"
	"curbfall/routing/constraint"
	"curbfall/terrain/grid"
)

// standing is the water over ground by the shipped criteria.
func standing(ground *grid.Grid, site *constraint.Site) *water {
	return waterOver(ground, site, criteria.Default().Limits.StreetSideStep)
}
