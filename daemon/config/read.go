package config

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/viper"

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

// Read reads settings; file names it in errors, which are of type Problems.
func Read(file string, text []byte, zone *time.Location) (*Config, error) {
	all := fields()
	given, err := setup.ReadSettings(file, text, settings(all, ""), noPassword)
	if err != nil {
		return nil, err
	}
	r := &reader{file: file, lines: given.Lines}
	r.environment(all)
	c := merge(all, given)
	r.check(c, zone)
	return c, r.err()
}

// reader collects what is wrong with values that can be read.
type reader struct {
	file     string
	lines    map[string]int // by key
	problems Problems
}

func (r *reader) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(r.problems, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	return r.problems
}

func (r *reader) bad(key, format string, args ...any) {
	r.problems = append(r.problems, Problem{File: r.file, Line: r.lines[key], Key: key,
		Says: fmt.Sprintf(format, args...)})
}

// settings returns the keys of a section as the reader of files wants them.
func settings(all []field, section string) []setup.Setting {
	var out []setup.Setting
	for _, f := range all {
		if strings.Join(f.path[:len(f.path)-1], ".") != section {
			continue
		}
		s := setup.Setting{Key: f.name()}
		switch {
		case f.section:
			s.Section = settings(all, f.key())
		case f.kind == clientsType:
			text := func(string) error { return nil }
			s.Entry = []setup.Setting{{Key: "client", Check: text}, {Key: "round", Check: text}}
		default:
			s.Check = func(text string) error {
				_, err := f.parse(text)
				return err
			}
		}
		out = append(out, s)
	}
	return out
}

func noPassword(key string) string {
	if !strings.Contains(strings.ToLower(key), "password") {
		return ""
	}
	env := PasswordEnv
	if strings.Contains(key, "imap") {
		env = IMAPEnv
	}
	return "passwords do not belong into this file; name a file with password_file, or set " + env
}

// environment refuses values from the environment that cannot be read.
func (r *reader) environment(all []field) {
	for _, f := range all {
		name := envName(f)
		text, ok := os.LookupEnv(name)
		if f.section || !ok || text == "" {
			continue
		}
		if f.kind == clientsType {
			r.problems = append(r.problems, Problem{File: "environment", Key: name,
				Says: "a list cannot come from here; write it into " + FileName})
		} else if _, err := f.parse(text); err != nil {
			r.problems = append(r.problems, Problem{File: "environment", Key: name, Says: err.Error()})
		}
	}
}

func envName(f field) string {
	return envPrefix + "_" + strings.ToUpper(strings.Join(f.path, "_"))
}

// merge lets defaults, file and environment follow each other, the last winning.
func merge(all []field, given setup.Settings) *Config {
	v := viper.New()
	v.SetEnvPrefix(envPrefix)
	v.SetEnvKeyReplacer(strings.NewReplacer(".", "_"))
	v.AutomaticEnv()
	file := make(map[string]any, len(given.Values))
	for key, text := range given.Values {
		file[key] = text
	}
	if err := v.MergeConfigMap(file); err != nil {
		panic("config: a map of texts is no settings: " + err.Error())
	}
	c := new(Config)
	for _, f := range all {
		switch {
		case f.section:
		case f.kind == clientsType:
			c.Schedule.Clients = clients(f.key(), given)
		default:
			v.SetDefault(f.key(), f.def)
			c.set(f, v.GetString(f.key()))
		}
	}
	return c
}

func clients(key string, given setup.Settings) (list []ClientRound) {
	for i := 1; ; i++ {
		entry := fmt.Sprintf("%s[%d]", key, i)
		if _, there := given.Lines[entry]; !there {
			return list
		}
		list = append(list, ClientRound{given.Values[entry+".client"], given.Values[entry+".round"]})
	}
}
