// Package profile lays constant grades under the pipe's law: between the
// ceiling and the floor of a chain of pipes it finds the fewest constant-grade
// runs and, among those, little to dig.
//
//	z
//	  ~~~~~~~~~~~~~~~~~~~~~~~~~~~.                     ground
//	  - - - - - - - - - - - - - -.~~~~~~~~~~~~~~~~~~~
//	  o===___                    .- - - - - - - - - -  ceiling: highest invert
//	         ===___      utility
//	               ===___ [///]
//	                     ===X=======_________          X: the one grade break
//	  ________________________               =======o
//	                          `---------------------   floor: lowest invert
//	  S = 0 --------------- downstream -----------> S
//
// A chain is the drawn pipe between two nodes of the tree. Along it the law
// gives stations (constraint.Station), linear between, so an invert that is
// linear between two break stations keeps to the law everywhere once it keeps
// to it at each station, and on one side of each stretch of utility.
//
// Why the count of runs is exact. A run from break i is a line y - g (S - Si);
// the pairs (y, g) that keep every limit as far as break j are a convex
// polygon, one for each choice of sides at the utilities, and the sweep from i
// clips it by one half-plane a limit. The inverts at j reached from an interval
// at i are therefore an interval again, the image of a convex set. So the
// inverts reached with exactly r runs are at each break a finite union of
// intervals, kept as such, with gaps and all; the first r that reaches the end
// is the fewest. Nothing is sampled, the only slack is half of
// constraint.Tolerance at each limit, which also takes up the rounding.
//
// The least dig is exact for given breaks: the greatest area under the inverts
// is a concave, piecewise linear function of the invert at each break, carried
// from run to run as the upper hull of a few points. Which breaks are best is
// exact up to two runs and a search beyond; Solve says how good.
//
// Numbers a crew can set (SolveIn): the same runs with inverts in whole steps
// and grades in tenths of a percent, chosen among all of them rather than
// rounded afterwards. What comes after a run depends on its last invert alone,
// so the best way to each such invert is carried from break to break.
package profile
