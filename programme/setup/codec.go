package setup

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// reader collects what is wrong while a file is read.
type reader struct {
	file     string
	problems Problems
}

func (r *reader) wrong(n *yaml.Node, key, says string, args ...any) {
	line := 0
	if n != nil {
		line = n.Line
	}
	r.problems = append(r.problems, Problem{r.file, line, key, fmt.Sprintf(says, args...)})
}

// field is one key of a mapping of values T.
type field[T any] struct {
	key      string
	help     string // what it means, written as a comment by the writer
	required bool
	read     func(r *reader, n *yaml.Node, path string, into *T)
	// write returns nil when the value is what is read without the key, unless
	// all is asked for (a comparison wants every value named).
	write func(from *T, all bool) *yaml.Node
	// blank is what a needed key holds when there is nothing to write.
	blank func() *yaml.Node
}

// needed marks a key that must be there.
func (f field[T]) needed() field[T] { f.required = true; return f }

// maxFile is the greatest size of a file of settings; a real one has some kilobytes.
const maxFile = 4 << 20

// document parses text into its one mapping.
func (r *reader) document(text []byte) *yaml.Node {
	switch {
	case len(text) > maxFile:
		r.wrong(nil, "", "the file has %d bytes; at most %d are read", len(text), maxFile)
		return nil
	case !utf8.Valid(text):
		r.wrong(nil, "", "the file is not UTF-8 text; save it as UTF-8")
		return nil
	case bytes.IndexByte(text, 0) >= 0:
		r.wrong(nil, "", "the file holds a NUL byte; it is not a text file")
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(text))
	var doc yaml.Node
	if err := dec.Decode(&doc); err != nil {
		r.syntax(err, text)
		return nil
	}
	var more yaml.Node
	if err := dec.Decode(&more); !errors.Is(err, io.EOF) {
		r.wrong(&more, "", "a second document begins with ---; keep one document in the file")
		return nil
	}
	root := doc.Content[0]
	if root.Kind != yaml.MappingNode {
		r.wrong(root, "", "read %s; write keys and values, such as name: Corner Press", describe(root))
		return nil
	}
	if r.aliases(root); len(r.problems) > 0 {
		return nil
	}
	return root
}

// aliases refuses YAML's *name: a value that stands elsewhere is easily
// changed by mistake, and a few lines of aliases can mean a gigabyte.
func (r *reader) aliases(n *yaml.Node) {
	if n.Kind == yaml.AliasNode {
		r.wrong(n, "", "*%s repeats a value from elsewhere, which is not read here; write the value out", short(n.Value))
	}
	for _, c := range n.Content {
		r.aliases(c)
	}
}

func (r *reader) syntax(err error, text []byte) {
	if errors.Is(err, io.EOF) {
		r.wrong(nil, "", "the file is empty")
		return
	}
	says := strings.TrimPrefix(err.Error(), "yaml: ")
	line := 0
	if _, after, ok := strings.Cut(says, "line "); ok {
		number, rest, _ := strings.Cut(after, ": ")
		if n, err := strconv.Atoi(number); err == nil {
			line, says = n, rest
		}
	}
	if lines := bytes.Split(text, []byte("\n")); line > 0 && line <= len(lines) && bytes.IndexByte(lines[line-1], '\t') >= 0 {
		says += " (the line holds a tab; indent with blanks)"
	}
	r.problems = append(r.problems, Problem{r.file, line, "", "this is not well-formed YAML: " + says})
}

// mapping reads the keys of a mapping by its table.
func mapping[T any](r *reader, n *yaml.Node, path string, table []field[T], into *T) {
	if n.Kind != yaml.MappingNode {
		r.wrong(n, path, "read %s; write keys and values under it", describe(n))
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if first, again := seen[k.Value]; again {
			r.wrong(k, join(path, k.Value), "the key stands twice, first in line %d; keep one", first)
			continue
		}
		seen[k.Value] = k.Line
		f, ok := lookup(table, k.Value)
		if !ok {
			r.unknown(k, path, keys(table))
			continue
		}
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
	if near, ok := nearest(k.Value, known); ok {
		r.wrong(k, path, "unknown key %s; did you mean %s?", short(k.Value), near)
		return
	}
	r.wrong(k, path, "unknown key %s; known here are: %s", short(k.Value), strings.Join(known, ", "))
}

func lookup[T any](table []field[T], key string) (field[T], bool) {
	for _, f := range table {
		if f.key == key {
			return f, true
		}
	}
	return field[T]{}, false
}

func keys[T any](table []field[T]) []string {
	all := make([]string, len(table))
	for i, f := range table {
		all[i] = f.key
	}
	return all
}

// encode writes a value by its table; keys at their default are left out.
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

func join(path, key string) string {
	key = short(key)
	if path == "" {
		return key
	}
	return path + "." + key
}

// short keeps an error readable when somebody pasted a page into a key.
func short(s string) string {
	r := []rune(s)
	if len(r) > 60 {
		return string(r[:57]) + "..."
	}
	return s
}

func describe(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "keys and values"
	case yaml.SequenceNode:
		return "a list"
	case yaml.ScalarNode:
		if n.Tag == "!!null" {
			return "nothing"
		}
		return strconv.Quote(short(n.Value))
	default:
		return "something else"
	}
}

