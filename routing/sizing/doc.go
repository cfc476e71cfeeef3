// Package sizing chooses the size and both end inverts of every pipe of a plan
// tree together, at the least cost. The design of a yard has its pipes run in
// several grades each, on a Way of their own (profile.Levels).
//
//	a o---.  ceiling: under the cover       each pipe: one size, one straight
//	       \                                grade, its flow within its limits
//	b o-----o------o outlet                 each node: what leaves is no higher
//	        j      floor: the gutter        than what arrives, and no narrower
//
// Inverts lie on a grid of levels. From the twigs down, every pipe gets a table:
// the least cost of all that lies above it and itself, when its lower end is at
// or above a level and its size at most a size. Two pipes that meet ask no more
// of each other than that, so the table of a pipe follows from the tables of
// those that arrive, and the outlet's best entry is the least cost of the whole
// tree on the grid: no cost function, however crooked, makes it miss one.
//
// Elevations and lengths are metres, flows m3/s; cost has the caller's unit.
// Work and memory grow with pipes x sizes x levels; with Cost.Run, which
// couples both ends of a pipe, work grows with the square of the levels.
package sizing
