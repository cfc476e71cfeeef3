package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"curbfall/cmd/internal/lotrun"
	"curbfall/io/units"
)

const exitStatusHelp = `
EXIT STATUS
  0    done, design feasible
  1    internal fault
  2    unusable input or usage; nothing written
  3    done, but some inflow has no feasible route; all computed is written
  130  interrupted; nothing half-written left behind`

func newRootCommand(stdout io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:   "curbfall",
		Short: "Yard drains to the curb by gravity, proven from an elevation raster",
		Long: `curbfall reads an elevation raster and the lines of a house lot and answers
whether roof and surface water can leave by gravity through buried pipe at the
street curb: the route, sizes, inverts and cover, or the missing height.

It is a planning aid and no survey. Local codes and licensed practice govern.
` + exitStatusHelp,
		SilenceUsage:  true,
		SilenceErrors: true,
		Version:       lotrun.Version,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usageError{fmt.Errorf("unknown command %q; see curbfall --help", args[0])}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetOut(stdout) // before the ready-made commands look for it
	root.SetFlagErrorFunc(badFlag)
	root.AddCommand(newRouteCommand(), newCheckCommand(), newTerrainCommand(), newDemoCommand())
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	strictHelp(root)
	return root
}

// badFlag says what to do about a flag that cannot be understood.
func badFlag(cmd *cobra.Command, err error) error {
	var value *pflag.InvalidValueError
	switch {
	case !errors.As(err, &value):
		err = fmt.Errorf("%w; see %s --help", err, cmd.CommandPath())
	case value.GetFlag().Value.Type() == "bool":
		err = fmt.Errorf("--%s is %q, want true or false", value.GetFlag().Name, value.GetValue())
	}
	return usageError{err}
}

// strictHelp has the ready-made commands refuse words that nobody knows: they
// would show help, as if that had been asked for.
func strictHelp(root *cobra.Command) {
	for _, cmd := range root.Commands() {
		switch cmd.Name() {
		case "help":
			cmd.Run, cmd.RunE = nil, helpAbout
		case "completion":
			var shells []string
			for _, shell := range cmd.Commands() {
				shells = append(shells, shell.Name())
				shell.Args = noArguments
			}
			cmd.Args = func(_ *cobra.Command, args []string) error {
				if len(args) > 0 {
					return usageError{fmt.Errorf("unknown shell %q: it is one of %s", args[0], strings.Join(shells, ", "))}
				}
				return nil
			}
		}
	}
}

// helpAbout shows the help of the command that is named.
func helpAbout(help *cobra.Command, args []string) error {
	cmd, rest, err := help.Root().Find(args)
	if err == nil {
		err = cmd.ValidateArgs(rest)
	}
	if err != nil {
		return err
	}
	cmd.InitDefaultHelpFlag()
	cmd.InitDefaultVersionFlag()
	return cmd.Help()
}

// execute runs the command line. Where it asks for help, or falls back on it,
// stray words are an error all the same.
func execute(ctx context.Context, root *cobra.Command) error {
	var stray error
	show := root.HelpFunc()
	root.SetHelpFunc(func(cmd *cobra.Command, args []string) {
		if stray = cmd.ValidateArgs(cmd.Flags().Args()); stray == nil {
			show(cmd, args)
		}
	})
	if err := root.ExecuteContext(ctx); err != nil {
		return err
	}
	return stray
}

// noArguments refuses stray words on a command line made of flags.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usageError{fmt.Errorf("%s takes no arguments, got %q", cmd.CommandPath(), args[0])}
	}
	return nil
}

// inputFlags are the flags of every command that reads a raster.
type inputFlags struct {
	dem, site, lot, verticalUnit, criteria string
}

func (f *inputFlags) add(flags *pflag.FlagSet) {
	flags.StringVar(&f.dem, "dem", "", "elevation raster `file`: anything GDAL opens")
	flags.StringVar(&f.site, "site", "", "site lines `file`: GeoJSON, or anything OGR reads")
	flags.StringVar(&f.criteria, "criteria", "", "design criteria `file` (YAML); curbfall route --criteria-template prints one")
	flags.StringVar(&f.verticalUnit, "vertical-unit", "", "`unit` of elevations where the raster does not say: m, us-ft or ft")
}

func (f *inputFlags) require(names ...string) error {
	given := map[string]string{"dem": f.dem, "site": f.site}
	for _, n := range names {
		if given[n] == "" {
			return usageError{fmt.Errorf("--%s is missing: name the file to read", n)}
		}
	}
	if f.verticalUnit != "" {
		if _, err := units.VerticalUnit(f.verticalUnit); err != nil {
			return usageError{fmt.Errorf("--vertical-unit: %w", err)}
		}
	}
	return nil
}

func (f *inputFlags) inputs() lotrun.Inputs {
	return lotrun.Inputs{DEM: f.dem, Site: f.site, Lot: f.lot, VerticalUnit: f.verticalUnit, Criteria: f.criteria}
}

// effortFlag is how many networks are tried.
type effortFlag int

// effortMost is beyond where more effort has been seen to help.
const effortMost = 100

func (f *effortFlag) add(flags *pflag.FlagSet) {
	*f = 1
	flags.Var(f, "effort", fmt.Sprintf("how many networks are grown and improved, the best taken: 1 to %d", effortMost))
}

func (f *effortFlag) String() string { return strconv.Itoa(int(*f)) }

// Type names the value in help.
func (f *effortFlag) Type() string { return "number" }

// Set reads the value.
func (f *effortFlag) Set(text string) error {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > effortMost {
		return fmt.Errorf("want a whole number from 1 to %d", effortMost)
	}
	*f = effortFlag(n)
	return nil
}

// outputFlags say where results go and how people read them.
type outputFlags struct {
	out, units             string
	asJSON, quiet, replace bool
}

func (f *outputFlags) add(flags *pflag.FlagSet) {
	flags.StringVar(&f.out, "out", f.out, "output `folder`; made, or empty unless --overwrite")
	flags.BoolVar(&f.replace, "overwrite", false, "replace an output folder of an earlier run of this command; not where an input lies in it")
	f.addReading(flags)
}

func (f *outputFlags) addReading(flags *pflag.FlagSet) {
	flags.StringVar(&f.units, "units", "si", "`system` people read: si, us-ft (US survey foot) or ft (international foot)")
	flags.BoolVar(&f.asJSON, "json", false, "the summary as JSON on standard output, and nothing else there, with --quiet too")
	flags.BoolVar(&f.quiet, "quiet", false, "no report and no progress; with --json the summary still")
}

func (f *outputFlags) system() (units.System, error) {
	s, err := units.ParseSystem(f.units)
	if err != nil {
		return s, usageError{fmt.Errorf("--units: %w", err)}
	}
	return s, nil
}
