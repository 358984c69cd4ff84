package config

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"time"
)

// field is one value or section that the file can hold.
type field struct {
	path    []string
	doc     string
	def     string
	kind    reflect.Type
	section bool
}

func (f field) key() string  { return strings.Join(f.path, ".") }
func (f field) name() string { return f.path[len(f.path)-1] }

var (
	durationType = reflect.TypeFor[time.Duration]()
	clientsType  = reflect.TypeFor[[]ClientRound]()
)

// fields lists sections and values of Config in order.
func fields() []field { return fieldsOf(reflect.TypeFor[Config](), nil) }

func fieldsOf(t reflect.Type, under []string) []field {
	var all []field
	for sf := range t.Fields() {
		f := field{path: append(append([]string(nil), under...), sf.Tag.Get("yaml")), doc: sf.Tag.Get("doc"),
			def: sf.Tag.Get("default"), kind: sf.Type}
		f.section = sf.Type.Kind() == reflect.Struct
		all = append(all, f)
		if f.section {
			all = append(all, fieldsOf(sf.Type, f.path)...)
		}
	}
	return all
}

// parse reads a text as the field's kind of value.
func (f field) parse(text string) (any, error) {
	switch {
	case f.kind == durationType:
		d, err := time.ParseDuration(text)
		if err != nil || d <= 0 {
			return nil, fmt.Errorf("read %q where a time with its unit belongs, such as 30s, 10m or 2h", text)
		}
		return d, nil
	case f.kind.Kind() == reflect.Int:
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 {
			return nil, fmt.Errorf("read %q where a whole number belongs", text)
		}
		return n, nil
	default:
		return text, nil
	}
}

// set parses a text into the field's place in c. A text that cannot be parsed leaves it empty: that was reported with
// its place by whoever read it.
func (c *Config) set(f field, text string) {
	at := reflect.ValueOf(c).Elem()
	for _, name := range f.path {
		at = byTag(at, name)
	}
	if value, err := f.parse(text); err == nil {
		at.Set(reflect.ValueOf(value))
	}
}

func byTag(v reflect.Value, name string) reflect.Value {
	for i := range v.NumField() {
		if v.Type().Field(i).Tag.Get("yaml") == name {
			return v.Field(i)
		}
	}
	panic("config: no field is called " + name)
}

// Example writes config.example.yaml: every key with its default and what it means.
func Example() string {
	var b strings.Builder
	b.WriteString("# Settings of kitmuster and its service. Copy to config.yaml in the shop's folder and\n")
	b.WriteString("# change what you need; what is left out has the value shown here.\n")
	b.WriteString("# 'kitmuster check' reads it and says what is wrong.\n")
	for _, f := range fields() {
		indent := strings.Repeat("  ", len(f.path)-1)
		if f.section {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "%s# %s\n", indent, f.doc)
		switch {
		case f.section:
			fmt.Fprintf(&b, "%s%s:\n", indent, f.name())
		case f.kind == clientsType:
			fmt.Fprintf(&b, "%s%s: []\n", indent, f.name())
		case f.kind.Kind() == reflect.String:
			fmt.Fprintf(&b, "%s%s: %q\n", indent, f.name(), f.def)
		default:
			fmt.Fprintf(&b, "%s%s: %s\n", indent, f.name(), f.def)
		}
	}
	return b.String()
}
