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
// of kits and its prices go into the programme, its versions into an artwork of the
// shop, its rows of a list into prices.csv, and its commands run.
func TestTheGuideToChangesWorksAsPrinted(t *testing.T) {
	home := typedGuide(t, "## When people come, change and go")
	guide := mustKit(t, home, "help", "changes")
	client := filepath.Join(books.ProgrammesDir, "saltbox-bakery.yaml")
	for _, name := range []string{"round.svg", "square.svg"} {
		require.NoError(t, os.WriteFile(name, []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="350" height="300"><rect width="350" height="300"/></svg>`), 0o600))
	}
	kit := regexp.MustCompile(`(?m)^( *)kit:.*\n( *)- `)
	typed, lines, rows, list, under := 0, 0, 0, "", ""
	for line := range strings.SplitSeq(regexp.MustCompile(`,\n {7}`).ReplaceAllString(guide, ", "), "\n") {
		row := strings.TrimSpace(line)
		switch {
		case strings.HasPrefix(line, "    - {"):
			lines++
			rewrite(t, client, func(text string) string {
				at := kit.FindStringSubmatchIndex(text)
				require.NotNil(t, at)
				return text[:at[4]] + text[at[4]:at[5]] + row + "\n" + text[at[4]:]
			})
		case line == "    prices:":
			under = row
			rewrite(t, client, func(text string) string { return text + "prices:\n" })
		case line == "    versions:":
			under = row
			rewrite(t, books.ShopFile,
				func(text string) string { return strings.Replace(text, "inks: 1}", "inks: 1, versions: []}", 1) })
		case line == "    artworks:", line == "    garments:":
			under = row
		case strings.HasPrefix(line, "      - {") && (under == "artworks:" || under == "garments:"):
			rows++
			rewrite(t, books.ShopFile, func(text string) string {
				return strings.Replace(text, "\n"+under+"\n", "\n"+under+"\n  "+row+"\n", 1)
			})
		case strings.HasPrefix(line, "      - {") && under == "prices:":
			rows++
			rewrite(t, client, func(text string) string { return text + "  " + row + "\n" })
		case strings.HasPrefix(line, "      - {") && under == "versions:":
			rows++
			rewrite(t, books.ShopFile, func(text string) string {
				head, list, _ := strings.Cut(text, "versions: [")
				return head + "versions: [" + strings.Replace(list, "]}", strings.TrimPrefix(row, "- ")+", ]}", 1)
			})
		case regexp.MustCompile(`^    [a-z]+,`).MatchString(line):
			list += row + "\n"
			require.NoError(t, os.WriteFile("prices.csv", []byte(list), 0o600))
		case strings.HasPrefix(line, "  kitmuster "):
			typed++
			typeLine(t, row)
		}
	}
	require.GreaterOrEqual(t, typed, 18)
	require.Equal(t, []int{7, 6}, []int{lines, rows})
	check := mustKit(t, home, "check")
	for _, want := range []string{"apron, twill, black → Bib apron, twill, white", "all on that day",
		"4 black lie on the shelf and go out first", "is discontinued by its supplier",
		"version square: the client has not approved it", "version round is printed until then"} {
		require.Contains(t, check, want)
	}
	require.Contains(t, mustKit(t, home, "programme", "show", "saltbox-bakery"), "first: 3")
}

// rewrite changes a file.
func rewrite(t *testing.T, file string, to func(text string) string) {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	next := to(string(text))
	require.NotEqual(t, string(text), next, file)
	require.NoError(t, os.WriteFile(file, []byte(next), 0o600))
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

	write(t, home, "bakery.yaml", strings.Replace(white, "colour: white, each: 3",
		"colour: white, from: 2026-01-05, instead_of: polo/navy, each: 3", 1))
	out = mustKit(t, home, "programme", "apply", file)
	require.NotContains(t, out, "more is owed")
	require.Contains(t, out, "6 navy are worn on")
}
