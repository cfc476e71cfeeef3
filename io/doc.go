// Package io reads and prints, in this reading order:
//
//   - units: metre, feet, inch; parse and print
//   - criteria: the design rules with their defaults and sources
//   - atlas: tables of rainfall and the design storm
//   - crs: coordinate systems
//   - raster: elevations in, grids out
//   - vector: site lines in, layers out
//   - report: the summary as text and JSON
package io
