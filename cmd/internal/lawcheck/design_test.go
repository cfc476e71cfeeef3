package lawcheck_test

import (
	"context"
	"path/filepath"
	"slices"
	"testing"

	"curbfall/cmd/internal/lawcheck"
	"curbfall/cmd/internal/lotrun"
)

// What the program prints for its invented lot obeys the law, and the table of
// spoils spoils it: the check sees what it should in a real folder too.
func TestDemoAndItsSpoils(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "demo")
	if _, err := lotrun.Demo(context.Background(), lotrun.Output{Folder: folder}); err != nil {
		t.Fatal(err)
	}
	dem, site := filepath.Join(folder, lotrun.DemoGround), filepath.Join(folder, lotrun.DemoSite)
	found, err := lawcheck.Check(dem, site, "lot-1", folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range found {
		t.Errorf("the demo breaks the law: %v", v)
	}
	for _, s := range lawcheck.Spoils() {
		f, err := lawcheck.Load(site, folder)
		if err != nil {
			t.Fatal(err)
		}
		if !s.Do(f) {
			t.Errorf("%s: nothing here to spoil so", s.Name)
			continue
		}
		dir := t.TempDir()
		spoiledSite, err := f.Write(dir)
		if err != nil {
			t.Fatal(err)
		}
		found, err := lawcheck.Check(dem, spoiledSite, "lot-1", dir)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(found, func(v lawcheck.Violation) bool { return v.Rule == s.Rule }) {
			t.Errorf("%s: not reported as %s; found %v", s.Name, s.Rule, found)
		}
	}
}
