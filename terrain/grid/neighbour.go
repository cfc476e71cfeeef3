package grid

// Step is a move to one of the eight neighbours of a cell.
type Step struct{ Col, Row int }

// Steps lists the eight neighbours clockwise from east: E SE S SW W NW N NE.
// Wherever several neighbours tie, the first in this order wins.
var Steps = [8]Step{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}}

// DrainsOut tells whether the cell is a seed of every drainage computation: it
// lies on the grid's edge or has a void among its eight neighbours. Such a
// cell drains straight out.
func (g *Grid) DrainsOut(col, row int) bool {
	if col == 0 || row == 0 || col == g.Cols-1 || row == g.Rows-1 {
		return true
	}
	for _, s := range Steps {
		if g.Void(g.Index(col+s.Col, row+s.Row)) {
			return true
		}
	}
	return false
}
