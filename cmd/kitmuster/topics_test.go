package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
)

// The guide to changes is typed as it is printed, after that of the README: its lines
// of kits go into the programme, its rows of a list into prices.csv, its commands run.
func TestTheGuideToChangesWorksAsPrinted(t *testing.T) {
	home := typedGuide(t, "## When people come, change and go")
	guide := mustKit(t, home, "help", "changes")
	file := filepath.Join(books.ProgrammesDir, "saltbox-bakery.yaml")
	kit := regexp.MustCompile(`(?m)^( *)kit:.*\n( *)- `)
	typed, lines, list := 0, 0, ""
	for line := range strings.SplitSeq(regexp.MustCompile(`,\n {7}`).ReplaceAllString(guide, ", "), "\n") {
		switch {
		case strings.HasPrefix(line, "    - {"):
			lines++
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			at := kit.FindSubmatchIndex(text)
			require.NotNil(t, at)
			indent, end := string(text[at[4]:at[5]]), at[4]
			text = []byte(string(text[:end]) + indent + strings.TrimSpace(line) + "\n" + string(text[end:]))
			require.NoError(t, os.WriteFile(file, text, 0o600))
		case regexp.MustCompile(`^    [a-z]+,`).MatchString(line):
			list += strings.TrimSpace(line) + "\n"
			require.NoError(t, os.WriteFile("prices.csv", []byte(list), 0o600))
		case strings.HasPrefix(line, "  kitmuster "):
			typed++
			typeLine(t, strings.TrimSpace(line))
		}
	}
	require.GreaterOrEqual(t, typed, 10)
	require.Equal(t, 4, lines)
	check := mustKit(t, home, "check")
	for _, want := range []string{"apron, twill, black → Bib apron, twill, white", "all on that day", "4 black lie on the shelf and go out first", "is discontinued by its supplier"} {
		require.Contains(t, check, want)
	}
}

// A kit edited to another colour is what made everybody owed a whole kit without a word.
func TestAnotherColourIsNotTakenOverInSilence(t *testing.T) {
	home := namedBakery(t)
	file := filepath.Join(home, "bakery.yaml")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	white := strings.Replace(string(text), "colour: navy, each: 3", "colour: white, each: 3", 1)
	write(t, home, "bakery.yaml", white)
	status, out, complaint := say(t, home, "programme", "apply", file)
	require.Equal(t, 1, status)
	require.Contains(t, out, "more is owed: 6 ")
	require.Contains(t, complaint, "makes 6 pieces more owed")
	require.Contains(t, complaint, "Nothing was changed")
	require.Equal(t, string(text), mustKit(t, home, "programme", "show", "bakery"))

	write(t, home, "bakery.yaml", strings.Replace(white, "colour: white, each: 3", "colour: white, from: 2026-01-05, instead_of: polo/navy, each: 3", 1))
	out = mustKit(t, home, "programme", "apply", file)
	require.NotContains(t, out, "more is owed")
	require.Contains(t, out, "6 navy are worn on")
}
