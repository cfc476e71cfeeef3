// Command curbfall designs a yard's buried drains from an elevation raster and
// the site's lines: which way the water can go to the street curb by gravity,
// proven, or proven impossible with the missing height named.
package main

import (
	"context"
	"errors"
	"fmt"
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

func main() {
	os.Exit(run(os.Args[1:]))
}

func run(args []string) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	root := newRootCommand()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
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
	case errors.As(err, &input), errors.As(err, &usage):
		fmt.Fprintf(os.Stderr, "curbfall: error: %v\n", err)
		return exitUnusable
	}
	fmt.Fprintf(os.Stderr, "curbfall: internal fault: %v\n", err)
	return exitFault
}
