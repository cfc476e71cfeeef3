package criteria

import (
	"fmt"
	"strings"

	"curbfall/io/units"
	"curbfall/routing/constraint"
	"curbfall/routing/design"
)

// costs are the keys of the user's own prices: none is shipped, and who gives
// one gives those of all sizes that may be laid, since any may be chosen.
var costs = costKeys()

const costPrefix, pipeCost, digCost = "costs.", "costs.pipe.", "costs.dig"

func costKeys() (list []entry) {
	for _, n := range nominals {
		list = append(list, entry{key: pipeCost + n.label, dim: units.LengthPrice, why: n.label + " in pipe, a length laid"})
	}
	return append(list, entry{key: digCost, dim: units.AreaPrice, why: "trench, a length of it and of its depth from ground to invert"})
}

func isCost(key string) bool { return strings.HasPrefix(key, costPrefix) }

// allPriced refuses some prices without the others. The sizes that may be laid
// have been read.
func allPriced(file string, s map[string]*setting) error {
	var given *setting
	for i := range costs {
		if v := s[costs[i].key]; v.given && (given == nil || v.line < given.line) {
			given = v
		}
	}
	if given == nil {
		return nil
	}
	sizes, err := sizesOf(s["pipes.sizes"].word)
	if err != nil {
		return err
	}
	asked := []string{digCost}
	for _, n := range sizes {
		asked = append(asked, pipeCost+n.label)
	}
	for _, key := range asked {
		if !s[key].given {
			return &Error{file, given.line, fmt.Sprintf("%s has a price and %s has none; price all of pipes.sizes and costs.dig, or none", given.key, key)}
		}
	}
	return nil
}

// costsOf are the user's prices, none where none are given.
func costsOf(s map[string]*setting, of constraint.Catalogue) (c design.Costs) {
	if !s[digCost].given {
		return c
	}
	for _, b := range of.Bores {
		c.Pipe = append(c.Pipe, s[pipeCost+strings.TrimSuffix(b.Nominal, " in")].number)
	}
	c.Dig = s[digCost].number
	return c
}

// costsTemplate writes the keys as comments: there is no value to write.
func costsTemplate(b *strings.Builder) {
	b.WriteString("# costs has no defaults. Given a price for every one of pipes.sizes and for the trench, in\n# any one currency, the cheapest sizes and grades are chosen of those that take the fewest\n# grades; routes stay by length.\n# costs:\n#   pipe:\n")
	for i := range costs {
		e := &costs[i]
		indent, name := "  ", strings.TrimPrefix(e.key, costPrefix)
		if label, ok := strings.CutPrefix(e.key, pipeCost); ok {
			indent, name = "    ", key(label)
		}
		fmt.Fprintf(b, "# %s# %s, such as %q\n# %s%s:\n", indent, e.why, e.dim.Example(), indent, name)
	}
}
