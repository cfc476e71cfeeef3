package raster

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"sync/atomic"
	"testing"
	"time"
)

// A server that fails at any one request costs a wait, not the run: GDAL keeps
// a miss in mind, so asking again is not enough by itself.
func TestNetwork(t *testing.T) {
	data, err := os.ReadFile(newMade("EPSG:26915+5703").write(t))
	if err != nil {
		t.Fatal(err)
	}
	const cut = 0 // the connection is closed without an answer
	for _, status := range []int{http.StatusNotFound, http.StatusServiceUnavailable, cut} {
		for fails := int64(1); fails <= 3; fails++ {
			t.Run(fmt.Sprintf("status %d at request %d", status, fails), func(t *testing.T) {
				var asked atomic.Int64
				server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
					switch {
					case r.URL.Path != "/ground.tif":
						http.NotFound(w, r)
					case asked.Add(1) != fails:
						http.ServeContent(w, r, "ground.tif", time.Time{}, bytes.NewReader(data))
					case status == cut:
						panic(http.ErrAbortHandler)
					default:
						w.WriteHeader(status)
					}
				}))
				defer server.Close()
				d, err := Open("/vsicurl/"+server.URL+"/ground.tif", "")
				if err != nil {
					t.Fatal(err)
				}
				defer d.Close()
				w, err := d.ReadAll()
				if err != nil || w.Z[1] != 101 {
					t.Errorf("%v", err)
				}
				if asked.Load() < fails {
					t.Errorf("only %d requests: nothing failed", asked.Load())
				}
			})
		}
	}
}

// One that always fails is refused on one line, after the tries.
func TestNetworkDown(t *testing.T) {
	server := httptest.NewServer(http.NotFoundHandler())
	defer server.Close()
	_, err := Open("/vsicurl/"+server.URL+"/ground.tif", "")
	if err == nil {
		t.Fatal("opened")
	}
	check(t, err, []string{"ground.tif", "cannot be read"})
}
