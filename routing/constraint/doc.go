// Package constraint owns the pipe's law: the site and its lines, the limits,
// the pipes that can be bought, and what they admit at every point of a
// straight line in plan (line.go). Search, profile and design all ask here, so
// they cannot disagree.
//
//	ground ~~~~~~~~~~~~~~~~~~~~~~~~~~~~   z
//	            cover + wall + inside diameter
//	ceiling - - - - - - - - - - - - - -   highest invert
//	            admissible inverts, but for the band round a utility
//	floor   - - - - - - - - - - - - - -   z - depth_max
package constraint
