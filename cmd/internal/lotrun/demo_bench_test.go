package lotrun

import (
	"context"
	"path/filepath"
	"testing"
)

func BenchmarkDemo(b *testing.B) {
	for range b.N {
		if _, err := Demo(context.Background(), Output{Folder: filepath.Join(b.TempDir(), "demo")}); err != nil {
			b.Fatal(err)
		}
	}
}
