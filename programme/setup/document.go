package setup

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// reader collects what is wrong while a file is read.
type reader struct {
	file     string
	problems Problems
	// mayBeEmpty says that a file with nothing in it is no problem.
	mayBeEmpty bool
	// refuse says why an unknown key does not belong into the file; nil or empty = nothing special is wrong with it.
	refuse func(key string) string
}

func (r *reader) wrong(n *yaml.Node, key, says string, args ...any) {
	line := 0
	if n != nil {
		line = n.Line
	}
	r.problems = append(r.problems, Problem{r.file, line, key, fmt.Sprintf(says, args...)})
}

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
		r.wrong(n, "", "*%s repeats a value from elsewhere, which is not read here; write the value out",
			short(n.Value))
	}
	for _, c := range n.Content {
		r.aliases(c)
	}
}

func (r *reader) syntax(err error, text []byte) {
	if errors.Is(err, io.EOF) {
		if !r.mayBeEmpty {
			r.wrong(nil, "", "the file is empty")
		}
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
	if lines := bytes.Split(text, []byte("\n")); line > 0 && line <= len(lines) &&
		bytes.IndexByte(lines[line-1], '\t') >= 0 {
		says += " (the line holds a tab; indent with blanks)"
	}
	r.problems = append(r.problems, Problem{r.file, line, "", "this is not well-formed YAML: " + says})
}

// pairs iterates over the keys and values of a mapping.
func pairs(n *yaml.Node) iter.Seq2[*yaml.Node, *yaml.Node] {
	return func(yield func(key, value *yaml.Node) bool) {
		for i := 0; i+1 < len(n.Content); i += 2 {
			if !yield(n.Content[i], n.Content[i+1]) {
				return
			}
		}
	}
}

func join(path, key string) string {
	key = short(key)
	if path == "" {
		return key
	}
	return path + "." + key
}

// short keeps an error readable when somebody pasted a page into a key.
func short(s string) string { return clean.Cut(s, 60) }

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
