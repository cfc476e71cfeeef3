package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"curbfall": main})
}

// The stories of the command line, one script a theme. Every script starts in
// a folder with the small lot: ground.tif and site.geojson, and with readme.txt, what
// the README says the demo prints. Beside the usual
// commands of such scripts there are:
//
//	status N COMMAND...       runs a command that must end with status N
//	refused LINE              the last command said "curbfall: error: LINE" on
//	                          standard error, nothing else anywhere, and wrote nothing
//	raster FILE KIND          writes the ground in one of rasterKinds
//	swap FROM TO OLD NEW      copies a text file with OLD replaced; \n is a new line
//	drop FROM TO ID...        copies site lines without these features
//	same FOLDER FOLDER        the same files with the same bytes, timings aside
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			return errors.Join(writeLot(e.WorkDir), writeExample(filepath.Join(e.WorkDir, "readme.txt")))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status, "refused": refused, "raster": newRaster, "swap": swap, "drop": drop, "same": same,
		},
	})
}

// writeExample writes what the README shows of the demo.
func writeExample(path string) error {
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		return err
	}
	_, rest, _ := strings.Cut(string(readme), "    $ curbfall demo --units us-ft\n")
	var b strings.Builder
	for line := range strings.Lines(rest) {
		text, shown := strings.CutPrefix(line, "    ")
		if !shown && line != "\n" {
			break // the example is over
		}
		b.WriteString(text)
	}
	return os.WriteFile(path, []byte(strings.TrimRight(b.String(), "\n")+"\n"), 0o600)
}

// usage ends a script whose line is not as it must be.
func usage(ts *testscript.TestScript, ok bool, line string) {
	if !ok {
		ts.Fatalf("usage: %s", line)
	}
}

func status(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) > 1, "status N COMMAND...")
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if exit := new(exec.ExitError); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("status %d, want %d", got, want)
	}
}

func refused(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 1, "refused LINE")
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("standard output has %q", out)
	}
	if said, want := ts.ReadFile("stderr"), "curbfall: error: "+args[0]+"\n"; said != want {
		ts.Fatalf("said\n%swant\n%s", said, want)
	}
	if _, err := os.Stat(ts.MkAbs("out")); err == nil {
		ts.Fatalf("something was written")
	}
	if left := leftovers(ts.MkAbs(".")); len(left) > 0 {
		ts.Fatalf("left behind: %v", left)
	}
}

func newRaster(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 2, "raster FILE KIND")
	kind, known := rasterKinds[args[1]]
	if !known {
		ts.Fatalf("%s is no kind of raster", args[1])
	}
	ts.Check(writeRaster(ts.MkAbs(args[0]), kind))
}

func swap(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 4, "swap FROM TO OLD NEW")
	text := ts.ReadFile(args[0])
	breaks := strings.NewReplacer(`\n`, "\n")
	before, after := breaks.Replace(args[2]), breaks.Replace(args[3])
	if !strings.Contains(text, before) {
		ts.Fatalf("%s has no %q", args[0], before)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(strings.ReplaceAll(text, before, after)), 0o600))
}

func drop(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) > 2, "drop FROM TO ID...")
	lines := strings.Split(ts.ReadFile(args[0]), "\n")
	for _, id := range args[2:] {
		before := len(lines)
		kept := lines[:0]
		for _, l := range lines {
			if !strings.Contains(l, `"id": "`+id+`"`) {
				kept = append(kept, l)
			}
		}
		if lines = kept; len(lines) != before-1 {
			ts.Fatalf("%s has no one feature %s", args[0], id)
		}
	}
	text := strings.ReplaceAll(strings.Join(lines, "\n"), "}},\n]}", "}}\n]}")
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(text), 0o600))
}

func same(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 2, "same FOLDER FOLDER")
	first, second := printedFiles(ts, args[0]), printedFiles(ts, args[1])
	if len(first) != len(second) {
		ts.Fatalf("%s has %d files, %s %d", args[0], len(first), args[1], len(second))
	}
	for name, text := range first {
		if second[name] != text {
			ts.Fatalf("%s differs", name)
		}
	}
}

// printedFiles returns the files of a folder by name; of the summary, what
// comes before the timings.
func printedFiles(ts *testscript.TestScript, folder string) map[string]string {
	entries, err := os.ReadDir(ts.MkAbs(folder))
	ts.Check(err)
	files := map[string]string{}
	for _, e := range entries {
		text := ts.ReadFile(filepath.Join(folder, e.Name()))
		before, _, _ := strings.Cut(text, `"timings_s"`)
		files[e.Name()] = before
	}
	return files
}
