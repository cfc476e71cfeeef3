// Command curbfall designs a yard's buried drains from an elevation raster and
// the site's lines: which way the water can go to the street curb by gravity,
// proven, or proven impossible with the missing height named.
package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"syscall"

	"curbfall/cmd/internal/lotrun"
)

// Exit statuses. They are part of the command's contract.
const (
	exitDone        = 0
	exitFault       = 1
	exitUnusable    = 2
	exitInfeasible  = 3
	exitInterrupted = 130
)

// infeasibleError ends a run that finished with an inflow left unserved; all
// that was computed is written and printed.
type infeasibleError struct{}

func (infeasibleError) Error() string { return "some inflow has no feasible route" }

// usageError is a command line that cannot be understood.
type usageError struct{ error }

// outputError is standard output that takes no more.
type outputError struct {
	error
	folder string // complete all the same; "" where none was written
}

func (e outputError) Error() string {
	if e.folder == "" {
		return fmt.Sprintf("cannot write standard output: %v; send it where there is room", e.error)
	}
	return fmt.Sprintf("cannot write standard output: %v; the output folder %s is complete", e.error, e.folder)
}

// output is standard output. It keeps the first error of a write for run to
// report, and takes what comes after it in silence: the printer of help would
// say the error a second time, and end as if all were well.
type output struct {
	folder string // in its place before anything is printed; "" where there is none
	err    error
}

func (o *output) Write(p []byte) (int, error) {
	if o.err == nil {
		if _, err := os.Stdout.Write(p); err != nil {
			var at *fs.PathError
			if errors.As(err, &at) {
				err = at.Err
			}
			o.err = outputError{err, o.folder}
		}
	}
	return len(p), nil
}

func main() {
	os.Exit(run(os.Args[1:]))
}

func run(args []string) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	stdout := &output{}
	root := newRootCommand(stdout)
	root.SetArgs(args)
	err := execute(ctx, root)
	if stdout.err != nil && (err == nil || errors.As(err, new(infeasibleError))) {
		err = stdout.err
	}
	var input *lotrun.InputError
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, new(infeasibleError)):
		return exitInfeasible
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(os.Stderr, "curbfall: interrupted; nothing was written")
		return exitInterrupted
	case errors.As(err, &input), errors.As(err, &usage), errors.As(err, new(outputError)):
		fmt.Fprintf(os.Stderr, "curbfall: error: %v\n", err)
		return exitUnusable
	}
	fmt.Fprintf(os.Stderr, "curbfall: internal fault: %v\n", err)
	return exitFault
}
