package profile

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"curbfall/routing/constraint"
)

// repoRoot is where relative paths start; tests run in their package.
var repoRoot = filepath.Join("..", "..")

// outsideCase is a case of format profile-case/1.
type outsideCase struct {
	Format   string
	ID       string
	Station  []float64
	Ground   []float64
	Cover    float64
	Outside  float64 `json:"od"`
	DepthMax float64 `json:"dmax"`
	SlopeMin float64 `json:"smin"`
	SlopeMax float64 `json:"smax"`
	EndMin   float64 `json:"end_min"`
	Expected struct {
		Feasible   bool
		FewestRuns *int     `json:"fewest_runs"`
		HighestEnd *float64 `json:"highest_end"`
	}
}

func (o outsideCase) chain() *Chain {
	c := NewChain()
	for k, s := range o.Station {
		c.Stations = append(c.Stations, constraint.Free(s, o.Ground[k]-o.Cover-o.Outside, o.Ground[k]-o.DepthMax))
	}
	c.Stretches = []Stretch{{To: c.End(), SlopeMin: o.SlopeMin}}
	c.SlopeMax, c.EndMin = o.SlopeMax, o.EndMin
	return c
}

// TestCases solves outside cases of fewest runs; their answers come from other
// programs. CURBFALL_CASES names the folder, from the repository's root where
// relative. Cases of other formats belong to other packages and are counted.
func TestCases(t *testing.T) {
	folder, named := os.LookupEnv("CURBFALL_CASES")
	if !named || folder == "" {
		named, folder = false, filepath.Join("..", "shared", "cases")
	}
	if !filepath.IsAbs(folder) {
		folder = filepath.Join(repoRoot, folder)
	}
	if _, err := os.Stat(folder); os.IsNotExist(err) && !named {
		t.Skip("no folder of outside cases, which are no part of the repository, beside it; name one in CURBFALL_CASES")
	} else if err != nil {
		t.Fatal(err)
	}
	paths, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	ran, others := 0, map[string]int{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var o outsideCase
		head := struct{ Format string }{}
		if err := json.Unmarshal(text, &head); err != nil {
			t.Fatalf("%s: %v", filepath.Base(path), err)
		}
		if head.Format != "profile-case/1" {
			others[head.Format]++
			continue
		}
		if err := json.Unmarshal(text, &o); err != nil {
			t.Fatalf("%s: %v", filepath.Base(path), err)
		}
		ran++
		t.Run(o.ID, func(t *testing.T) { o.compare(t) })
	}
	if len(paths) == 0 {
		t.Fatalf("%s holds no cases", folder)
	}
	var counts []string
	for f, n := range others {
		counts = append(counts, fmt.Sprintf("%d %s", n, f))
	}
	sort.Strings(counts)
	t.Logf("%d cases solved, left to other packages: %s", ran, strings.Join(counts, ", "))
}

func (o outsideCase) compare(t *testing.T) {
	c := o.chain()
	laid, err := Solve(c)
	var short *Shortfall
	var breaks *BreaksError
	if err != nil && !errors.As(err, &short) && !errors.As(err, &breaks) {
		t.Fatal(err)
	}
	if (err == nil) != o.Expected.Feasible {
		t.Fatalf("feasible %v, expected %v: %v", err == nil, o.Expected.Feasible, err)
	}
	if err == nil {
		if bad := Check(c, laid); bad != nil {
			t.Errorf("runs break the law: %v", bad)
		}
		if n := o.Expected.FewestRuns; n != nil && len(laid) != *n {
			t.Errorf("%d runs, expected %d: %v", len(laid), *n, laid)
		}
	}
	// The expected number holds to 1e-6 m, the last digit of the files.
	if want := o.Expected.HighestEnd; want != nil {
		y, _ := Highest(c)
		if got := y[len(y)-1]; math.Abs(got-*want) > 1e-6 {
			t.Errorf("highest end %.7f, expected %.7f", got, *want)
		}
	}
}
