package main

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const (
	house    = "github.com/kitmuster/kitmuster/"
	devGuide = "../../DEVELOPERS.md"
	// The list of packages stands between these two lines of the guide.
	listBegins = "| package | what it is | imported by |\n| --- | --- | --- |\n"
	listEnds   = "\n\n"
)

// packageRow is a package with what its own comment says and who imports it.
type packageRow struct {
	path, doc string
	importers map[string]bool
}

// housePackages asks the go tool for every package of this house, tests left out.
func housePackages(t *testing.T) map[string]*packageRow {
	t.Helper()
	cmd := exec.Command("go", "list", "-f", "{{.ImportPath}}\t{{.Doc}}\t{{join .Imports \" \"}}", "./...")
	cmd.Dir = "../.."
	out, err := cmd.Output()
	require.NoError(t, err)
	rows := map[string]*packageRow{}
	row := func(path string) *packageRow {
		if rows[path] == nil {
			rows[path] = &packageRow{path: path, importers: map[string]bool{}}
		}
		return rows[path]
	}
	for line := range strings.Lines(string(out)) {
		parts := strings.Split(strings.TrimRight(line, "\n"), "\t")
		require.Len(t, parts, 3, line)
		path := strings.TrimPrefix(parts[0], house)
		row(path).doc = parts[1]
		for imported := range strings.FieldsSeq(parts[2]) {
			if rest, ours := strings.CutPrefix(imported, house); ours {
				row(rest).importers[path] = true
			}
		}
	}
	return rows
}

// what is the package's own comment without the words that every one begins with.
func (r *packageRow) what() string {
	words := strings.TrimSuffix(r.doc, ".")
	for _, kind := range []string{"Package", "Command"} {
		if rest, ok := strings.CutPrefix(words, kind+" "); ok {
			_, words, _ = strings.Cut(rest, " ")
		}
	}
	return words
}

// by names the importers; where there are many, the folders they are in.
func (r *packageRow) by() string {
	names := slices.Sorted(maps.Keys(r.importers))
	if len(names) > 9 {
		folders := map[string]bool{}
		for _, name := range names {
			top, _, _ := strings.Cut(name, "/")
			folders[top+"/..."] = true
		}
		names = slices.Sorted(maps.Keys(folders))
	}
	for i, name := range names {
		names[i] = "`" + name + "`"
	}
	return strings.Join(names, ", ")
}

// The guide for contributors names every package, says what it is, and who
// imports it: a new arrow shows in the guide before it is taken for granted.
// UPDATE_GOLDEN=1 renews the list.
func TestTheGuideNamesEveryPackageAndWhoImportsIt(t *testing.T) {
	rows := housePackages(t)
	var list strings.Builder
	for _, path := range slices.Sorted(maps.Keys(rows)) {
		require.NotEmpty(t, rows[path].doc, "package %s says nothing of itself", path)
		fmt.Fprintf(&list, "| `%s` | %s | %s |\n", path, rows[path].what(), rows[path].by())
	}
	text, err := os.ReadFile(devGuide)
	require.NoError(t, err)
	before, rest, found := strings.Cut(string(text), listBegins)
	require.True(t, found, "the guide has no list of packages")
	got, after, _ := strings.Cut(rest, listEnds)
	want := strings.TrimRight(list.String(), "\n")
	if os.Getenv("UPDATE_GOLDEN") == "1" {
		require.NoError(t, os.WriteFile(devGuide, []byte(before+listBegins+want+listEnds+after), 0o644))
		return
	}
	require.Equal(t, want, got, "see the difference; where it is meant, UPDATE_GOLDEN=1 renews the list")
}
