package lotrun

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path/filepath"
	"testing"
)

// An input is named by its file's bytes; a folder, or what lies in an archive, by
// what was read of it; and a file that is always local is missed when it is gone.
func TestDigest(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "site.geojson")
	if err := os.WriteFile(file, []byte("lines"), 0o600); err != nil {
		t.Fatal(err)
	}
	read := func(w io.Writer) error { _, err := io.WriteString(w, "features"); return err }
	for path, want := range map[string]string{file: "lines", folder: "features", "/vsizip/" + file + ".zip": "features"} {
		got, err := digest(path, read)
		if sum := sha256.Sum256([]byte(want)); err != nil || got.Path != path || got.SHA256 != hex.EncodeToString(sum[:]) {
			t.Errorf("%s: %v, %v, want the hash of %q", path, got, err, want)
		}
	}
	if _, err := digest(filepath.Join(folder, "gone.yaml"), nil); err == nil {
		t.Error("a file that is gone has a hash")
	}
}
