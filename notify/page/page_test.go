package page_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme/goldentest"
)

// every is a page with each block that there is.
func every() page.Page {
	p := page.Page{Title: "Every block"}
	p.Aside("Corner Press")
	p.Heading(1, "Forty pieces & a cap")
	p.Say("100%% cotton: a sentence that is long enough to be broken over two lines of a plain mail, or a screen of %d letters.", 100)
	p.Warn("Already late.")
	p.Add(page.Facts{Pairs: []page.Fact{{Label: "Answer by", Value: "Fri 6 Mar", Strong: true},
		{Label: "In your hands", Value: "Thu 19 Mar"}}})
	p.Add(page.Answers{Links: "Each opens a filled-in mail.", List: []page.Answer{
		{Words: "Yes, all 41", To: "noor@example.com", Subject: "Yes to proposal 7", Body: "Yes.\nName:\n"},
		{Words: "Not now", To: "noor@example.com", Subject: "No + why", Body: "", Attach: "the list"},
	}})
	p.Heading(2, "What")
	p.Heading(3, "By size")
	t := page.Table{Title: "Crew tee", Columns: page.Columns("", "#S", "#M", "#pieces")}
	t.Row("black", "", 40, page.Strong("40"))
	t.Sum("together", "", 40, 40)
	p.Add(t)
	wide := page.Table{Columns: []page.Column{{Head: "Day", Keep: true}, {Head: "What"}}}
	wide.Row("Mon 2 Mar", page.Plain(strings.Repeat("do this, then that; ", 5)).Below(page.Quiet("see below")))
	wide.Group(page.Quiet("The rest of the week, in words that go over all of the columns"))
	wide.Row("Tue 3 Mar", "rest")
	wide.Group(page.Plain("Nothing below"))
	wide.Sum("2 days", "")
	p.Add(wide, page.Table{Empty: "Nothing else."})
	p.List([]string{"one thing", strings.Repeat("another thing ", 8)})
	p.Add(page.Caution{Words: "The platen burns at a touch."}, page.Rule{},
		page.Picture{CID: "tee", Alt: "A tee with a badge, to the right", Text: "The badge is sewn on.", Width: 100,
			Height: 50},
		page.Picture{CID: "cap", Alt: "A cap", Width: 100, Height: 50})
	return p
}

func TestEachRendererDrawsEveryBlock(t *testing.T) {
	p := every()
	html, err := page.HTML(p)
	require.NoError(t, err)
	goldentest.Equal(t, "every.html", []byte(html))
	goldentest.Equal(t, "every.txt", []byte(page.PlainText(p)))
	var screen strings.Builder
	require.NoError(t, page.Terminal(&screen, p, 0))
	goldentest.Equal(t, "every.terminal", []byte(screen.String()))
	for line := range strings.Lines(page.PlainText(p)) {
		require.LessOrEqual(t, len(strings.TrimRight(line, "\n")), 74)
	}
}

// A text has no links and no pictures, so it speaks of none: it says whom to write to and what to attach, and has
// what a picture says in other words or leaves it out.
func TestEachMediumSpeaksOfWhatItHas(t *testing.T) {
	p := every()
	html, err := page.HTML(p)
	require.NoError(t, err)
	text := strings.Join(strings.Fields(page.PlainText(p)), " ")
	for _, words := range []string{"Each opens a filled-in mail.", "A tee with a badge", "A cap"} {
		require.Contains(t, html, words)
		require.NotContains(t, text, words)
	}
	for _, words := range []string{"and attach the list.", "The badge is sewn on."} {
		require.NotContains(t, html, words)
		require.Contains(t, text, words)
	}
}

