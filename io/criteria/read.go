package criteria

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// leaf is one value of a file, its groups dotted before its key.
type leaf struct {
	key, value string
	line       int
}

var yamlLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?`)

// leaves reads a criteria file of one document, in its order.
func leaves(file string, data []byte) ([]leaf, error) {
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var root, second yaml.Node
	err := dec.Decode(&root)
	if errors.Is(err, io.EOF) {
		return nil, nil
	}
	if err != nil {
		return nil, notYAML(file, err)
	}
	switch err := dec.Decode(&second); {
	case err == nil:
		return nil, &Error{file, second.Line, "a second document starts here; keep one"}
	case !errors.Is(err, io.EOF):
		return nil, notYAML(file, err)
	}
	top := root.Content[0]
	if top.Kind == yaml.ScalarNode && top.Tag == "!!null" {
		return nil, nil // comments alone
	}
	if top.Kind != yaml.MappingNode {
		return nil, &Error{file, top.Line, `wants groups such as "limits:" with keys below; see curbfall route --criteria-template`}
	}
	return flatten(file, "", top, nil)
}

func notYAML(file string, err error) error {
	text := strings.Join(strings.Fields(err.Error()), " ")
	// The library names no line where it is the first.
	m := yamlLine.FindStringSubmatch(text)
	e := &Error{File: file, Line: 1, Says: "is not YAML: " + yamlLine.ReplaceAllString(text, "")}
	if m != nil && m[1] != "" {
		e.Line, _ = strconv.Atoi(m[1])
	}
	return e
}

// flatten turns groups into dotted keys, in the file's order.
func flatten(file, prefix string, n *yaml.Node, list []leaf) ([]leaf, error) {
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i].Value
			if prefix != "" {
				key = prefix + "." + key
			}
			var err error
			if list, err = flatten(file, key, n.Content[i+1], list); err != nil {
				return nil, err
			}
		}
		return list, nil
	case yaml.ScalarNode:
		if n.Tag == "!!null" {
			switch {
			case isSize(prefix):
				return nil, &Error{file, n.Line, fmt.Sprintf("%s has nothing in it, which leaves a hole; give its diameters, take the line out for the shipped ones, or leave sizes out by pipes.sizes", prefix)}
			case isGroup(prefix):
				return list, nil // a group with nothing in it
			}
			return append(list, leaf{prefix, "", n.Line}), nil
		}
		if isGroup(prefix) {
			return nil, noGroup(file, prefix, fmt.Sprintf("%q", n.Value), n.Line)
		}
		return append(list, leaf{prefix, n.Value, n.Line}), nil
	case yaml.AliasNode:
		return nil, &Error{file, n.Line, fmt.Sprintf("%s refers to another value; write the value itself", prefix)}
	}
	if isGroup(prefix) {
		return nil, noGroup(file, prefix, "a list", n.Line)
	}
	return nil, &Error{file, n.Line, fmt.Sprintf("%s is a list; give one value", prefix)}
}

// noGroup refuses what stands where keys should.
func noGroup(file, group, what string, line int) error {
	example := ""
	for _, e := range append(slices.Clone(defaults), costs...) {
		if key, ok := strings.CutPrefix(e.key, group+"."); ok {
			if example = key; !strings.Contains(key, ".") {
				break
			}
		}
	}
	return &Error{file, line, fmt.Sprintf("%s is %s, want a mapping of keys; write them below it, one a line, such as %q", group, what, example+": ...")}
}

// isSize tells whether a key is a size of a family of pipes.
func isSize(key string) bool {
	return isGroup(key) && slices.ContainsFunc(defaults, func(e entry) bool { return e.key == key+".inside_diameter" })
}

// isGroup tells whether known keys stand below.
func isGroup(key string) bool {
	known := func(e entry) bool { return strings.HasPrefix(e.key, key+".") }
	return slices.ContainsFunc(defaults, known) || slices.ContainsFunc(costs, known)
}
