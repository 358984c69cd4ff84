package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"time"

	"github.com/spf13/viper"
	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// Problem is one thing to mend, and Problems is everything that is wrong, in the
// file's order: they read as those of shop.yaml do.
type (
	Problem  = setup.Problem
	Problems = setup.Problems
)

// ReadFolder reads the config.yaml of a shop's folder. A shop without one has
// the defaults. zone is the shop's.
func ReadFolder(home string, zone *time.Location) (*Config, error) {
	path := filepath.Join(home, FileName)
	text, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	return Read(path, text, zone)
}

// Read reads settings; file names them in errors, which are of type Problems.
func Read(file string, text []byte, zone *time.Location) (*Config, error) {
	r := &reader{file: file, fields: fields(), lines: map[string]int{}}
	r.strict(text)
	if err := r.err(); err != nil {
		return nil, err
	}
	c, err := merge(text, r.fields)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", file, err)
	}
	r.environment()
	r.check(c, zone)
	return c, r.err()
}

type reader struct {
	file     string
	fields   []field
	lines    map[string]int // by key
	problems Problems
}

func (r *reader) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	sort.SliceStable(r.problems, func(i, j int) bool { return r.problems[i].Line < r.problems[j].Line })
	return r.problems
}

func (r *reader) bad(key, format string, args ...any) {
	r.problems = append(r.problems, Problem{File: r.file, Line: r.lines[key], Key: key, Says: fmt.Sprintf(format, args...)})
}

// strict walks the file itself, since viper knows no lines, ignores unknown
// keys, and takes "30" for 30 nanoseconds.
func (r *reader) strict(text []byte) {
	decoder := yaml.NewDecoder(bytes.NewReader(text))
	var doc, more yaml.Node
	if err := decoder.Decode(&doc); err != nil {
		if !errors.Is(err, io.EOF) {
			r.syntax(err)
		}
		return
	}
	if err := decoder.Decode(&more); err == nil {
		r.problems = append(r.problems, Problem{File: r.file, Line: more.Line, Says: "a second document begins here; keep one"})
	}
	r.mapping(doc.Content[0], nil)
}

var yamlLine = regexp.MustCompile(`line (\d+): `)

func (r *reader) syntax(err error) {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	p := Problem{File: r.file, Says: "this is not YAML: " + yamlLine.ReplaceAllString(text, "")}
	if m := yamlLine.FindStringSubmatch(text); m != nil {
		_, _ = fmt.Sscan(m[1], &p.Line)
	}
	r.problems = append(r.problems, p)
}

func (r *reader) mapping(n *yaml.Node, under []string) {
	at := strings.Join(under, ".")
	if n.Kind == yaml.ScalarNode && n.Tag == "!!null" {
		return
	}
	if n.Kind != yaml.MappingNode {
		r.lines[at] = n.Line
		r.bad(at, "settings with names belong here, one a line, such as \"port: 587\"")
		return
	}
	known := map[string]field{}
	var names []string
	for _, f := range r.fields {
		if strings.Join(f.path[:len(f.path)-1], ".") == at {
			known[f.name()] = f
			names = append(names, f.name())
		}
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		full := strings.TrimPrefix(at+"."+key.Value, ".")
		f, ok := known[key.Value]
		_, twice := r.lines[full]
		r.lines[full] = key.Line
		switch {
		case !ok:
			r.unknown(full, key.Value, names)
		case twice:
			r.bad(full, "this key stands here twice")
		case f.section:
			r.mapping(value, f.path)
		case f.kind == clientsType:
			r.clients(f, value)
		default:
			r.value(f, value)
		}
	}
}

func (r *reader) unknown(full, key string, names []string) {
	if strings.Contains(strings.ToLower(key), "password") && key != "password_file" {
		r.bad(full, "passwords do not belong into this file; name a file with password_file, or set %s", PasswordEnv)
		return
	}
	if near, ok := match.Near(key, names); ok {
		r.bad(full, "there is no such key; did you mean %s?", near)
		return
	}
	r.bad(full, "there is no such key; here can stand %s", strings.Join(names, ", "))
}

func (r *reader) value(f field, n *yaml.Node) {
	if n.Kind != yaml.ScalarNode {
		r.bad(f.key(), "one value belongs here, such as %q", f.def)
		return
	}
	if n.Tag == "!!null" {
		return
	}
	if _, err := f.parse(n.Value); err != nil {
		r.bad(f.key(), "%v", err)
	}
}

func (r *reader) clients(f field, n *yaml.Node) {
	if n.Kind != yaml.SequenceNode && n.Tag != "!!null" {
		r.bad(f.key(), "a list belongs here, such as [{client: bakery, round: \"0 7 1 * *\"}]")
		return
	}
	for i, item := range n.Content {
		key := fmt.Sprintf("%s[%d]", f.key(), i)
		r.lines[key] = item.Line
		for j := 0; item.Kind == yaml.MappingNode && j+1 < len(item.Content); j += 2 {
			if k := item.Content[j].Value; k != "client" && k != "round" {
				r.unknown(key, k, []string{"client", "round"})
			}
		}
		if err := item.Decode(new(ClientRound)); err != nil {
			r.bad(key, "client and round belong here, such as {client: bakery, round: \"0 7 1 * *\"}")
		}
	}
}

// environment refuses values from the environment that cannot be read.
func (r *reader) environment() {
	for _, f := range r.fields {
		name := envName(f)
		text, ok := os.LookupEnv(name)
		if f.section || !ok || text == "" {
			continue
		}
		if f.kind == clientsType {
			r.problems = append(r.problems, Problem{File: "environment", Key: name, Says: "a list cannot come from here; write it into " + FileName})
		} else if _, err := f.parse(text); err != nil {
			r.problems = append(r.problems, Problem{File: "environment", Key: name, Says: err.Error()})
		}
	}
}

func envName(f field) string {
	return envPrefix + "_" + strings.ToUpper(strings.Join(f.path, "_"))
}

// merge lets defaults, file and environment follow each other, the last winning.
func merge(text []byte, all []field) (*Config, error) {
	v := viper.New()
	v.SetConfigType("yaml")
	v.SetEnvPrefix(envPrefix)
	v.SetEnvKeyReplacer(strings.NewReplacer(".", "_"))
	v.AutomaticEnv()
	for _, f := range all {
		if f.section || f.kind == clientsType {
			continue
		}
		value, err := f.parse(f.def)
		if err != nil {
			return nil, err
		}
		v.SetDefault(f.key(), value)
	}
	if err := v.ReadConfig(bytes.NewReader(text)); err != nil {
		return nil, err
	}
	c := new(Config)
	for _, f := range all {
		if err := assign(c, f, v); err != nil {
			return nil, err
		}
	}
	return c, nil
}
