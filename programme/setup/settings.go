package setup

import (
	"go.yaml.in/yaml/v3"
)

// Setting is a key of a file of settings: one value, a section of settings, or a list of entries with settings of their
// own. A key with nothing behind it is as good as left out.
type Setting struct {
	Key string
	// Check returns why a text is not such a value; nil for sections and lists.
	Check func(text string) error
	// Section holds the keys of a section, Entry those of each entry of a list.
	Section, Entry []Setting
}

// Settings holds what a file of settings says, by the path of keys: mail.port, schedule.clients[1].round.
type Settings struct {
	Values map[string]string // as they are written
	Lines  map[string]int    // of values, sections, lists and the entries of lists
}

// ReadSettings reads a YAML file of settings; file names it in errors, which are of type Problems. An empty file has no
// settings. refuse says why a key that is not known does not belong into the file; empty = there is nothing special
// about it.
func ReadSettings(file string, text []byte, known []Setting, refuse func(key string) string) (Settings, error) {
	r := &reader{file: file, mayBeEmpty: true, refuse: refuse}
	s := Settings{map[string]string{}, map[string]int{}}
	if root := r.document(text); root != nil {
		mapping(r, root, "", fieldsOf(known), &s)
	}
	return s, r.err()
}

func fieldsOf(known []Setting) []field[Settings] {
	out := make([]field[Settings], len(known))
	for i, k := range known {
		out[i] = field[Settings]{key: k.Key, read: k.read}
	}
	return out
}

func (k *Setting) read(r *reader, n *yaml.Node, path string, into *Settings) {
	into.Lines[path] = n.Line
	switch {
	case n.Kind == yaml.ScalarNode && n.Tag == "!!null":
	case k.Section != nil:
		mapping(r, n, path, fieldsOf(k.Section), into)
	case k.Entry != nil:
		eachEntry(r, n, path, func(entry *yaml.Node, path string) {
			into.Lines[path] = entry.Line
			mapping(r, entry, path, fieldsOf(k.Entry), into)
		})
	case n.Kind != yaml.ScalarNode:
		r.wrong(n, path, "read %s; write one value", describe(n))
	default:
		if err := k.Check(n.Value); err != nil {
			r.wrong(n, path, "%s", err)
			return
		}
		into.Values[path] = n.Value
	}
}
