package vector

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/net/html/charset"
)

const (
	svgSpace   = "http://www.w3.org/2000/svg"
	xlinkSpace = "http://www.w3.org/1999/xlink"
)

// node is one element of the SVG namespace. Elements of other namespaces,
// which editors keep their own notes in, are not drawn and left out.
type node struct {
	name     string
	line     int
	attrs    map[string]string
	words    []byte // of a style element
	weight   int    // bytes of its attributes
	children []*node
}

// refuse says what is in the way, and where.
func (n *node) refuse(format string, args ...any) error {
	return fmt.Errorf("line %d: "+format, append([]any{n.line}, args...)...)
}

// builder puts the elements together as they come.
type builder struct {
	root  *node
	space string  // the root's own namespace: some old files do without any
	open  []*node // nil for an element that is left out
	count int
}

// parse reads the file's elements, within bounds. Entities of the file's own
// are not expanded: encoding/xml refuses them.
func parse(data []byte) (*node, error) {
	d := xml.NewDecoder(bytes.NewReader(data))
	d.CharsetReader = charset.NewReaderLabel
	var b builder
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("it is broken: %w", err)
		}
		line, _ := d.InputPos()
		if err := b.take(t, line); err != nil {
			return nil, err
		}
	}
	if b.root == nil {
		return nil, errors.New("it is no SVG picture")
	}
	return b.root, nil
}

func (b *builder) take(t xml.Token, line int) error {
	switch t := t.(type) {
	case xml.StartElement:
		return b.start(t, line)
	case xml.EndElement:
		b.open = b.open[:len(b.open)-1]
	case xml.CharData:
		if n := b.top(); n != nil && n.name == "style" {
			n.words = append(n.words, t...)
		}
	}
	return nil
}

func (b *builder) top() *node {
	if len(b.open) == 0 {
		return nil
	}
	return b.open[len(b.open)-1]
}

func (b *builder) start(t xml.StartElement, line int) error {
	if b.count++; b.count > maxNodes || len(b.open) >= maxDepth {
		return fmt.Errorf("line %d: it has too many parts; simplify it, or save it as PNG", line)
	}
	n := &node{name: t.Name.Local, line: line, attrs: map[string]string{}}
	for _, a := range t.Attr {
		if a.Name.Space == "" || a.Name.Space == xlinkSpace && a.Name.Local == "href" {
			n.attrs[a.Name.Local] = strings.TrimSpace(a.Value)
			n.weight += len(a.Value)
		}
	}
	switch {
	case b.root == nil:
		if n.name != "svg" || t.Name.Space != "" && t.Name.Space != svgSpace {
			return errors.New("it is no SVG picture")
		}
		b.root, b.space = n, t.Name.Space
	case t.Name.Space != b.space:
		n = nil
	default:
		if up := b.top(); up != nil {
			up.children = append(up.children, n)
		} else {
			n = nil // inside something that is left out
		}
	}
	b.open = append(b.open, n)
	return nil
}
