// Package layers holds no code: its test keeps the order of imports, one way
// from the grid up to the command.
//
//	terrain  -->  routing  -->  io  -->  cmd/internal/lotrun  -->  cmd/curbfall
//	(values and errors alone)   (files)   (one lot)                 (flags)
//
// See rules in layers_test.go for who may import whom, and why.
package layers
