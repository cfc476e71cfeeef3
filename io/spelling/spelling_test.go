package spelling_test

import (
	"fmt"

	"curbfall/io/spelling"
)

func ExampleNearest() {
	known := []string{"curb", "culvert", "tree", "downspout"}
	for _, word := range []string{"kerb", "Tree", "down_spouts"} {
		fmt.Println(spelling.Nearest(word, known))
	}
	// Output:
	// curb 2
	// tree 0
	// downspout 2
}
