package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"curbfall/cmd/internal/lotrun"
)

func newTerrainCommand() *cobra.Command {
	var in inputFlags
	var out outputFlags
	var rasters bool
	memory := memoryFlag(8 * gibi)
	cmd := &cobra.Command{
		Use:   "terrain --dem F [--site F] [--criteria F] --out DIR [--rasters]",
		Short: "Low spots, flow paths, overflow and ponding",
		Long: `terrain shows where water gathers and which way it runs over the surface: low
spots with depth, area, volume and spill elevation, those within them, where they
overflow to, flow paths, and what stands after the criteria's storm. With a site,
water goes round roofs and through culverts, and what runs over each side of each
lot and whether the ground falls as grading rules ask is said too.

Of a raster without a site that takes more memory than it may, some 100 bytes a
cell, the grids of --rasters alone are made, the same to the last cell: in memory
where 24 bytes a cell fit, else in bands of rows, with 9 bytes a cell of disk beside
the output.

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
			p := progressTo(os.Stderr, out.quiet)
			done, err := lotrun.Terrain(cmd.Context(), in.inputs(),
				lotrun.Output{Folder: out.out, Overwrite: out.replace, Units: system, Rasters: rasters, Memory: int(memory), Progress: p.tell})
			p.clear()
			if err != nil {
				return err
			}
			return show(cmd.OutOrStdout(), done, out)
		},
	}
	in.add(cmd.Flags())
	out.add(cmd.Flags())
	cmd.Flags().Var(&memory, "memory", "how much memory may be used, such as 500MiB or 8GiB")
	cmd.Flags().BoolVar(&rasters, "rasters", false, "also write filled.tif, flow_direction.tif, contributing_area.tif, ponding_depth.tif")
	return cmd
}

const (
	mebi = 1 << 20
	gibi = 1 << 30
)

// memoryFlag is an amount of memory in bytes.
type memoryFlag int

func (f *memoryFlag) String() string {
	if *f%gibi == 0 {
		return fmt.Sprintf("%dGiB", *f/gibi)
	}
	return fmt.Sprintf("%dMiB", *f/mebi)
}

// Type names the value in help.
func (f *memoryFlag) Type() string { return "amount" }

// Set reads the value.
func (f *memoryFlag) Set(text string) error {
	number, unit := strings.CutSuffix(text, "GiB")
	size := gibi
	if !unit {
		number, unit = strings.CutSuffix(text, "MiB")
		size = mebi
	}
	n, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil || !unit || n < 1 || n > math.MaxInt/size {
		return errors.New("want a whole number and its unit, such as 500MiB or 8GiB")
	}
	*f = memoryFlag(n * size)
	return nil
}
