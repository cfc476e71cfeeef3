// Package hydraulics says how much water comes, how a round pipe carries it, how
// high it stands along a tree of pipes (GradeLine), and what the street's gutter,
// a grate, a curb hole and an emitter do to it. Everything is SI: metres, m3/s, m/s, seconds, slope as fall over length.
//
//	rain i on area A, share C runs off        pipe of inside diameter D on slope S
//
//	    |  |  |  |  i                              .-"""-.
//	   _v__v__v__v_                               /       \   D
//	  /   A, C     \   Q = C i A   ------->      |~~~~~~~~~|  y: normal depth of Q
//	 /______________\                             \       /
//	                                               `-...-'    full when Q > capacity
//
// Pipes are judged by inside diameter, and partial flow by the exact geometry
// of the circle's segment, not by a fitted curve. A pipe is said to flow full
// as soon as the flow exceeds its full capacity, although between 0.82 and
// 1.0 of the diameter a free surface could carry up to 7.6 % more: there one
// flow has two depths, and a design does not live on the upper branch.
//
// Arguments out of range (a diameter, roughness or length that is not above
// zero, a negative or NaN flow or slope) are programming errors and panic: the
// limits were validated before.
package hydraulics
