package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// Progress stands on one line, and is gone before anything else is said.
func TestProgress(t *testing.T) {
	var b bytes.Buffer
	p := &progress{to: &b}
	p.clear()
	p.tell("reading", 0, 90)
	p.tell("reading", 45, 90)
	p.clear()
	if want := "\r\x1b[Kreading: row 0 of 90\r\x1b[Kreading: row 45 of 90\r\x1b[K"; b.String() != want {
		t.Errorf("%q", b.String())
	}
}

// A file is told nothing.
func TestProgressToFile(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	p := progressTo(f, false)
	p.tell("reading", 0, 90)
	p.clear()
	if info, err := f.Stat(); err != nil || info.Size() != 0 {
		t.Errorf("%d bytes, %v", info.Size(), err)
	}
}
