package surface

import "curbfall/terrain/grid"

// What tells a surface model, with plants, cars and roofs in it, from bare ground.
const (
	// Repose is the slope above which soil does not stand by itself: 1:1. What is
	// steeper is a wall or a rock, or no ground at all.
	//
	// Source: 29 CFR 1926 Subpart P Appendix B, table B-1, type B soil (from memory).
	Repose = 1.0
	// WalledShare is the share of cells steeper than Repose that walls explain: a
	// wall shows over two cells at most, so that 25 m of it on a lot of 1,200 m2
	// come to this in cells of 0.25 m. Bare ground measured on four rasters has
	// 0.00002 at most; half a tree on such a lot has more.
	WalledShare = 0.01
)

// steepReach is how far to either side a slope is looked at at least, m, once
// more where cells are finer: across walls of houses that would show over two
// cells alone, and too few of them.
const steepReach = 0.25

// SteepShare returns the share of cells steeper than Repose, by the difference
// of their neighbours to either side, among those that have all four; or by that
// of the cells steepReach away, if it is more. 0 where none has.
//
// Cost: O(n).
func SteepShare(g *grid.Grid) float64 {
	share := steepShare(g, 1)
	if far := int(steepReach / g.CellMax()); far > 1 {
		share = max(share, steepShare(g, far))
	}
	return share
}

// steepShare looks so many cells to either side.
func steepShare(g *grid.Grid, far int) float64 {
	steep, known := 0, 0
	across, down := g.MetresPerZ/(2*float64(far)*g.CellX), g.MetresPerZ/(2*float64(far)*g.CellY)
	for r := far; r < g.Rows-far; r++ {
		for i := g.Index(far, r); i < g.Index(g.Cols-far, r); i++ {
			x := (float64(g.Z[i+far]) - float64(g.Z[i-far])) * across
			y := (float64(g.Z[i+far*g.Cols]) - float64(g.Z[i-far*g.Cols])) * down
			switch square := x*x + y*y; {
			case square > Repose*Repose:
				steep++
				known++
			case square == square: // no void among them
				known++
			}
		}
	}
	if known == 0 {
		return 0
	}
	return float64(steep) / float64(known)
}
