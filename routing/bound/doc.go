// Package bound proves how short a network of pipes cannot be: a length that
// no plan joining the same inflows to the same outlets goes below, whatever its
// inverts, its bends and its joins.
//
// The relaxation. Falls, covers, prices and fittings are left out; what stays
// is that pipes keep out of places shut to them. Every network in the plane is
// then matched by a tree on a square lattice that is hardly longer, and the
// shortest such tree is found exactly.
//
// The theorem. Let D be steps of a square lattice of spacing h, in 16 directions
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
// and every node stood at lies within R of a point of the curve: a node is shut
// only where all within R of it is shut to pipes.
//
// Follow a tree from each outlet up. The start is the node nearest to the
// outlet, N(e) <= K h / sqrt 2. Where pipes join, both ways go on from the one
// node with the one residual: that adds at most R for each join, and there is
// one join less than inflows in a tree. At an inflow p the walk ends at a node n,
// and N(p - n) is at most what is left over: let a link of that length lead from
// p to every node with N(p - n) <= R. Where the first x metres from p may run
// through shut places the walk ends where those begin, and the link leads to
// nodes with N(p - n) <= R + K x; no other pipe comes there to join. Then for the shortest lattice tree of
// links and steps, of length S, over k inflows,
//
//	S <= K L + K h / sqrt 2 + (k - 1) R,
//
// and L >= (S - K h / sqrt 2 - (k - 1) R) / K. For t trees to t outlets there are
// t starts and k - t joins.
package bound
