// Package flow gives every cell of a surface one way down and counts what
// drains through it.
//
//	9 9 9 9 9
//	9 5 4 3 2   =>   E E E out   =>   1 2 3 4 cells that drain through each
//	9 9 9 9 9
package flow

// Direction codes: powers of two clockwise from east; Out drains straight out,
// Pit drains nowhere (a surface that is not filled has such cells), Void has no
// elevation.
const (
	Out  = 0
	Pit  = 254
	Void = 255
)
