package setup

import (
	"bytes"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// AddArtworks returns the text of a shop.yaml with artworks put behind those it
// has; every other line stays as its owner wrote it. Artworks whose code is
// there already are left alone. The error is for lists written in one line,
// to which nothing can be added safely.
func AddArtworks(text []byte, artworks []programme.Artwork) ([]byte, error) {
	r := &reader{file: "shop.yaml"}
	root := r.document(text)
	if root == nil {
		return nil, r.err()
	}
	seq := child(root, "artworks")
	add := notIn(seq, artworks)
	if len(add) == 0 {
		return text, nil
	}
	lines := strings.SplitAfter(string(bytes.TrimRight(text, "\n"))+"\n", "\n")
	lines = lines[:len(lines)-1]
	if seq == nil && root.Style != yaml.FlowStyle {
		return []byte(strings.Join(lines, "") + "artworks:\n" + entries(add, 2)), nil
	}
	if seq == nil || seq.Kind != yaml.SequenceNode || seq.Style == yaml.FlowStyle || len(seq.Content) == 0 {
		return nil, fmt.Errorf("artworks of shop.yaml stand in one line; write each on a line of its own with - in front, or add these by hand:\n%s", entries(add, 2))
	}
	after := lastLine(seq)
	return []byte(strings.Join(lines[:after], "") + entries(add, seq.Column-1) + strings.Join(lines[after:], "")), nil
}

func notIn(seq *yaml.Node, artworks []programme.Artwork) []programme.Artwork {
	var out []programme.Artwork
	for _, a := range artworks {
		known := false
		for i := 0; seq != nil && i < len(seq.Content); i++ {
			if c := child(seq.Content[i], "code"); c != nil && c.Value == a.Code {
				known = true
			}
		}
		if !known {
			out = append(out, a)
		}
	}
	return out
}

// entries writes artworks one a line, indented by so many blanks.
func entries(artworks []programme.Artwork, indent int) string {
	var b strings.Builder
	for i := range artworks {
		b.WriteString(strings.Repeat(" ", indent) + "- " + inFlow(artworkFields(), &artworks[i]) + "\n")
	}
	return b.String()
}

// inFlow writes a value on one line, as {key: value, ...}.
func inFlow[T any](table []field[T], from *T) string {
	n := encode(table, from, false)
	quiet(n)
	n.Style = yaml.FlowStyle
	line, err := yaml.Marshal(n)
	if err != nil {
		panic("setup: a tree of our own making does not encode: " + err.Error())
	}
	return strings.Join(strings.Fields(string(line)), " ")
}

func lastLine(n *yaml.Node) int {
	last := n.Line
	for _, c := range n.Content {
		last = max(last, lastLine(c))
	}
	return last
}