// value builds a field that is one scalar.
func value[T, V any](key, help string, at func(*T) *V, parse func(string) (V, error), format func(V) string, isDefault func(V) bool) field[T] {
	return field[T]{
		key: key, help: help, blank: blankText,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.ScalarNode || n.Tag == "!!null" {
				r.wrong(n, path, "read %s; write one value%s", describe(n), inBrackets(help))
				return
			}
			v, err := parse(n.Value)
			if err != nil {
				r.wrong(n, path, "%s", err)
				return
			}
			*at(into) = v
		},
		write: func(from *T, all bool) *yaml.Node {
			if v := *at(from); all || !isDefault(v) {
				return scalar(format(v))
			}
			return nil
		},
	}
}

// same says a value is left out of a written file when it is v.
func same[V comparable](v V) func(V) bool { return func(x V) bool { return x == v } }

func text[T any](key, help string, at func(*T) *string) field[T] {
	return value(key, help, at, parseText, func(s string) string { return s }, same(""))
}

// maxText bounds names and notes; nothing that a person types is longer.
const maxText = 500

func parseText(s string) (string, error) {
	s = strings.TrimSpace(s)
	if n := utf8.RuneCountInString(s); n > maxText {
		return "", fmt.Errorf("the text has %d letters; write at most %d", n, maxText)
	}
	if i := strings.IndexFunc(s, unicode.IsControl); i >= 0 {
		return "", fmt.Errorf("the text holds a line break or another control character; write it on one line")
	}
	return s, nil
}

// code is a short name that other files use: letters, digits, - and _.
func code[T any](key, help string, at func(*T) *string) field[T] {
	return value(key, help, at, ParseCode, func(s string) string { return s }, same(""))
}

// ParseCode reads a code: up to 40 letters, digits, hyphens and underscores.
func ParseCode(s string) (string, error) {
	bad := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-' && r != '_' })
	if s == "" || bad >= 0 || utf8.RuneCountInString(s) > 40 {
		return "", fmt.Errorf("%q is not a code; write up to 40 letters, digits, - and _, such as tee-ring", short(s))
	}
	return s, nil
}

func whole[T any](key, help string, least, most, otherwise int, at func(*T) *int) field[T] {
	parse := func(s string) (int, error) {
		v, err := strconv.Atoi(s)
		if err != nil || v < least || v > most {
			return 0, fmt.Errorf("read %q; write a whole number from %d to %d", short(s), least, most)
		}
		return v, nil
	}
	return value(key, help, at, parse, strconv.Itoa, same(otherwise))
}

func number[T any](key, help string, least, most, otherwise float64, at func(*T) *float64) field[T] {
	return value(key, help, at, func(s string) (float64, error) { return parseNumber(s, least, most) }, formatNumber, same(otherwise))
}

