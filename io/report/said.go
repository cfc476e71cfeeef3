package report

import "curbfall/io/units"

// Said returns sentences with their quantities in the units people read.
func Said(list []string, s units.System) []string { return lines(list, s) }
