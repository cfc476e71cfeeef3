package search

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"
)

// improve takes up groups of sources near each other and joins them again, round
// by round, then starts again from other orders.
func (n *net) improve(ctx context.Context, best *forest) (*forest, error) {
	rng := rand.New(rand.NewPCG(restartSeed, uint64(len(n.sources))))
	best, err := n.descend(ctx, best)
	for round := 1; round < n.rounds() && err == nil; round++ {
		order := slices.Clone(n.sources)
		rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		var f *forest
		if f, err = n.inserted(ctx, order); err != nil {
			break
		}
		if f, err = n.descend(ctx, f); err == nil && f.better(best) {
			best = f
		}
	}
	return best, err
}

// rounds is how many forests are improved: more on small lattices, where one costs next
// to nothing.
func (n *net) rounds() int {
	effort := n.Effort
	if effort == 0 {
		effort = usualEffort
	}
	return effort * min(max(usualWork/(len(n.Usable)*len(n.sources)), 1), roundsSmall)
}

// descend exchanges groups and rebuilds around junctions until nothing gives
// anything, a few rounds at most.
func (n *net) descend(ctx context.Context, best *forest) (*forest, error) {
	tried := map[string]float64{} // what was saved by each cutting tried
	told := groupMost             // pieces at most whose exchange the labels tell
	for range roundsMost {
		changed := false
		try := func(c *cutting) error {
			if c == nil {
				return nil
			}
			saved, seen := tried[c.key()]
			if seen && math.Abs(c.saved-saved) < cheaper {
				return nil // what changed since lies elsewhere
			}
			tried[c.key()] = c.saved
			f, done, err := n.exchange(ctx, best, c, groupLabels, coarse)
			if f != nil {
				best, changed = f, true
			} else if !done && len(c.members) > nearMost {
				told = min(told, len(c.members)-1)
			}
			return err
		}
		for size := 1; size <= min(nearMost, len(n.sources)); size++ {
			for _, s := range n.sources {
				if err := try(n.without(best, n.around(s, size))); err != nil {
					return nil, err
				}
			}
		}
		for _, most := range []int{2, groupMost} {
			for k := 0; k < len(best.junctions()); k++ { // they change with it
				if err := try(n.region(best, best.junctions()[k], min(most, told))); err != nil {
					return nil, err
				}
			}
		}
		if !changed {
			break
		}
	}
	return best, nil
}

// around lists a source and those nearest to it, in rising order.
func (n *net) around(s, size int) []int {
	list := slices.Clone(n.sources)
	slices.SortStableFunc(list, func(a, b int) int {
		if a == s || b == s {
			return cmp.Compare(b2i(b == s), b2i(a == s))
		}
		return cmp.Compare(n.apart[[2]int{s, a}], n.apart[[2]int{s, b}])
	})
	list = list[:size]
	slices.Sort(list)
	return list
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
