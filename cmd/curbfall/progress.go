package main

import (
	"fmt"
	"io"
	"os"
)

// progress says on one line of a terminal how far a long run has come.
type progress struct {
	to    io.Writer
	shown bool
}

// overwritten goes to the start of the line and clears it.
const overwritten = "\r\x1b[K"

// progressTo is for a file: nil where that is no terminal, or nothing is to be
// said.
func progressTo(f *os.File, quiet bool) *progress {
	info, err := f.Stat()
	if quiet || err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	return &progress{to: f}
}

// tell says what is being done, and how far it is.
func (p *progress) tell(doing string, row, rows int) {
	if p != nil {
		p.shown = true
		_, _ = fmt.Fprintf(p.to, "%s%s: row %d of %d", overwritten, doing, row, rows)
	}
}

// clear leaves an empty line to whatever is said next.
func (p *progress) clear() {
	if p != nil && p.shown {
		_, _ = io.WriteString(p.to, overwritten)
	}
}