func parseNumber(s string, least, most float64) (float64, error) {
	if v, err := strconv.ParseFloat(strings.TrimSuffix(s, "%"), 64); err == nil && strings.HasSuffix(s, "%") {
		return 0, fmt.Errorf("read %q; write %s per cent as %s", short(s), formatNumber(v), formatNumber(v/100))
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || v < least || v > most {
		return 0, fmt.Errorf("read %q; write a number from %s to %s", short(s), formatNumber(least), formatNumber(most))
	}
	return v, nil
}

func formatNumber(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func yesNo[T any](key, help string, at func(*T) *bool) field[T] {
	return yesUnless(key, help, false, at)
}

// yesUnless is a yes or no that is otherwise where the file is silent.
func yesUnless[T any](key, help string, otherwise bool, at func(*T) *bool) field[T] {
	parse := func(s string) (bool, error) {
		switch strings.ToLower(s) {
		case "yes", "true":
			return true, nil
		case "no", "false":
			return false, nil
		}
		return false, fmt.Errorf("read %q; write yes or no", short(s))
	}
	return value(key, help, at, parse, func(v bool) string {
		if v {
			return "yes"
		}
		return "no"
	}, same(otherwise))
}

func money[T any](key, help string, at func(*T) *programme.Money) field[T] {
	parse := func(s string) (programme.Money, error) {
		v, err := programme.ParseMoney(s)
		if err == nil && v < 0 {
			return 0, fmt.Errorf("read %q; an amount here cannot be below 0", short(s))
		}
		return v, err
	}
	return value(key, help, at, parse, programme.Money.Decimal, same(programme.Money(0)))
}

func length[T any](key, help string, otherwise programme.Length, at func(*T) *programme.Length) field[T] {
	return value(key, help, at, programme.ParseLength, formatLength, same(otherwise))
}

// formatLength writes inches where they come out short, else millimetres; both read back exactly.
func formatLength(l programme.Length) string {
	in := strconv.FormatFloat(l.Inches(), 'f', -1, 64)
	if len(in) <= 6 {
		return in + "in"
	}
	return strconv.FormatFloat(l.Millimetres(), 'f', -1, 64) + "mm"
}

func temperature[T any](key, help string, at func(*T) *programme.Temperature) field[T] {
	format := func(t programme.Temperature) string {
		f := strconv.FormatFloat(math.Round(t.Fahrenheit()*1000)/1000, 'f', -1, 64) + "F"
		if back, err := programme.ParseTemperature(f); err == nil && back == t {
			return f
		}
		return strconv.FormatFloat(float64(t), 'f', -1, 64) + "C"
	}
	return value(key, help, at, programme.ParseTemperature, format, same(programme.Temperature(0)))
}

func date[T any](key, help string, at func(*T) *programme.Date) field[T] {
	return value(key, help, at, programme.ParseDate, programme.Date.String, same(programme.Date(0)))
}

// word is one of a few fixed words.
func word[T any, W ~string](key, help string, words []W, otherwise W, at func(*T) *W) field[T] {
	parse := func(s string) (W, error) {
		list := make([]string, 0, len(words))
		for _, w := range words {
			if string(w) == s {
				return w, nil
			}
			list = append(list, string(w))
		}
		if near, ok := nearest(s, list); ok {
			return "", fmt.Errorf("read %q; did you mean %s?", short(s), near)
		}
		return "", fmt.Errorf("read %q; write one of: %s", short(s), strings.Join(list, ", "))
	}
	return value(key, help, at, parse, func(w W) string { return string(w) }, same(otherwise))
}

// email is a bare mail address, such as ann@shop.example.
func email[T any](key, help string, at func(*T) *string) field[T] {
	return value(key, help, at, ParseEmail, func(s string) string { return s }, same(""))
}

// ParseEmail reads one bare ASCII address with a dot in its domain. It is
// narrower than RFC 5321 on purpose: what a shop types by hand looks like this.
func ParseEmail(s string) (string, error) {
	local, domain, ok := strings.Cut(s, "@")
	fine := func(part, extra string) bool {
		return part != "" && strings.IndexFunc(part, func(r rune) bool {
			return r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune(extra, r)
		}) < 0 && !strings.HasPrefix(part, ".") && !strings.HasSuffix(part, ".") && !strings.Contains(part, "..")
	}
	if !ok || len(s) > 254 || !fine(local, "._%+-'") || !fine(domain, ".-") || !strings.Contains(domain, ".") {
		return "", fmt.Errorf("read %q; write one mail address, such as ann@shop.example", short(s))
	}
	return s, nil
}

// list builds a field that is a list of mappings.
func list[T, E any](key, help string, table []field[E], fresh E, at func(*T) *[]E) field[T] {
	return field[T]{
		key: key, help: help, blank: blankList,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.SequenceNode {
				r.wrong(n, path, "read %s; write a list, each entry with - in front", describe(n))
				return
			}
			for i, item := range n.Content {
				e := fresh
				mapping(r, item, fmt.Sprintf("%s[%d]", path, i+1), table, &e)
				*at(into) = append(*at(into), e)
			}
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

// quiet drops the comments of all entries of a list but the first: one
// explanation is help, fifty are noise.
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
		key: key, help: help, blank: func() *yaml.Node { return &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle} },
		read: func(r *reader, n *yaml.Node, path string, into *T) { mapping(r, n, path, table, at(into)) },
		write: func(from *T, all bool) *yaml.Node {
			if n := encode(table, at(from), all); len(n.Content) > 0 {
				return n
			}
			return nil
		},
	}
}

// names builds a field that maps names of the owner's choosing to values.
func names[T, V any](key, help string, at func(*T) *map[string]V, read func(*reader, *yaml.Node, string) (V, bool), write func(V) *yaml.Node) field[T] {
	return field[T]{
		key: key, help: help,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.MappingNode {
				r.wrong(n, path, "read %s; write names and values under it", describe(n))
				return
			}
			m := map[string]V{}
			for i := 0; i+1 < len(n.Content); i += 2 {
				k := n.Content[i]
				if _, again := m[k.Value]; again {
					r.wrong(k, join(path, k.Value), "the name stands twice; keep one")
					continue
				}
				if v, ok := read(r, n.Content[i+1], join(path, k.Value)); ok {
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
			for _, k := range sortedKeys(*at(from)) {
				n.Content = append(n.Content, scalar(k), write((*at(from))[k]))
			}
			return n
		},
	}
}
