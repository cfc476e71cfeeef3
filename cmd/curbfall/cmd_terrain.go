package main

import (
	"errors"

	"github.com/spf13/cobra"

	"curbfall/cmd/internal/lotrun"
)

func newTerrainCommand() *cobra.Command {
	var in inputFlags
	var out outputFlags
	var rasters bool
	cmd := &cobra.Command{
		Use:   "terrain --dem F [--site F] --out DIR [--rasters]",
		Short: "Low spots, flow paths, overflow and ponding",
		Long: `terrain shows where water gathers and which way it runs over the surface: low
spots with depth, area, volume and spill elevation, those within them, where they
overflow to, flow paths, and what stands after the design storm. With a site,
water goes round roofs and through culverts, and what runs over each side of each
lot and whether the ground falls away from each wall is said too.

EXIT STATUS
  0    done
  1    internal fault
  2    unusable input or usage; nothing written
  130  interrupted; nothing half-written left behind`,
		Example: `  curbfall terrain --dem lidar.tif --site lot.geojson --out terrain --rasters`,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := in.require("dem"); err != nil {
				return err
			}
			if out.out == "" {
				return usageError{errors.New("--out is missing: name a folder for the results")}
			}
			system, err := out.system()
			if err != nil {
				return err
			}
			done, err := lotrun.Terrain(cmd.Context(), in.inputs(),
				lotrun.Output{Folder: out.out, Overwrite: out.replace, Units: system, Rasters: rasters})
			if err != nil {
				return err
			}
			return show(cmd.OutOrStdout(), done, out)
		},
	}
	in.add(cmd.Flags())
	out.add(cmd.Flags())
	cmd.Flags().BoolVar(&rasters, "rasters", false, "also write filled.tif, flow_direction.tif, contributing_area.tif, ponding_depth.tif")
	return cmd
}
