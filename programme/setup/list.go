package setup

import (
	"fmt"
	"maps"
	"slices"

	"go.yaml.in/yaml/v3"
)

// list builds a field that is a list of mappings.
func list[T, E any](key, help string, table []field[E], fresh E, at func(*T) *[]E) field[T] {
	return field[T]{
		key: key, help: help, blank: blankList,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			eachEntry(r, n, path, func(entry *yaml.Node, path string) {
				e := fresh
				mapping(r, entry, path, table, &e)
				*at(into) = append(*at(into), e)
			})
		},
		write: func(from *T, all bool) *yaml.Node {
			if len(*at(from)) == 0 && !all {
				return nil
			}
			n := &yaml.Node{Kind: yaml.SequenceNode}
			for i := range *at(from) {
				e := encode(table, &(*at(from))[i], all)
				if i > 0 {
					quiet(e)
				}
				n.Content = append(n.Content, e)
			}
			return n
		},
	}
}

// eachEntry reads each entry of a list; their paths end in [1], [2], ...
func eachEntry(r *reader, n *yaml.Node, path string, read func(entry *yaml.Node, path string)) {
	if n.Kind != yaml.SequenceNode {
		r.wrong(n, path, "read %s; write a list, each entry with - in front", describe(n))
		return
	}
	for i, entry := range n.Content {
		read(entry, fmt.Sprintf("%s[%d]", path, i+1))
	}
}

// rows is a list whose entries are short enough to be written on a line each.
func rows[T, E any](key, help string, table []field[E], fresh E, at func(*T) *[]E) field[T] {
	f := list(key, help, table, fresh, at)
	inBlocks := f.write
	f.write = func(from *T, all bool) *yaml.Node {
		n := inBlocks(from, all)
		if n != nil {
			for _, c := range n.Content {
				quiet(c)
				c.Style = yaml.FlowStyle
			}
		}
		return n
	}
	return f
}

// quiet removes the comments of a node and of all below it. Lists use it for every entry but
// the first, so that each key is explained once.
func quiet(n *yaml.Node) {
	n.HeadComment, n.LineComment = "", ""
	for _, c := range n.Content {
		quiet(c)
	}
}

// texts builds a field that is a list of plain words.
func texts[T any](key, help string, parse func(string) (string, error), at func(*T) *[]string) field[T] {
	return field[T]{
		key: key, help: help, blank: blankList,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.SequenceNode {
				r.wrong(n, path, "read %s; write a list, such as [black, navy]", describe(n))
				return
			}
			for i, item := range n.Content {
				v, err := parse(item.Value)
				if item.Kind != yaml.ScalarNode || v == "" && err == nil {
					err = fmt.Errorf("read %s; write one word", describe(item))
				}
				if err != nil {
					r.wrong(item, fmt.Sprintf("%s[%d]", path, i+1), "%s", err)
					continue
				}
				*at(into) = append(*at(into), v)
			}
		},
		write: func(from *T, all bool) *yaml.Node {
			if len(*at(from)) == 0 {
				return nil
			}
			n := &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle}
			for _, s := range *at(from) {
				n.Content = append(n.Content, scalar(s))
			}
			return n
		},
	}
}

// group builds a field that is one mapping.
func group[T, E any](key, help string, table []field[E], at func(*T) *E) field[T] {
	return field[T]{
		key: key, help: help,
		blank: func() *yaml.Node { return &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle} },
		read:  func(r *reader, n *yaml.Node, path string, into *T) { mapping(r, n, path, table, at(into)) },
		write: func(from *T, all bool) *yaml.Node {
			if n := encode(table, at(from), all); len(n.Content) > 0 {
				return n
			}
			return nil
		},
	}
}

// names builds a field that maps names of the owner's choosing to values.
func names[T, V any](key, help string, at func(*T) *map[string]V, read func(*reader, *yaml.Node, string) (V, bool),
	write func(V) *yaml.Node) field[T] {
	return field[T]{
		key: key, help: help,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.MappingNode {
				r.wrong(n, path, "read %s; write names and values under it", describe(n))
				return
			}
			m := map[string]V{}
			for k, v := range pairs(n) {
				if _, again := m[k.Value]; again {
					r.wrong(k, join(path, k.Value), "the name stands twice; keep one")
					continue
				}
				if v, ok := read(r, v, join(path, k.Value)); ok {
					m[k.Value] = v
				}
			}
			*at(into) = m
		},
		write: func(from *T, all bool) *yaml.Node {
			if len(*at(from)) == 0 && !all {
				return nil
			}
			n := &yaml.Node{Kind: yaml.MappingNode}
			for _, k := range slices.Sorted(maps.Keys(*at(from))) {
				n.Content = append(n.Content, scalar(k), write((*at(from))[k]))
			}
			return n
		},
	}
}
