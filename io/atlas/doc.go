// Package atlas reads how much rain falls where: a table of precipitation
// frequency in the layout NOAA Atlas 14 is published in, and picks the design
// storm from it.
//
//	by duration for ARI (years):, 1,2,5,10,...,100
//	5-min:, 0.40,0.45,0.54,0.61,...,0.93      10-year 5-min: 0.61 in in 5 minutes
//	10-min:, ...                              is 7.3 in/h
//
// Depths are metres, intensities m/s, durations seconds, return periods years.
// Tables of depth and of intensity are both taken, in inches or millimetres, and
// told apart by what they say and by what their numbers do: a depth grows with
// duration, an intensity falls.
package atlas
