package crs

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func parse(t *testing.T, text string) *System {
	t.Helper()
	s, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Units by the EPSG registry: the US survey foot is 1200/3937 m, the
// international one 0.3048 m exactly. A horizontal unit in feet says nothing
// of the vertical one.
func TestUnits(t *testing.T) {
	const usFoot = 1200.0 / 3937
	none := math.NaN()
	for _, c := range []struct {
		code       string
		geographic bool
		horizontal float64
		vertical   float64 // NaN: not said
	}{
		{"EPSG:4326", true, 1, none},
		{"EPSG:26917", false, 1, none},
		{"EPSG:2263", false, usFoot, none}, // New York, ftUS
		{"EPSG:2236", false, usFoot, none}, // Florida, ftUS
		{"EPSG:2222", false, 0.3048, none}, // Arizona, ft
		{"EPSG:26917+5703", false, 1, 1},   // NAVD88 height, m
		{"EPSG:2263+6360", false, usFoot, usFoot},
		{"EPSG:2263+5703", false, usFoot, 1}, // feet across, metres up
		{"EPSG:26917+6360", false, 1, usFoot},
		{"EPSG:2222+8228", false, 0.3048, 0.3048}, // NAVD88 height, ft
		{"EPSG:5498", true, 1, 1},                 // NAD83 + NAVD88
	} {
		s := parse(t, c.code)
		again := parse(t, s.WKT)
		for _, s := range []*System{s, again} {
			if s.Geographic != c.geographic || math.Abs(s.MetresPerUnit-c.horizontal) > 1e-12 {
				t.Errorf("%s: geographic %v, %v m, want %v, %v m", c.code, s.Geographic, s.MetresPerUnit, c.geographic, c.horizontal)
			}
			if math.IsNaN(s.MetresPerVertical) != math.IsNaN(c.vertical) || math.Abs(s.MetresPerVertical-c.vertical) > 1e-12 {
				t.Errorf("%s: vertical unit %v m, want %v", c.code, s.MetresPerVertical, c.vertical)
			}
		}
	}
}

func TestRefused(t *testing.T) {
	for _, text := range []string{
		"", "EPSG:1", "EPSG:5703", "EPSG:4978", "EPSG:", "26917", "WGS84", "http://127.0.0.1:9/x", "crs.wkt", "+proj=utm +zone=17",
		"EPSG:26917\nEPSG:1", "PROJCS[\"cut short\n", `LOCAL_CS["site",UNIT["metre",1]]`, "NO_SUCH[" + strings.Repeat("x\n", 500),
	} {
		s, err := Parse(text)
		if err == nil {
			t.Errorf("%q is %q", text, s.Name)
		} else if strings.Contains(err.Error(), "\n") || len(err.Error()) > 200 {
			t.Errorf("not one short line: %q", err)
		}
	}
}

func TestUTM(t *testing.T) {
	for _, c := range []struct {
		system   string
		lon, lat float64
		want     string
	}{
		{"EPSG:4326", -80.7, 28, "WGS 84 / UTM zone 17N"},
		{"EPSG:4269", -80.7, 28, "NAD83 / UTM zone 17N"},
		{"EPSG:5498", -80.7, 28, "NAD83 / UTM zone 17N"},
		{"EPSG:4258", 3.8, 43.6, "ETRS89 / UTM zone 31N"},
		{"EPSG:4326", 151.2, -33.9, "WGS 84 / UTM zone 56S"},
		{"EPSG:4326", 180, 10, "WGS 84 / UTM zone 60N"},
		{"EPSG:4326", -180, 10, "WGS 84 / UTM zone 1N"},
	} {
		s, err := parse(t, c.system).UTM(c.lon, c.lat)
		if err != nil || s.Name != c.want {
			t.Errorf("%s at %v %v: %v, %v, want %s", c.system, c.lon, c.lat, s, err, c.want)
		}
	}
}

// On the central meridian of a zone, on the equator, easting is 500 km and
// northing 0 by definition; there and back is the same place.
func TestMove(t *testing.T) {
	wgs, err := WGS84()
	if err != nil {
		t.Fatal(err)
	}
	const foot = 1200.0 / 3937
	for _, code := range []string{"EPSG:32617", "EPSG:2236", "EPSG:4269"} {
		there, err := NewMover(wgs, parse(t, code))
		if err != nil {
			t.Fatal(err)
		}
		back, err := NewMover(parse(t, code), wgs)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []orb.Point{{-81, 28}, {-80.68, 28.03}} {
			q, err := there.Move(p)
			if err != nil {
				t.Fatal(err)
			}
			r, err := back.Move(q)
			if err != nil || math.Hypot(r[0]-p[0], r[1]-p[1]) > 1e-9 {
				t.Errorf("%s: %v comes back as %v, %v", code, p, r, err)
			}
		}
		there.Close()
		back.Close()
	}
	m, err := NewMover(wgs, parse(t, "EPSG:32617"))
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	if p, err := m.Move(orb.Point{-81, 0}); err != nil || math.Hypot(p[0]-500000, p[1]) > 1e-6 {
		t.Errorf("%v, %v", p, err)
	}
	// EPSG:2236 (Florida East): false easting 656166.667 ftUS is 200 km on 81 W.
	e, err := NewMover(parse(t, "EPSG:4269"), parse(t, "EPSG:2236"))
	if err != nil {
		t.Fatal(err)
	}
	defer e.Close()
	if p, err := e.Move(orb.Point{-81, 28}); err != nil || math.Abs(p[0]-200000) > 1e-3 || math.Abs(656166.667*foot-200000) > 1e-3 {
		t.Errorf("%v, %v", p, err)
	}
	if _, err := m.Move(orb.Point{math.NaN(), 0}); err == nil {
		t.Error("no number moved")
	}
}
