// Package design designs a lot: it lists the inflows and their flows, poses the
// lot to the search, lays the plan that is found as pipes of the sizes and grades
// chosen together, follows the water through them, and says what the result rests
// on and what an inflow without a way lacks.
//
//	inflows -> firstPlan, fuller, apart     where pipes run (plan.go)
//	        -> refined, fitted              free of the lattice, on fittings (refine.go)
//	        -> lay, choose                  sizes and grades (lay.go, choose.go)
//	        -> waterLevels, Result.WhatIf   the grade line, harder storms
//	        -> explain, remedies            what lacks, and what would do
package design
