package desk

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// command is a command or a flag in a sentence.
var command = regexp.MustCompile(`kitmuster [a-z]|--[a-z]`)

// Whatever an entry of the desk can be refused with, or note, names no command, but in the wording of a
// hint that is for the commands.
func TestNoCommandIsNamedOnTheDesk(t *testing.T) {
	read, hints := 0, 0
	for _, dir := range []string{"record", "answer", "journal", "delivery", "store", "supply"} {
		pkgs, err := parser.ParseDir(token.NewFileSet(), "../"+dir, func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, 0) //nolint:staticcheck // files of one folder without build tags
		require.NoError(t, err)
		for _, p := range pkgs {
			ast.Inspect(p, func(n ast.Node) bool {
				switch x := n.(type) {
				case *ast.ImportSpec:
					return false
				case *ast.KeyValueExpr:
					if key, ok := x.Key.(*ast.Ident); ok && key.Name == "Command" {
						hints++
						return false
					}
				case *ast.BasicLit:
					if x.Kind != token.STRING {
						return true
					}
					text, err := strconv.Unquote(x.Value)
					require.NoError(t, err)
					read++
					switch {
					case dir == "record" && strings.Contains(text, "undo"): // of files, which the desk does not take back
					case dir == "supply" && strings.Contains(text, "--with"): // the desk lays out no more than has a yes
					default:
						require.NotRegexp(t, command, text, dir)
					}
				}
				return true
			})
		}
	}
	require.Greater(t, read, 500)
	require.Greater(t, hints, 25)
}
