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

// hint is a command or a flag in a sentence.
var hint = regexp.MustCompile(`kitmuster [a-z]|--[a-z]`)

// Whatever an entry of the desk can be refused with, or note, names no command that
// the desk has itself.
func TestNoCommandIsNamedOnTheDesk(t *testing.T) {
	read, hints := 0, 0
	for _, dir := range []string{"../record", "../answer", "../journal", "../delivery", "../../programme/reorder"} {
		pkgs, err := parser.ParseDir(token.NewFileSet(), dir, func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, 0) //nolint:staticcheck // files of one folder without build tags
		require.NoError(t, err)
		for _, p := range pkgs {
			ast.Inspect(p, func(n ast.Node) bool {
				if _, imports := n.(*ast.ImportSpec); imports {
					return false
				}
				l, ok := n.(*ast.BasicLit)
				if !ok || l.Kind != token.STRING {
					return true
				}
				text, err := strconv.Unquote(l.Value)
				require.NoError(t, err)
				read++
				if !hint.MatchString(text) {
					return true
				}
				hints++
				said := strings.NewReplacer("%d", "7", "%s", "word", "%q", `"word"`, "%w", "it").Replace(text)
				// of ledger files, which the desk does not take back
				if strings.Contains(said, "undo") && dir == "../record" {
					return true
				}
				require.NotRegexp(t, `kitmuster (?:[b-gi-z]|h[^e])|--[a-z]`, inDeskWords(said))
				return true
			})
		}
	}
	require.Greater(t, read, 500)
	require.Greater(t, hints, 25)
}
