package main

import (
	"github.com/spf13/cobra"

	"curbfall/cmd/internal/lotrun"
)

func newCheckCommand() *cobra.Command {
	var in inputFlags
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "check --dem F --site F [--criteria F]",
		Short: "Judge the inputs only",
		Long: `check judges raster, site lines and criteria without designing anything:
coordinate systems, units, vertical unit, nodata, overlap, geometry, and whether
the raster looks like a surface model: it shows the roofs that are drawn, or too
many of its cells are steeper than soil stands.

EXIT STATUS
  0  usable
  2  unusable; the line says what to do`,
		Example: `  curbfall check --dem lidar.tif --site lot.geojson`,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := in.require("dem", "site"); err != nil {
				return err
			}
			system, err := out.system()
			if err != nil {
				return err
			}
			done, err := lotrun.Check(cmd.Context(), in.inputs(), system)
			if err != nil {
				return err
			}
			return show(cmd.OutOrStdout(), done, out)
		},
	}
	in.add(cmd.Flags())
	out.addReading(cmd.Flags())
	return cmd
}
