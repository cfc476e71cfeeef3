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

// SteepShare returns the share of cells steeper than Repose, by the difference
// of their neighbours to either side, among those that have all four; 0 where
// none has.
//
// Cost: O(n).
func SteepShare(g *grid.Grid) float64 {
	steep, known := 0, 0
	across, down := g.MetresPerZ/(2*g.CellX), g.MetresPerZ/(2*g.CellY)
	for r := 1; r < g.Rows-1; r++ {
		for i := g.Index(1, r); i < g.Index(g.Cols-1, r); i++ {
			x := (float64(g.Z[i+1]) - float64(g.Z[i-1])) * across
			y := (float64(g.Z[i+g.Cols]) - float64(g.Z[i-g.Cols])) * down
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
