package main

import (
	"bufio"
	"bytes"
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
)

// systems are those that the program is built for: a module may be linked on one
// of them alone.
var systems = []string{"darwin", "linux", "windows"}

// linked is a module with the folders of its packages that are linked.
type linked struct {
	path, version, dir string
	packages           map[string]bool
}

// linkedModules asks go which packages of others the program is made of on any of
// some systems.
func linkedModules(t *testing.T, systems ...string) []*linked {
	t.Helper()
	all := map[string]*linked{}
	for _, system := range systems {
		list := exec.Command("go", "list", "-deps", "-json=Dir,Module", ".")
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=1")
		list.Stderr = os.Stderr
		out, err := list.Output()
		require.NoError(t, err, system)
		for lines := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct {
				Dir    string
				Module *struct {
					Path, Version, Dir string
					Main               bool
				}
			}
			err := lines.Decode(&p)
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
			if p.Module == nil || p.Module.Main {
				continue
			}
			m := all[p.Module.Path]
			if m == nil {
				m = &linked{path: p.Module.Path, version: p.Module.Version, dir: p.Module.Dir,
					packages: map[string]bool{}}
				all[p.Module.Path] = m
			}
			m.packages[p.Dir] = true
		}
	}
	return slices.SortedFunc(maps.Values(all), func(a, b *linked) int { return strings.Compare(a.path, b.path) })
}

// aLicence matches the names of files that licences and notices stand in, and
// licenceFolder the names of folders that hold nothing else.
var (
	aLicence      = regexp.MustCompile(`(?i)^(licen[cs]e|copying|copyright|notice|patents|ofl)([-._].*)?$`)
	licenceFolder = regexp.MustCompile(`(?i)^(third_party_)?licen[cs]es$`)
)

// texts returns the files with licences of a module: at its root, in a folder for
// them, and beside or above any package that is linked.
func (m *linked) texts(t *testing.T) []string {
	t.Helper()
	folders := map[string]bool{m.dir: true}
	for dir := range m.packages {
		for ; len(dir) > len(m.dir); dir = filepath.Dir(dir) {
			folders[dir] = true
		}
	}
	var found []string
	for _, dir := range slices.Sorted(maps.Keys(folders)) {
		entries, err := os.ReadDir(dir)
		require.NoError(t, err)
		for _, e := range entries {
			path := filepath.Join(dir, e.Name())
			switch {
			case !e.IsDir() && aLicence.MatchString(e.Name()) && filepath.Ext(path) != ".go":
				found = append(found, path)
			case e.IsDir() && licenceFolder.MatchString(e.Name()):
				require.NoError(t, filepath.WalkDir(path, func(path string, e fs.DirEntry, err error) error {
					if err == nil && !e.IsDir() {
						found = append(found, path)
					}
					return err
				}))
			}
		}
	}
	require.NotEmpty(t, found, "%s comes without a licence", m.path)
	return found
}

// goLicence stands for Go itself, whose licence a packaged Go keeps elsewhere:
// the words are those of its own module for systems, to the byte.
const goLicence = "golang.org/x/sys"

// written returns the text of all notices.
func written(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString(noticesHead + "\n\n")
	whose := map[string][]string{} // text: the files that say it
	var order []string
	for _, m := range linkedModules(t, systems...) {
		fmt.Fprintf(&b, "    %s %s\n", m.path, m.version)
		for _, path := range m.texts(t) {
			raw, err := os.ReadFile(path)
			require.NoError(t, err)
			text := clearText(t, raw)
			if whose[text] == nil {
				order = append(order, text)
			}
			name, err := filepath.Rel(m.dir, path)
			require.NoError(t, err)
			if m.path == goLicence {
				whose[text] = append(whose[text], "Go, its run time and its library: "+name)
			}
			whose[text] = append(whose[text], m.path+": "+filepath.ToSlash(name))
		}
	}
	for _, text := range order {
		b.WriteString("\n" + strings.Repeat("=", 78) + "\n" + strings.Join(whose[text], "\n") + "\n" +
			strings.Repeat("-", 78) + "\n\n" + text + "\n")
	}
	return b.String()
}

const noticesHead = `kitmuster is made with the work of others. These modules are linked into it on
one system or another, and Go itself (golang.org); the licence of each follows.
A module's own list of licences is printed whole, with those of its parts that
are not linked.
SQLite, inside go-sqlite3, is in the public domain (sqlite.org/copyright.html).`

// clearText returns a text in UTF-8 with plain line ends: some are in Windows-1252.
func clearText(t *testing.T, raw []byte) string {
	t.Helper()
	if !utf8.Valid(raw) {
		var err error
		raw, err = charmap.Windows1252.NewDecoder().Bytes(raw)
		require.NoError(t, err)
	}
	s := strings.NewReplacer("\r\n", "\n", "\f", "").Replace(strings.TrimPrefix(string(raw), "\ufeff"))
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " \t")
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}

func TestTheNoticesAreThoseOfTheModuleCache(t *testing.T) {
	want := written(t)
	if os.Getenv("UPDATE_GOLDEN") == "1" {
		require.NoError(t, os.WriteFile("notices.txt", []byte(want), 0o644))
		return
	}
	require.Equal(t, want, notices,
		"a module has come, gone or changed: UPDATE_GOLDEN=1 go test ./cmd/kitmuster -run Notices")
}

// What go list says is one thing, what the linker took is another: the program is
// built, asked for its notices, and what it names is compared with what its build
// information records.
func TestTheNoticesNameWhatABuildLinks(t *testing.T) {
	built := filepath.Join(t.TempDir(), "kitmuster")
	out, err := exec.Command("go", "build", "-buildvcs=false", "-ldflags=-s -w", "-o", built, ".").CombinedOutput()
	require.NoError(t, err, "%s", out)
	info, err := buildinfo.ReadFile(built)
	require.NoError(t, err)
	said, err := exec.Command(built, "version", "--notices").Output()
	require.NoError(t, err)

	named := map[string]string{}
	for lines := bufio.NewScanner(bytes.NewReader(said)); lines.Scan(); {
		if module, found := strings.CutPrefix(lines.Text(), "    "); found {
			if path, version, ok := strings.Cut(module, " "); ok && strings.HasPrefix(version, "v") &&
				!strings.Contains(version, " ") {
				named[path] = version
			}
		} else if strings.HasPrefix(lines.Text(), "===") {
			break
		}
	}
	inBuild := map[string]string{}
	for _, m := range info.Deps {
		require.Nil(t, m.Replace, "%s: a module that stands in for another has a licence of its own", m.Path)
		inBuild[m.Path] = m.Version
		require.Equal(t, m.Version, named[m.Path], "%s is linked", m.Path)
		require.Contains(t, string(said), "\n"+m.Path+": ", "its licence")
	}
	expected := map[string]string{}
	for _, m := range linkedModules(t, runtime.GOOS) {
		expected[m.path] = m.version
	}
	require.Equal(t, expected, inBuild, "no more is named for this system than is linked")
	require.Contains(t, string(said), "\nGo, its run time and its library: LICENSE\n")
}
