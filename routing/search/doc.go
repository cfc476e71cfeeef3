// Package search finds the cheapest admissible way of a pipe over a lattice of
// points, proves that there is none, and joins several inflows into trees, one
// to each outlet used.
//
//	o . . . . .     o inflow       Forward settles the highest invert that can
//	 \  +-----+                    arrive at each point, reverse the lowest one
//	  \ |roof |                    from which an outlet can still be reached.
//	   \+-----+                    Where the first lies below the second no
//	    `---. .                    route passes; where it does at the inflow
//	=========X==    X curb         itself there is none at all.
//
// A pipe may always fall more than it must, so a higher invert can do all that
// a lower one can: at a point only cost and height of a way count, and of two
// ways the one that is neither cheaper nor higher can be dropped. That is what
// makes the search exact on its lattice.
//
// It carries over to networks: what joins leaves with the lowest invert that
// arrives, so of a set of inflows brought to a point again only cost and height
// count. One outlet takes in all that come to its last pipe alone with height enough:
// where each follows the lowest inverts none asks more of those below it. That tells
// how many can be joined at all; which way, for up to eight is found exactly where the
// lattice is small, for more by groups, and by pieces around a junction, until nothing
// gives.
//
// Off the lattice a plan is refined: Refine moves its points freely in the plane
// (plan.go, refine.go), Fit sets its turns on the bends and wyes that are sold
// (fittings.go, legs.go, settle.go), both asking the law of every pipe they try.
package search
