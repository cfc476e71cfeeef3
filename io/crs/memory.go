package crs

// #include <malloc.h>
import "C"

// godal writes pointers into C memory that it has taken with malloc and not
// cleared. Where Go's collector is at work it looks at what stood there before,
// and stops the program if that happens to look like a place in Go's heap. So
// memory is cleared when it is taken: it is filled with the complement of this.
func init() { C.mallopt(C.M_PERTURB, 0xff) }
