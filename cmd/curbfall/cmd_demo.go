package main

import (
	"github.com/spf13/cobra"

	"curbfall/cmd/internal/lotrun"
)

func newDemoCommand() *cobra.Command {
	out := outputFlags{out: "curbfall-demo"}
	var effort effortFlag
	cmd := &cobra.Command{
		Use:   "demo [--out DIR]",
		Short: "Design an invented lot",
		Long: `demo writes an invented lot (elevation raster, site lines, criteria) and runs
route on it, so that you can see what goes in and what comes out.
` + exitStatusHelp,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			system, err := out.system()
			if err != nil {
				return err
			}
			done, err := lotrun.Demo(cmd.Context(), lotrun.Output{Folder: out.out, Overwrite: out.replace, Units: system, Effort: int(effort)})
			if err != nil {
				return err
			}
			return showDesign(cmd.OutOrStdout(), done, out)
		},
	}
	out.add(cmd.Flags())
	effort.add(cmd.Flags())
	return cmd
}
