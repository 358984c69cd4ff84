package setup

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Checks of what entries say about each other. They run once every value by
// itself is well-formed, so that one slip is not reported three times.

// known reports an unknown reference with the nearest code there is.
func (r *reader) known(n *yaml.Node, path, code, what string, have []string) {
	if slices.Contains(have, code) {
		return
	}
	if len(have) == 0 {
		r.wrong(n, path, "there is no %s %q; none is set up yet", what, short(code))
		return
	}
	if near, ok := nearest(code, have); ok {
		r.wrong(n, path, "there is no %s %q; did you mean %s?", what, short(code), near)
		return
	}
	r.wrong(n, path, "there is no %s %q; known are: %s", what, short(code), strings.Join(have, ", "))
}

// unique reports codes that stand twice.
func unique[E any](r *reader, root *yaml.Node, key string, list []E, codeOf func(*E) string) {
	seen := map[string]bool{}
	for i := range list {
		c := codeOf(&list[i])
		if seen[c] {
			r.wrong(at(root, key, i), key, "the code %q stands twice; codes must differ", short(c))
		}
		seen[c] = true
	}
}

func codesOf[E any](list []E, codeOf func(*E) string) []string {
	all := make([]string, len(list))
	for i := range list {
		all[i] = codeOf(&list[i])
	}
	return all
}

// at finds the node of a path of keys and list positions, for its line; the
// nearest enclosing node when the path is not there.
func at(n *yaml.Node, path ...any) *yaml.Node {
	for _, step := range path {
		next := child(n, step)
		if next == nil {
			return n
		}
		n = next
	}
	return n
}

func child(n *yaml.Node, step any) *yaml.Node {
	switch s := step.(type) {
	case string:
		if n.Kind != yaml.MappingNode {
			return nil
		}
		for k, v := range pairs(n) {
			if k.Value == s {
				return v
			}
		}
	case int:
		if n.Kind == yaml.SequenceNode && s < len(n.Content) {
			return n.Content[s]
		}
	}
	return nil
}
