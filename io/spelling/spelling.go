// Package spelling finds the word that was meant.
//
//	kerb      curb    2 letters changed
//	Tree      tree    none: capitals do not count
//	gargoyle  nothing near
package spelling

import (
	"math"
	"strings"
)

// Nearest returns the known word with the fewest letters changed, capitals left
// aside; of those alike the first.
func Nearest(word string, known []string) (nearest string, changed int) {
	changed = math.MaxInt
	word = strings.ToLower(word)
	for _, k := range known {
		if d := edits(word, strings.ToLower(k)); d < changed {
			nearest, changed = k, d
		}
	}
	return nearest, changed
}

// edits is the number of letters to add, drop or change between two words.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := diagonal
			if a[i-1] != b[j-1] {
				cost++
			}
			diagonal = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