// proposalTable is wide as the tables of commands are.
func proposalTable() page.Table {
	t := page.Table{Title: "Proposal 1", Columns: page.Columns("Garment", "Colour", "Size", "#Expected", "#Enough with",
		"#On hand", "#On order", "#From shelf", "#Price each", "For", "")}
	t.Row("Polyester/cotton polo", "burgundy", "2XL", 8.1, 13, 5, "", "", "$24.00",
		"Ana Brill, Bo Castellan, Cy Dunmore and 5 more", "")
	t.Row("Ring-spun cotton tee", "navy", "S", 2.4, 6, 3, "", "", "$14.00", "dee.ellery@saltbox-bakery.example",
		"early: saves $80.98")
	t.Sum("together", "", "", 10.5, "", 8, "", "", "", "", "")
	return t
}

func TestATableFitsTheTerminal(t *testing.T) {
	for _, columns := range []int{0, 120, 80, 40} {
		var out strings.Builder
		require.NoError(t, page.Terminal(&out, page.Page{Blocks: []page.Block{proposalTable()}}, columns))
		goldentest.Equal(t, fmt.Sprintf("wide-%d.terminal", columns), []byte(out.String()))
	}
}

// A row over all columns stands whole between the rows it parts, however much the cells around it are folded.
func TestAGroupStandsBetweenItsRowsInANarrowTable(t *testing.T) {
	table := page.Table{Columns: page.Columns("Who", "What", "#pieces")}
	table.Group(page.Plain("In the kitchen"))
	table.Row("Ana", strings.Repeat("apron and cap, ", 6), 4)
	table.Group(page.Plain("At the counter, where customers see"))
	table.Row("Ben", "polo", 2)
	for _, width := range []int{40, 60} {
		var out strings.Builder
		require.NoError(t, page.Terminal(&out, page.Page{Blocks: []page.Block{table}}, width))
		var starts []string
		for line := range strings.Lines(out.String()) {
			for _, s := range []string{"In the kitchen", "Ana", "At the counter, where customers see", "Ben"} {
				if strings.HasPrefix(strings.TrimSpace(line), s) {
					starts = append(starts, s)
				}
			}
		}
		require.Equal(t, []string{"In the kitchen", "Ana", "At the counter, where customers see", "Ben"}, starts, out.String())
	}
}

// Whatever is in a table, no line is wider than the terminal, and nothing that stood
// in a cell is lost but for the places at which it is broken.
func TestATableFitsAnyTerminalAndLosesNothing(t *testing.T) {
	letters := regexp.MustCompile(`[^\s-]`)
	count := func(s string) int { return len(letters.FindAllString(s, -1)) }
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(t, "columns")
		words := rapid.StringMatching(`([a-z]{1,20} ?){0,8}`)
		var heads []string
		for range n {
			heads = append(heads, rapid.StringMatching(`#?[A-Z][a-z]{1,9}( [a-z]{1,9}){0,2}`).Draw(t, "head"))
		}
		table := page.Table{Columns: page.Columns(heads...)}
		stood := 0
		for range rapid.IntRange(1, 4).Draw(t, "rows") {
			cells := make([]any, n)
			for i, h := range heads {
				cell := words.Draw(t, "cell")
				if strings.HasPrefix(h, "#") {
					cell = rapid.StringMatching(`[0-9]{0,6}`).Draw(t, "figure")
				}
				cells[i] = cell
				stood += count(cell)
			}
			if rapid.Bool().Draw(t, "grouped") {
				over := rapid.StringMatching(`[a-z]{1,20}( [a-z]{1,120}){0,8}`).Draw(t, "group")
				table.Group(page.Plain(over))
				stood += count(over)
			}
			table.Row(cells...)
		}
		width := rapid.IntRange(40, 160).Draw(t, "width")
		var out strings.Builder
		require.NoError(t, page.Terminal(&out, page.Page{Blocks: []page.Block{table}}, width))
		require.GreaterOrEqual(t, count(out.String()), stood)
		for line := range strings.Lines(out.String()) {
			require.LessOrEqual(t, len(strings.TrimRight(line, "\n")), width, out.String())
		}
	})
}

