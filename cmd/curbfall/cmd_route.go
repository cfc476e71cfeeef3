package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"curbfall/cmd/internal/lotrun"
	"curbfall/io/criteria"
)

func newRouteCommand() *cobra.Command {
	var in inputFlags
	var out outputFlags
	var template bool
	var effort effortFlag
	cmd := &cobra.Command{
		Use:   "route --dem F --site F [--lot ID] --out DIR",
		Short: "Design one lot: terrain, network to the curb, profile, sizes",
		Long: `route reads the ground and the site, proposes downspouts and area drains where
none are given, finds the route of every inflow to the curb with minimum fall
and cover, sizes the pipes, and writes layers for any GIS viewer.
` + exitStatusHelp,
		Example: `  curbfall route --dem lidar.tif --site lot.geojson --out design
  curbfall route --dem lidar.tif --site plat.geojson --lot lot-3 --units us-ft --out lot-3`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if template {
				return criteria.Template(cmd.OutOrStdout())
			}
			if err := in.require("dem", "site"); err != nil {
				return err
			}
			if out.out == "" {
				return usageError{errors.New("--out is missing: name a folder for the results")}
			}
			return route(cmd, in.inputs(), out, int(effort))
		},
	}
	in.add(cmd.Flags())
	out.add(cmd.Flags())
	effort.add(cmd.Flags())
	cmd.Flags().StringVar(&in.lot, "lot", "", "`id` of the lot to design; needed where the site has several")
	cmd.Flags().BoolVar(&template, "criteria-template", false, "print a commented criteria file and stop")
	return cmd
}

func route(cmd *cobra.Command, in lotrun.Inputs, out outputFlags, effort int) error {
	system, err := out.system()
	if err != nil {
		return err
	}
	done, err := lotrun.Route(cmd.Context(), in, lotrun.Output{Folder: out.out, Overwrite: out.replace, Units: system, Effort: effort})
	if err != nil {
		return err
	}
	return showDesign(cmd.OutOrStdout(), done, out)
}

// showDesign prints a design; one that leaves an inflow unserved ends in an
// infeasibleError.
func showDesign(w io.Writer, done *lotrun.Finished, out outputFlags) error {
	if err := show(w, done, out); err != nil {
		return err
	}
	if !done.Feasible {
		return infeasibleError{}
	}
	return nil
}

// show prints the summary or the report.
func show(w io.Writer, done *lotrun.Finished, out outputFlags) error {
	text := done.Report
	if out.asJSON {
		text = done.Summary
	} else if out.quiet {
		return nil
	}
	if o, ok := w.(*output); ok {
		o.folder = out.out
	}
	_, err := fmt.Fprint(w, text)
	return err
}
