package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// beginners are packages that begin goroutines for whoever calls them, and
// starting are calls by which a program or a test does so itself. Those of os/exec are
// none of either: they copy what a child prints, and have ended when it is read.
var (
	beginners = []string{"net/http/httptest", "os/signal", "golang.org/x/sync/errgroup"}
	starting  = []string{"Go", "Parallel", "RunParallel", "AfterFunc", "NewTimer", "NewTicker"}
)

// Most packages run in the goroutine of their caller, and so do their tests: the race
// detector would find nothing in them, and .ci/run leaves them to it only where the
// packages that do begin goroutines call them. The folders are those .ci/run leaves out.
func TestWhatRunsInOneGoroutineBeginsNone(t *testing.T) {
	script, err := os.ReadFile("../../.ci/run")
	require.NoError(t, err)
	lines := regexp.MustCompile(`(?m)^sequential\+?="(.+)"$`).FindAllSubmatch(script, -1)
	require.NotEmpty(t, lines, ".ci/run names the folders that run in one goroutine")
	var left []string
	for _, line := range lines {
		left = append(left, strings.Fields(string(line[1]))...)
	}
	files := 0
	for _, folder := range left {
		require.NoError(t, filepath.WalkDir(filepath.Join("../..", folder),
			func(path string, _ fs.DirEntry, err error) error {
				if err != nil || filepath.Ext(path) != ".go" {
					return err
				}
				files++
				for _, at := range goroutines(t, path, nil) {
					t.Errorf("%s begins a goroutine: take its folder out of what .ci/run leaves out, or do without",
						at)
				}
				return nil
			}))
	}
	require.Greater(t, files, 600)
}

func TestGoroutinesAreSeen(t *testing.T) {
	for _, body := range []string{"go f()", "defer func() { go f() }()", "wg.Go(f)", "t.Parallel()",
		"time.AfterFunc(1, f)"} {
		require.Len(t, goroutines(t, "x.go", "package x\nfunc g() { "+body+" }"), 1, body)
	}
	require.Len(t, goroutines(t, "x.go", "package x\nimport _ \"os/signal\""), 1)
	require.Empty(t,
		goroutines(t, "x.go", "package x\nimport \"sync\"\nvar mu sync.Mutex\nfunc g() { mu.Lock(); f() }"))
}

// goroutines says where a file begins goroutines or imports what does; source is
// its text, or nil to read it.
func goroutines(t *testing.T, path string, source any) []string {
	t.Helper()
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, source, parser.SkipObjectResolution)
	require.NoError(t, err)
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		begins := false
		switch n := n.(type) {
		case *ast.GoStmt:
			begins = true
		case *ast.ImportSpec:
			imported, err := strconv.Unquote(n.Path.Value)
			require.NoError(t, err)
			begins = slices.Contains(beginners, imported)
		case *ast.CallExpr:
			if method, is := n.Fun.(*ast.SelectorExpr); is {
				begins = slices.Contains(starting, method.Sel.Name)
			}
		}
		if begins {
			found = append(found, set.Position(n.Pos()).String())
		}
		return true
	})
	return found
}
