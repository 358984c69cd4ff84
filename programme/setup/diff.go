package setup

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// Diff says in plain words what changes from one programme to the next, one
// sentence a change, in the order of the file; none when nothing changes. With
// a nil old it says what a new programme brings.
func Diff(old, next *programme.Client) []string {
	if old == nil {
		return outline(next)
	}
	d := &difference{}
	d.mappings(nil, encode(clientFields(), old, true), encode(clientFields(), next, true))
	return d.says
}

func outline(c *programme.Client) []string {
	says := []string{fmt.Sprintf("new client %s: %s", c.Code, c.Name)}
	for i := range c.Roles {
		role := &c.Roles[i]
		parts := make([]string, len(role.Kit))
		for j, k := range role.Kit {
			parts[j] = fmt.Sprintf("%d %s %s", k.Each, k.Garment, k.Colour)
			if k.CutOf != (programme.Former{}) {
				parts[j] += fmt.Sprintf(" (in place of %s, for who has a size of it)", formatFormer(k.CutOf))
			}
		}
		says = append(says, fmt.Sprintf("role %s: %s", role.Name, strings.Join(parts, ", ")))
	}
	return says
}

// difference walks two trees that were written by the same tables of keys, so
// that no key can be forgotten.
type difference struct{ says []string }

func (d *difference) say(path []string, format string, args ...any) {
	d.says = append(d.says, strings.Join(path, ", ")+": "+fmt.Sprintf(format, args...))
}

func (d *difference) nodes(path []string, a, b *yaml.Node) {
	switch {
	case a.Kind != b.Kind:
		d.say(path, "was %s, becomes %s", inWords(a), inWords(b))
	case a.Kind == yaml.MappingNode:
		d.mappings(path, a, b)
	case a.Kind == yaml.SequenceNode:
		d.lists(path, a, b)
	case a.Value != b.Value:
		d.say(path, "%s → %s", inWords(a), inWords(b))
	}
}

func (d *difference) mappings(path []string, a, b *yaml.Node) {
	for key, was := range pairs(a) {
		at := append(slices.Clip(path), plainKey(key.Value))
		if is := child(b, key.Value); is != nil {
			d.nodes(at, was, is)
		} else {
			d.say(at, "%s is taken out", inWords(was))
		}
	}
	for key, is := range pairs(b) {
		if child(a, key.Value) == nil {
			d.say(append(slices.Clip(path), plainKey(key.Value)), "%s is added", inWords(is))
		}
	}
}

// lists compares entries of the same identity: a role by its code, a kit line
// by garment and colour. Where order is all that changed, nothing is said.
func (d *difference) lists(path []string, a, b *yaml.Node) {
	for _, x := range a.Content {
		if y := sameEntry(b, x); y != nil {
			d.nodes(append(slices.Clip(path), identity(x)), x, y)
		} else {
			d.say(path, "%s is taken out (%s)", identity(x), inWords(x))
		}
	}
	for _, y := range b.Content {
		if sameEntry(a, y) == nil {
			d.say(path, "%s is added (%s)", identity(y), inWords(y))
		}
	}
}

func sameEntry(list, entry *yaml.Node) *yaml.Node {
	for _, n := range list.Content {
		if identity(n) == identity(entry) {
			return n
		}
	}
	return nil
}

// identity returns what tells one entry of a list from another.
func identity(n *yaml.Node) string {
	if c := child(n, "code"); c != nil {
		return c.Value
	}
	var parts []string
	for _, key := range []string{"garment", "colour", "size", "artwork", "place", "name", "email"} {
		if v := child(n, key); v != nil && v.Value != "" {
			parts = append(parts, v.Value)
		}
	}
	if from := child(n, "from"); child(n, "price") != nil && from != nil && from.Value != "" {
		parts = append(parts, "from", from.Value)
	}
	if until := child(n, "until"); len(parts) == 0 && until != nil {
		parts = append(parts, "until", until.Value)
	}
	return strings.Join(parts, " ")
}

// inWords writes a value on one line.
func inWords(n *yaml.Node) string {
	var parts []string
	switch n.Kind {
	case yaml.MappingNode:
		for key, value := range pairs(n) {
			if v := inWords(value); v != "nothing" {
				parts = append(parts, plainKey(key.Value)+" "+v)
			}
		}
		return strings.Join(parts, ", ")
	case yaml.SequenceNode:
		for _, c := range n.Content {
			parts = append(parts, inWords(c))
		}
		return "[" + strings.Join(parts, "; ") + "]"
	default:
		if n.Value == "" {
			return "nothing"
		}
		return n.Value
	}
}

func plainKey(key string) string { return strings.ReplaceAll(key, "_", " ") }
