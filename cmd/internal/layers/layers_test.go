package layers

import (
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "curbfall/"

// repoRoot is where this package's tests find go.mod.
var repoRoot = filepath.Join("..", "..", "..")

// rule says what a package of the project may import. A package without a rule
// fails the test until one is written here: its place in the order is a
// decision. A rule for a package that does not exist yet does no harm.
type rule struct {
	project []string // packages of this project, or "terrain/..." for a root
	outside []string // modules beside the standard library
}

const (
	orb    = "github.com/paulmach/orb"
	goGeom = "github.com/twpayne/go-geom"
	godal  = "github.com/airbusgeo/godal"
	yaml   = "go.yaml.in/yaml/v3"
	cobra  = "github.com/spf13/cobra"
	pflag  = "github.com/spf13/pflag"
	mpb    = "github.com/vbauerster/mpb/v8"
)

var (
	terrainLower = []string{"terrain/grid", "terrain/surface", "terrain/fill", "terrain/flow", "terrain/basin"}
	domain       = []string{"terrain/...", "routing/..."}
)

// rules, from the bottom up. A package imports only what stands above it here.
var rules = map[string]rule{
	"terrain":            {},
	"terrain/grid":       {},
	"terrain/surface":    {project: []string{"terrain/grid"}, outside: []string{orb}},
	"terrain/flow":       {project: []string{"terrain/grid"}, outside: []string{orb}},
	"terrain/basin":      {project: []string{"terrain/grid", "terrain/flow"}},
	"terrain/fill":       {project: []string{"terrain/grid", "terrain/flow", "terrain/basin"}},
	"terrain/depression": {project: []string{"terrain/grid", "terrain/flow", "terrain/basin"}},
	"terrain/lowspot":    {project: append(slices.Clone(terrainLower), "terrain/depression"), outside: []string{orb}},
	"terrain/storm":      {project: append(slices.Clone(terrainLower), "terrain/depression", "terrain/lowspot"), outside: []string{orb}},
	"terrain/grading":    {project: terrainLower, outside: []string{orb}},
	"routing":            {},
	"routing/parallel":   {},
	// The site, the limits, the catalogue of pipes and the law: whoever places
	// or judges a pipe asks here.
	"routing/constraint": {project: []string{"terrain/grid"}, outside: []string{orb}},
	"routing/synth":      {project: []string{"terrain/grid", "routing/constraint"}, outside: []string{orb}},
	"routing/profile":    {project: []string{"terrain/grid", "routing/constraint"}, outside: []string{orb, goGeom}},
	"routing/network":    {project: []string{"routing/constraint", "routing/profile"}, outside: []string{orb, goGeom}},
	// Lengths alone, in a plane with places shut.
	"routing/bound": {project: []string{"routing/parallel"}, outside: []string{orb}},
	"routing/search": {project: append(slices.Clone(terrainLower), "routing/parallel", "routing/constraint", "routing/profile", "routing/network"),
		outside: []string{orb}},
	// Formulas of water alone; it knows neither sites nor networks.
	"routing/hydraulics": {},
	// Sizes and inverts of a tree whose corridors are known; no plan, no site.
	"routing/sizing": {project: []string{"routing/constraint", "routing/hydraulics"}},
	"routing/design": {project: domain, outside: []string{orb}},
	"io":             {},
	"io/units":       {},
	"io/spelling":    {},
	"io/atlas":       {project: []string{"io/units"}},
	"io/criteria":    {project: []string{"io/units", "io/spelling", "routing/constraint", "routing/design"}, outside: []string{yaml}},
	"io/crs":         {project: []string{"terrain/grid", "io/units"}, outside: []string{godal, orb}},
	"io/raster":      {project: []string{"terrain/grid", "io/units", "io/crs"}, outside: []string{godal, orb}},
	"io/vector":      {project: append(slices.Clone(domain), "io/units", "io/spelling", "io/crs", "io/raster"), outside: []string{orb, goGeom, godal}},
	"io/report":      {project: append(slices.Clone(domain), "io/units", "io/crs"), outside: []string{orb, goGeom}},
	// One lot, read to written; no command line in it.
	"cmd/internal/lotrun": {project: append(slices.Clone(domain), "io/...", "cmd/internal/demo"), outside: []string{orb}},
	"cmd/internal/demo":   {project: []string{"terrain/grid", "io/..."}, outside: []string{orb}},
	"cmd/internal/layers": {},
	// Proves the law again from what was printed, for tests: it may share nothing
	// with what designs or writes a pipe, so it reads rasters and lines itself.
	"cmd/internal/lawcheck": {project: []string{"io/units"}, outside: []string{orb, godal}},
	"cmd/curbfall":          {project: []string{"cmd/internal/lotrun", "cmd/internal/demo", "io/units", "io/criteria"}, outside: []string{cobra, pflag, mpb}},
}

// forTests are packages that tests alone import.
var forTests = []string{"routing/synth", "cmd/internal/lawcheck"}

// banned are standard packages a domain package may not import, with the reason.
var banned = map[string]string{
	"os":       "domain packages take grids and lines and return values and errors; files belong to io",
	"time":     "a result that reads the clock is not the same twice; timings belong to cmd",
	"log":      "domain packages do not print; return an error, or report progress by a callback",
	"log/slog": "domain packages do not print; return an error, or report progress by a callback",
}

type listed struct {
	ImportPath                         string
	Imports, TestImports, XTestImports []string
}

func list(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-e", "-json=ImportPath,Imports,TestImports,XTestImports", "./...")
	cmd.Dir = repoRoot
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var packages []listed
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		err := dec.Decode(&p)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("go list: %v", err)
		}
		packages = append(packages, p)
	}
	if len(packages) == 0 {
		t.Fatal("go list names no package")
	}
	return packages
}

