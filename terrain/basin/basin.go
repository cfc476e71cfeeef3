// Package basin parts a surface into the catchments of its pits and finds the
// saddles over which water passes from one to the next.
//
//	\    /\        /     two pits, 2 and 3; the saddle between them is the
//	 \__/  \__/\__/      lowest cell over which 2 reaches 3
//	  2      3
package basin

import (
	"bytes"
	"slices"

	"curbfall/terrain/flow"
	"curbfall/terrain/grid"
)

// The numbers a cell may carry beside those of pits, which start at First.
const (
	None    = 0 // void
	Outside = 1 // its water leaves the grid
	First   = 2
)

// Labels names for each cell the pit its water comes to.
type Labels struct {
	Of   []uint32 // len Cols*Rows: None, Outside, or a pit's number
	Pits []uint32 // the cell of each pit, ascending; that of number n is Pits[n-First]
}

// Offsets returns how far in Grid.Z each direction code leads; 0 for codes that
// lead nowhere.
func Offsets(cols int) (step [256]int) {
	for k, s := range grid.Steps {
		step[1<<k] = s.Row*cols + s.Col
	}
	return step
}

// away marks a label as the place in a band's list of cells whose water leaves
// the band; none is left once Follow returns.
const away = 1 << 31

// Follow numbers the pits (flow.Pit) of a field of directions in the order of
// their cells and gives every cell the number of the pit it drains to. The
// directions must not lead in a circle nor off the grid. The answer does not
// depend on the number of cores.
//
// Cost: O(n), four bytes a cell.
func Follow(dir []uint8, cols int) *Labels { return FollowInto(make([]uint32, len(dir)), dir, cols) }

// FollowInto is Follow with its labels in a list of zeros, one a cell, that the
// caller has.
func FollowInto(of []uint32, dir []uint8, cols int) *Labels {
	l := &Labels{Of: of}
	if len(dir) == 0 {
		return l
	}
	step := Offsets(cols)
	bands := grid.Bands(len(dir) / cols)
	pits := make([][]uint32, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		lo, hi := b.First*cols, b.End*cols
		pits[k] = make([]uint32, 0, bytes.Count(dir[lo:hi], []byte{flow.Pit}))
		for i := range flow.Pits(dir, lo, hi) {
			pits[k] = append(pits[k], uint32(i))
		}
	})
	first := make([]uint32, len(bands))
	for k := range bands {
		first[k] = uint32(First + len(l.Pits))
		l.Pits = append(slices.Grow(l.Pits, len(pits[k])), pits[k]...)
	}
	exits := make([][]uint32, len(bands))
	grid.OnBands(bands, func(k int, b grid.Band) {
		for n, i := range pits[k] {
			l.Of[i] = first[k] + uint32(n)
		}
		exits[k] = follow(dir, l.Of, &step, b.First*cols, b.End*cols)
	})
	if len(bands) > 1 {
		l.join(bands, cols, exits)
	}
	return l
}

// follow labels the cells from lo to hi and returns those outside that range
// to which ways lead, one an away label.
func follow(dir []uint8, of []uint32, step *[256]int, lo, hi int) (exits []uint32) {
	for i := lo; i < hi; i++ {
		if of[i] != None || dir[i] == flow.Void {
			continue
		}
		j, label := i, uint32(None)
		for label == None {
			if dir[j] == flow.Out {
				label = Outside
				break
			}
			j += step[dir[j]]
			if j < lo || j >= hi {
				label = away | uint32(len(exits))
				exits = append(exits, uint32(j))
				break
			}
			label = of[j]
		}
		for j = i; j >= lo && j < hi && of[j] == None; j += step[dir[j]] {
			of[j] = label
			if dir[j] == flow.Out {
				break
			}
		}
	}
	return exits
}

// join replaces away labels by what the cells they lead to are labelled.
func (l *Labels) join(bands []grid.Band, cols int, exits [][]uint32) {
	bandOf := func(i int) int {
		for k, b := range bands {
			if i < b.End*cols {
				return k
			}
		}
		panic("basin: a way leads off the grid")
	}
	final := make([][]uint32, len(bands))
	for k := range bands {
		final[k] = make([]uint32, len(exits[k]))
	}
	for k := range bands {
		for n := range exits[k] {
			// Ways cross bands few times; chains are followed to their end.
			at, m := k, n
			var label uint32
			for {
				i := int(exits[at][m])
				if label = l.Of[i]; label&away == 0 {
					break
				}
				at, m = bandOf(i), int(label&^away)
				if f := final[at][m]; f != None {
					label = f
					break
				}
			}
			final[k][n] = label
		}
	}
	grid.OnBands(bands, func(k int, b grid.Band) {
		for i := b.First * cols; i < b.End*cols; i++ {
			if l.Of[i]&away != 0 {
				l.Of[i] = final[k][l.Of[i]&^away]
			}
		}
	})
}
