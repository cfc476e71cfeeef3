// Package lotrun runs one lot from files to files: read, analyse, design,
// write. It knows no command line.
package lotrun