// What people typed is words wherever it stands: the same elements are drawn
// whatever the words are.
func TestWordsAreNeverMarkup(t *testing.T) {
	elements := func(s string) int { return strings.Count(s, "<") }
	draw := func(words string) string {
		p := page.Page{Title: words}
		p.Heading(2, words)
		p.Say("%s", words)
		p.List([]string{words})
		p.Add(page.Facts{Pairs: []page.Fact{{Label: words, Value: words}}}, page.Caution{Words: words},
			page.Picture{CID: "a", Alt: words, Text: words},
			page.Answers{Links: words, List: []page.Answer{{Words: words, To: words, Subject: words, Body: words}}})
		table := page.Table{Title: words, Columns: page.Columns(words)}
		table.Row(page.Quiet(words))
		p.Add(table)
		html, err := page.HTML(p)
		require.NoError(t, err)
		return html
	}
	plain := elements(draw("x"))
	rapid.Check(t, func(r *rapid.T) {
		words := rapid.OneOf(rapid.SampledFrom([]string{"<b>", `"><script>alert(1)</script>`, "javascript:alert(1)",
			"' onload='x", "--><!--", "{{.}}"}), rapid.StringN(1, 40, -1)).Draw(r, "words")
		if strings.HasPrefix(words, "#") {
			return // marks a column of figures
		}
		require.Equal(r, plain, elements(draw(words)))
	})
}

func TestALinkOpensAFilledInMail(t *testing.T) {
	a := page.Answer{To: "noor@example.com", Subject: "Yes + all", Body: "Name:\nDay:"}
	require.Equal(t, "mailto:noor@example.com?subject=Yes%20%2B%20all&body=Name:%0D%0ADay:", a.Link())
}

func TestSharesOfAPaperAddUpToItsWidth(t *testing.T) {
	table := page.Table{Columns: []page.Column{{Share: 0.4}, {}, {Share: 0.2}, {}}}
	got := table.Shares()
	require.InDeltaSlice(t, []float64{0.4, 0.2, 0.2, 0.2}, got, 1e-12)
}

func TestRunningTextIsFoldedUnderItself(t *testing.T) {
	for _, c := range []struct{ name, pieces, want string }{
		{"short", "as it  is\n", "as it  is\n"},
		{"a paragraph", "one two three four five\n", "one two three\nfour five\n"},
		{"an indent", "  one two three four\n", "  one two\n  three four\n"},
		{"a label", "ok    one two three\n", "ok    one two\n      three\n"},
		{"a label too wide", "a long label  one two\n", "a long label\none two\n"},
		{"a command", "  kitmuster one two three four\n", "  kitmuster one two three four\n"},
		{"a command in quotes", "say 'kitmuster one' then\n", "say\n'kitmuster one'\nthen\n"},
		{"a word too long", "at onetwothreefourfive\n", "at\nonetwothreefourfive\n"},
		{"pieces of a line", "one two|, three four|\nfive\n", "one two, three\nfour\nfive\n"},
		{"wide letters", "梅美咲 梅美咲 梅\n", "梅美咲 梅美咲\n梅\n"},
		{"a question", "one two three? ", "one two three? "},
	} {
		f := page.Folder{Columns: 14}
		var got strings.Builder
		for piece := range strings.SplitSeq(c.pieces, "|") {
			got.WriteString(f.Fold(piece))
		}
		require.Equal(t, c.want, got.String(), c.name)
	}
}

func TestParagraphsAreUnwrapped(t *testing.T) {
	require.Equal(t, "one two\n\nthree\n  code\n  more\nfour five\n",
		page.Unwrap("one\ntwo\n\nthree\n  code\n  more\nfour\nfive\n"))
	require.Empty(t, page.Unwrap(""))
}

// Folding changes nothing but spaces into line breaks.
func TestFoldingLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`(([a-z']{0,9}|  |'kitmuster x y'|é|\n) ){0,30}`).Draw(t, "text")
		f := page.Folder{Columns: rapid.IntRange(1, 40).Draw(t, "columns")}
		var got strings.Builder
		for rest := text; rest != ""; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "piece")
			got.WriteString(f.Fold(rest[:n]))
			rest = rest[n:]
		}
		require.Equal(t, strings.Fields(text), strings.Fields(got.String()))
	})
}
