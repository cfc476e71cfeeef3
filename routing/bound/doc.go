// Package bound proves how short a network of pipes cannot be: a length that
// no plan joining the same inflows to the same outlets goes below, whatever its
// inverts, its bends and its joins.
//
// The relaxation. Falls, covers, prices and fittings are left out; what stays
// is that pipes keep out of places shut to them. For one inflow Way finds the shortest
// way then left. For more, Length matches every network in the plane by a tree on a
// square lattice that is hardly longer, and finds the shortest such tree exactly.
//
// One inflow. A barrier is what lies within a radius r of a segment. Let its outline be
// the convex polygon of corners on its edge, m to half a circle: it lies in the barrier, and
// round it lies the same barrier thinned to r cos(pi / 2 m). Pipes keep out of barriers,
// so of outlines. A line that leads between two places counts as free where it
// keeps out of the thinned barriers: more lines are than keep out of outlines. What the
// way by free lines loses is that it may cut outlines, by less than facet.
//
// Let E be the exit's length, and a way of pipes lead from the inflow p. Its part
// within E of p along its first pipe is straight, what follows keeps out of outlines. Let
// z be the last place of the way within E of p, in a straight line. The line p z is
// no longer than what it stands for, and all of the way after z lies more than E from
// p and out of outlines. Take the z and the way after it for which |p z| and
// that way are shortest together; there is one, as outlines are closed with their edges free.
// Either it ends at z, on an outlet's line, straight from p; or |p z| = E, and
//
//   - it bends only at corners of outlines: at any other place the outlines are half
//     planes, all that is free of them is convex, and a bend could be cut short. At a
//     corner of several outlines it bends round one of them. A line that has the two
//     corners beside a corner on different sides is not part of a way that bends there;
//   - up to its first corner or its end, v, it is straight, and clear of outlines but at z and v.
//     If no outline's edge runs through z, it can go to either side along the circle round
//     p, with z v still free. So z v is square to the circle: p, z and v lie in a
//     line, of which only the first E may run in barriers. Else z is a place where
//     an outline's edge meets the circle;
//   - from its last corner, or from z, to its end t on a stretch of outlet it is straight. If t is
//     neither the stretch's end nor where an outline's edge meets it, it can go to
//     either side with the line still free. So the line is square to the stretch.
//
// So the way's parts lead between p, corners, places at E on outlines' edges, and
// places on outlets that are the stretches' ends, or where outlines meet them, or square
// from where the way comes; and the shortest of the ways by free lines between such is no
// longer. Corners within E of p are not among them: a later z would do as well. Rounding
// is taken off the length and added to E.
//
// A way from one inflow to another has an exit at either end: what is said of its
// first part holds of its last one, seen from there.
//
// Several inflows. Let D be steps of a square lattice of spacing h, in 16 directions
// (8 neighbours and 8 knight's moves) or in 48, N(v) the least total length of
// steps, fractions of steps allowed, that add up to v. N is a norm; neighbouring
// steps a, b of D lie at most an angle A apart, so
//
//	|v| <= N(v) <= K |v|,  K = 1 / cos(A/2), 1.0275 for 16, 1.0076 for 48.
//
// Follow a curve from a point p with residual e = p - n, n a node. While the
// curve goes on by a length s, N(e) grows by at most K s. Whenever N(e) comes to
// R = max(|a| + |b|) h, 3.65 h for 16 and 7.29 h for 48, e = x a + y b in the
// cone of two neighbouring steps has x >= 1 or y >= 1; let the node take that step: N(e)
// falls by exactly the step's length. So the steps taken add up to at most
//
//	K (length of the curve) + N(e at the start) - N(e at the end),
//
// and every node stood at lies within R of a point of the curve.
//
// A way of a tree, between two joins, or a join and an inflow or an outlet, is
// followed up from its lower end. The walk starts at the node nearest to that
// end, with N(e) <= c = h / sqrt 2: N is greatest at the corners of a node's
// square, half a step of D away. At a join it ends at a node n with residual e,
// and goes on to the node m nearest to the join: N(m - n) <= N(e) + c. As
// neighbouring steps of D span an area of 1, m - n is a whole number of each of
// two neighbours, and walking them takes exactly N(m - n); the nodes on the way
// lie within R + c of the join. So a way to a join takes at most K times its
// length + 2 c. At an inflow p the walk ends at a node n, and N(p - n) is what is
// left over: let a link of that length lead from p to every node with N(p - n) <=
// R, and the way takes at most K times its length + c. Where the first x metres
// from p may run through shut places the walk ends where those begin, and the
// link leads to nodes with N(p - n) <= R + K x; no other pipe comes there to join.
//
// A tree of k inflows has k ways to inflows and k - 1 to joins (where more ways
// meet, some have no length). Then for the shortest lattice tree of links and
// steps, of length S, with a node shut only where all within R + c of it is shut
// to pipes,
//
//	S <= K L + (3 k - 2) c,
//
// and L >= (S - (3 k - 2) c) / K. For t trees it is 3 k - 2 t. Lattice lengths
// are summed in whole parts of a step, each step rounded down: S never comes out
// too long.
//
// Ways and trees together. A tree gone along there and back comes by the outlets and all
// its inflows: it is no shorter than half the shortest way past them and back, each of
// its parts as long as Ways finds it, for pipes join where nothing is shut, so that a
// part runs through exits at its own ends alone. So one tree of a set of inflows is as
// long as that, or as the lattice says, whichever is more, and several are as
// long as the trees of the sets they part the inflows into, however they do. Where
// trees of a set are left out on the lattice (see below), they are in no plan up to the
// known one.
//
// That all within R + c of a node is shut is told by Shut for the disc, or by the
// squares of side h round the nodes within R + 2 c, which cover it: two obstacles may
// close a gap that neither closes alone.
//
// What is not looked at. A tree that joins terminals (inflows, and the outlets
// taken as one) and another place, gone along there and back, is a way round them
// all: half the shortest such way is a length the rest of a tree does not go
// below. Several trees hang together at the outlets alone: the way may come by
// them time and again, so the way from one terminal to another is the shorter of
// the direct one and the one by the outlets. Places and partial trees that make all longer than a plan that is known
// are left out; so S is the shortest lattice tree, or longer than K times that
// plan's length with the slack.
package bound