func TestImports(t *testing.T) {
	for _, p := range list(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		r, ok := rules[name]
		if !ok {
			t.Errorf("%s has no rule: say in cmd/internal/layers what it may import", name)
			continue
		}
		for _, imported := range p.Imports {
			if slices.Contains(forTests, strings.TrimPrefix(imported, module)) {
				t.Errorf("%s imports %s, which is for tests alone", name, imported)
			}
			if why := r.forbids(name, imported); why != "" {
				t.Errorf("%s imports %s: %s", name, imported, why)
			}
		}
	}
}

// Every rule is some package's, so that none outlives it.
func TestRulesHavePackages(t *testing.T) {
	there := map[string]bool{}
	for _, p := range list(t) {
		there[strings.TrimPrefix(p.ImportPath, module)] = true
	}
	for name := range rules {
		if !there[name] {
			t.Errorf("there is no package %s: take its rule out", name)
		}
	}
}

// Tests stay in the order too, lest a package be usable only together with the
// one above it.
func TestTestImports(t *testing.T) {
	for _, p := range list(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		if !isDomain(name) {
			continue
		}
		for _, imported := range append(slices.Clone(p.TestImports), p.XTestImports...) {
			inner, ours := strings.CutPrefix(imported, module)
			if !ours || inner == name {
				continue
			}
			if strings.HasPrefix(inner, "io/") || strings.HasPrefix(inner, "cmd/") {
				t.Errorf("the tests of %s import %s: %s", name, imported, whyDomain)
			}
		}
	}
}

const whyDomain = "domain packages build and are tested with Go alone; what reads files stands above them"

// forbids returns why a package may not import another, or "".
func (r rule) forbids(name, imported string) string {
	if inner, ours := strings.CutPrefix(imported, module); ours {
		for _, allowed := range r.project {
			root, whole := strings.CutSuffix(allowed, "/...")
			if inner == allowed || whole && strings.HasPrefix(inner, root+"/") {
				return ""
			}
		}
		return "it may import of this project only: " + orNothing(r.project) + " (imports go one way, upward in the table)"
	}
	if first, _, _ := strings.Cut(imported, "/"); strings.Contains(first, ".") {
		for _, m := range r.outside {
			if imported == m || strings.HasPrefix(imported, m+"/") {
				if imported == orb+"/geo" {
					return "sites are in plane metres: use orb/planar, orb/geo measures on the globe"
				}
				if strings.HasPrefix(imported, orb+"/geojson") && name != "io/vector" {
					return "GeoJSON is read and written in io/vector alone, which checks what orb takes silently"
				}
				return ""
			}
		}
		return "it may import modules only: " + orNothing(r.outside)
	}
	if isDomain(name) {
		if why, bad := banned[imported]; bad {
			return why
		}
		if imported == "C" || path.Dir(imported) == "encoding" {
			return whyDomain
		}
	}
	return ""
}

func isDomain(name string) bool {
	return strings.HasPrefix(name, "terrain") || strings.HasPrefix(name, "routing")
}

func orNothing(names []string) string {
	if len(names) == 0 {
		return "nothing"
	}
	return strings.Join(names, ", ")
}

// The rules must be able to fail.
func TestRulesForbid(t *testing.T) {
	for _, tt := range []struct {
		name, imported string
		forbidden      bool
	}{
		{"terrain/fill", "curbfall/terrain/grid", false},
		{"terrain/grid", "curbfall/terrain/fill", true},
		{"routing/search", "curbfall/io/units", true},
		{"routing/hydraulics", "curbfall/routing/network", true},
		{"routing/design", "curbfall/terrain/lowspot", false},
		{"terrain/grid", "os", true},
		{"terrain/grid", "encoding/json", true},
		{"terrain/grid", "math", false},
		{"routing/profile", godal, true},
		{"routing/search", orb + "/planar", false},
		{"routing/search", orb + "/geo", true},
		{"routing/search", orb + "/geojson", true},
		{"io/vector", orb + "/geojson", false},
		{"cmd/internal/lotrun", cobra, true},
		{"cmd/curbfall", godal, true},
	} {
		if why := rules[tt.name].forbids(tt.name, tt.imported); (why != "") != tt.forbidden {
			t.Errorf("%s importing %s: %q", tt.name, tt.imported, why)
		}
	}
}

// A machine without a C compiler builds terrain and routing.
func TestDomainBuildsWithoutC(t *testing.T) {
	cmd := exec.Command("go", "build", "./terrain/...", "./routing/...")
	cmd.Dir = repoRoot
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("CGO_ENABLED=0 go build ./terrain/... ./routing/...: %v\n%s", err, out)
	}
}
