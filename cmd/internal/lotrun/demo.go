package lotrun

import (
	"bytes"
	"context"
	"os"
	"path/filepath"

	"curbfall/cmd/internal/demo"
	"curbfall/io/crs"
	"curbfall/io/raster"
	"curbfall/io/vector"
)

// Demo writes the invented lot and designs it, all in one folder.
func Demo(ctx context.Context, out Output) (*Finished, error) {
	f, err := newFolder(demoCommand, out.Folder, Inputs{}, out.Overwrite)
	if err != nil {
		return nil, err
	}
	defer f.abandon()
	in, err := writeDemo(f.making)
	if err != nil {
		return nil, f.unwritten(err)
	}
	done, err := routeInto(ctx, in, out, f)
	if err != nil {
		return nil, f.unwritten(err)
	}
	return done, f.unwritten(f.settle())
}

func writeDemo(folder string) (Inputs, error) {
	in := Inputs{DEM: filepath.Join(folder, DemoGround), Site: filepath.Join(folder, DemoSite), Criteria: filepath.Join(folder, DemoCriteria)}
	if err := raster.WriteGround(in.DEM, demo.Ground(), demo.System); err != nil {
		return in, err
	}
	system, err := crs.Parse(demo.System)
	if err != nil {
		return in, err
	}
	w, err := vector.NewWriter(system)
	if err != nil {
		return in, err
	}
	defer w.Close()
	var site bytes.Buffer
	if err := demo.WriteSite(&site, w.LonLat); err != nil {
		return in, err
	}
	if err := os.WriteFile(in.Site, site.Bytes(), 0o644); err != nil {
		return in, err
	}
	return in, os.WriteFile(in.Criteria, []byte(demo.Criteria), 0o644)
}
