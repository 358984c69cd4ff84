package setup

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"go.yaml.in/yaml/v3"
)

// field is one key of a mapping of values T.
type field[T any] struct {
	key      string
	help     string // what it means, written as a comment by the writer
	required bool
	read     func(r *reader, n *yaml.Node, path string, into *T)
	// write returns nil when the value is what is read without the key, unless
	// all is asked for (a comparison wants every value named).
	write func(from *T, all bool) *yaml.Node
	// blank makes the value of a needed key when there is nothing to write.
	blank func() *yaml.Node
}

// needed marks a key that must be there.
func (f field[T]) needed() field[T] { f.required = true; return f }

// unsaid marks a key that is left out at its default even where all keys are written, so
// that a comparison of two files passes over it.
func (f field[T]) unsaid() field[T] {
	quiet := f.write
	f.write = func(from *T, _ bool) *yaml.Node { return quiet(from, false) }
	return f
}

// mapping reads the keys of a mapping by its table.
func mapping[T any](r *reader, n *yaml.Node, path string, table []field[T], into *T) {
	if n.Kind != yaml.MappingNode {
		r.wrong(n, path, "read %s; write keys and values under it", describe(n))
		return
	}
	seen := map[string]int{}
	for k, v := range pairs(n) {
		if first, again := seen[k.Value]; again {
			r.wrong(k, join(path, k.Value), "the key stands twice, first in line %d; keep one", first)
			continue
		}
		seen[k.Value] = k.Line
		i := slices.IndexFunc(table, func(f field[T]) bool { return f.key == k.Value })
		if i < 0 {
			r.unknown(k, path, keys(table))
			continue
		}
		f := &table[i]
		if f.required && v.Kind == yaml.ScalarNode && strings.TrimSpace(v.Value) == "" {
			r.wrong(v, join(path, k.Value), "read nothing; this must be given%s", inBrackets(f.help))
			continue
		}
		f.read(r, v, join(path, k.Value), into)
	}
	for _, f := range table {
		if _, there := seen[f.key]; f.required && !there {
			r.wrong(n, path, "the key %s is missing%s", f.key, inBrackets(f.help))
		}
	}
}

func inBrackets(help string) string {
	if help == "" {
		return ""
	}
	return " (" + help + ")"
}

func (r *reader) unknown(k *yaml.Node, path string, known []string) {
	if _, err := strconv.Atoi(k.Value); err == nil {
		r.wrong(k, path, "unknown key %s; a decimal is written with a point, such as 4.10", short(k.Value))
		return
	}
	if r.refuse != nil {
		if why := r.refuse(k.Value); why != "" {
			r.wrong(k, join(path, k.Value), "%s", why)
			return
		}
	}
	if near, ok := nearest(k.Value, known); ok {
		r.wrong(k, path, "unknown key %s; did you mean %s?", short(k.Value), near)
		return
	}
	r.wrong(k, path, "unknown key %s; known here are: %s", short(k.Value), strings.Join(known, ", "))
}

func keys[T any](table []field[T]) []string {
	all := make([]string, len(table))
	for i, f := range table {
		all[i] = f.key
	}
	return all
}

// encode writes a value by its table; keys at their default are left out unless all is true.
func encode[T any](table []field[T], from *T, all bool) *yaml.Node {
	n := &yaml.Node{Kind: yaml.MappingNode}
	for _, f := range table {
		v := f.write(from, all)
		if v == nil && f.required {
			v = f.blank()
		}
		if v == nil {
			continue
		}
		k := scalar(f.key)
		if f.help != "" && v.Kind == yaml.ScalarNode {
			v.LineComment = f.help
		} else if f.help != "" {
			k.HeadComment = f.help
		}
		n.Content = append(n.Content, k, v)
	}
	return n
}

func blankText() *yaml.Node { return scalar("") }

func blankList() *yaml.Node { return &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle} }

func scalar(s string) *yaml.Node {
	n := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: s}
	if plain(s) {
		n.Tag = ""
	} else {
		n.Style = yaml.DoubleQuotedStyle
	}
	return n
}

// plain reports whether a text reads back as itself without quotes. All scalars
// are read as they are written, so 010 and yes are texts like any other.
func plain(s string) bool {
	if s == "" || s != strings.TrimSpace(s) || s == "~" || strings.EqualFold(s, "null") {
		return false
	}
	for i, r := range s {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && (i == 0 || !strings.ContainsRune(" ._/+@-", r)) {
			return false
		}
	}
	return true
}
