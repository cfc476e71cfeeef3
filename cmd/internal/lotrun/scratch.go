package lotrun

import (
	"os"
	"unsafe"
)

// scratch keeps rows of values in a file that nobody sees and that is gone when
// it is closed.
type scratch[T uint8 | float32] struct {
	file *os.File
	cols int
	tell func(row int) // told what is read next
}

// open makes the file.
func (s *scratch[T]) open(folder string, cols int, tell func(row int)) (err error) {
	s.cols, s.tell = cols, tell
	if s.file, err = os.CreateTemp(folder, ".rows-"); err != nil {
		return err
	}
	return os.Remove(s.file.Name())
}

// close lets it go; it need not be open.
func (s *scratch[T]) close() { _ = s.file.Close() }

// ReadRows reads whole rows from first on.
func (s *scratch[T]) ReadRows(first int, into []T) error {
	s.tell(first)
	_, err := s.file.ReadAt(bytesOf(into), s.at(first))
	return err
}

// WriteRows writes whole rows from first on.
func (s *scratch[T]) WriteRows(first int, from []T) error {
	_, err := s.file.WriteAt(bytesOf(from), s.at(first))
	return err
}

func (s *scratch[T]) at(row int) int64 {
	var v T
	return int64(row) * int64(s.cols) * int64(unsafe.Sizeof(v))
}

// bytesOf is the memory of some values; the file is read only by who wrote it, so
// the order of bytes is the machine's own.
func bytesOf[T any](v []T) []byte {
	if len(v) == 0 {
		return nil
	}
	return unsafe.Slice((*byte)(unsafe.Pointer(&v[0])), len(v)*int(unsafe.Sizeof(v[0])))
}

// kept keeps rows of values in memory.
type kept[T any] struct {
	cols int
	v    []T
}

// keep keeps a field of a raster.
func keep[T any](l *large, v []T) *kept[T] { return &kept[T]{l.Cols, v} }

// ReadRows copies whole rows from first on.
func (k *kept[T]) ReadRows(first int, into []T) error {
	copy(into, k.v[first*k.cols:])
	return nil
}

// WriteRows takes over whole rows from first on.
func (k *kept[T]) WriteRows(first int, from []T) error {
	copy(k.v[first*k.cols:], from)
	return nil
}
