// Package terrain holds what is known of the ground, in this reading order:
//
//   - grid: elevations on a raster's cells, where they lie, and the ground between them
//   - surface: the surface water runs over, made from the ground and the site's lines
//   - fill, flow: depressions filled, directions, contributing area
//   - lowspot: where water stands, how deep, and where it spills
package terrain
