package table

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// headings holds what a reader looks for: columns by name, and by prefix if there is one.
type headings struct {
	columns []column
	prefix  string
	hints   map[string][]string
	begins  []int             // columns in which somebody may begin a row, see Form.Begins
	title   func(string) bool // see Form.Title
}

// column is a Column whatever the type of its rows.
type column struct {
	name                  string
	also                  []string
	required, date, ahead bool
	words                 Words
}

// ProblemColumn is the first column of a file to mend; readers pass over it.
const ProblemColumn = "problem"

// headingLines is the number of lines that may stand above the heading.
const headingLines = 30

// heading is the line that names the columns.
type heading struct {
	line   int
	cells  []string // as the file writes them, cleaned
	at     []int    // cell of each wanted column, -1 = not there
	open   []family // columns by prefix
	unused []string
	score  int
}

// family is a column found by its prefix, such as size_top by size_.
type family struct {
	name string // what follows the prefix: top
	cell int
}

// matcher knows which headings mean what.
type matcher struct {
	*headings
	exact    map[string]int    // plain heading -> wanted column
	given    map[string]string // plain heading -> our name, "" = pass over it; the stated mapping
	probable map[string]string // cell -> what it probably means, "" = nothing; those that were asked for
}

func newMatcher(known *headings, stated map[string]string) *matcher {
	m := &matcher{headings: known, exact: map[string]int{}, given: map[string]string{}, probable: map[string]string{}}
	for i, c := range known.columns {
		m.exact[match.Plain(c.name)] = i
	}
	for theirs, ours := range stated {
		m.given[match.Plain(theirs)] = ours
	}
	return m
}

// name returns our name of a heading and whether it is known beyond doubt.
func (m *matcher) name(cell string) (string, bool) {
	key := match.Plain(cell)
	if ours, ok := m.given[key]; ok && key != "" {
		return ours, true
	}
	if i, ok := m.exact[key]; ok {
		return m.columns[i].name, true
	}
	if key == ProblemColumn {
		return "", true
	}
	rest, ok := m.behindPrefix(key)
	return m.prefix + rest, ok
}

// behindPrefix returns what follows the prefix in a plain heading that has it.
func (m *matcher) behindPrefix(key string) (string, bool) {
	rest, ok := strings.CutPrefix(key, match.Plain(m.prefix))
	return rest, ok && m.prefix != "" && rest != ""
}

// suggestion returns the column that an unknown heading probably means.
func (m *matcher) suggestion(cell string) (string, bool) {
	name, known := m.probable[cell]
	if !known {
		name, _ = m.suggest(cell)
		if len(m.probable) < mostProbable {
			m.probable[strings.Clone(cell)] = name
		}
	}
	return name, name != ""
}

// mostProbable is the number of cells of which is kept what they may mean: far more than headings.
const mostProbable = 5000

func (m *matcher) suggest(cell string) (string, bool) {
	key := match.Plain(cell)
	if key == "" {
		return "", false
	}
	var names []string
	for _, c := range m.columns {
		if contains(c.also, key) {
			return c.name, true
		}
		names = append(names, c.name)
	}
	for _, family := range slices.Sorted(maps.Keys(m.hints)) {
		if contains(m.hints[family], key) {
			return m.prefix + family, true
		}
	}
	if name, ok := m.translated(cell); ok {
		return name, true
	}
	return match.Near(cell, names)
}

// means returns our name of a heading, known or probable; "" = none.
func (m *matcher) means(cell string) string {
	if name, known := m.name(cell); known {
		return name
	}
	name, _ := m.suggestion(cell)
	return name
}

// read maps a line of cells; every cell known beyond doubt scores two, every
// suggestion one.
func (m *matcher) read(line int, cells []string) *heading {
	h := &heading{line: line, at: make([]int, len(m.columns))}
	for i := range h.at {
		h.at[i] = -1
	}
	for _, c := range cells {
		h.cells = append(h.cells, clean.Line(clean.Cell(c)))
	}
	for len(h.cells) > 0 && h.cells[len(h.cells)-1] == "" {
		h.cells = h.cells[:len(h.cells)-1]
	}
	seen := map[string]bool{}
	for _, c := range h.cells {
		name, known := m.name(c)
		if known && !seen[name] && (name != "" || match.Plain(c) == ProblemColumn) {
			h.score += 2
		} else if _, ok := m.suggestion(c); !known && ok {
			h.score++
		}
		seen[name] = true
	}
	return h
}

// found refuses a mapping of a heading that the file does not have: it is
// likelier misspelt than meant for another file.
func (h *heading) found(file string, m *matcher, stated map[string]string) *Error {
	for _, theirs := range slices.Sorted(maps.Keys(stated)) {
		if stated[theirs] != "" && !h.says(m, theirs) {
			return h.notFound(file, theirs, stated[theirs])
		}
	}
	return nil
}

// foundLines is found for what is mapped to nothing, which may stand alone on a line too; over are
// the plain words that do.
func (h *heading) foundLines(file string, m *matcher, stated map[string]string, over map[string]bool) *Error {
	for _, theirs := range slices.Sorted(maps.Keys(stated)) {
		if stated[theirs] == "" && !over[match.Plain(theirs)] && !h.says(m, theirs) {
			return h.notFound(file, theirs, "")
		}
	}
	return nil
}

// says reports whether what is mapped is a heading, or a word of a column.
func (h *heading) says(m *matcher, theirs string) bool {
	_, _, word := h.mapped(m, theirs)
	return word || contains(h.cells, match.Plain(theirs))
}

func (h *heading) notFound(file, theirs, ours string) *Error {
	also := ""
	if name, _, parts := strings.Cut(theirs, ":"); parts {
		also = fmt.Sprintf(", and none says %q, whose words could be mapped so", name)
	} else if ours == "" {
		also = ", and no line says nothing else"
	}
	return &Error{File: file, Line: h.line,
		Want: fmt.Sprintf("--map %q matches nothing: no heading says %q%s; the headings are %s",
			theirs+"="+ours, theirs, also, strings.Join(h.cells, ", "))}
}

// place puts every known cell into its column and collects what is in doubt.
func (h *heading) place(file string, m *matcher) *Error {
	if bad := h.sideBySide(file, m); bad != nil {
		return bad
	}
	from := map[string]string{}
	for i, c := range h.cells {
		name, known := m.name(c)
		switch {
		case c == "" || known && name == "":
			continue
		case !known:
			h.unused = append(h.unused, c)
			continue
		}
		if other, twice := from[name]; twice {
			return &Error{File: file, Line: h.line,
				Want: fmt.Sprintf("the headings %q and %q both mean %s; keep one of them, or pass one over with --map %q",
					other, c, name, c+"=")}
		}
		from[name] = c
		if !h.put(m, name, i) {
			return &Error{File: file, Line: h.line, Column: c,
				Want: fmt.Sprintf("it is mapped to %q, which is not a column of this file; the columns are %s", name,
					m.columnNames())}
		}
	}
	return h.doubts(file, m)
}

// sideBySide refuses two lists beside each other: two columns or more stand there twice.
func (h *heading) sideBySide(file string, m *matcher) *Error {
	first, again, twice := map[string]int{}, -1, 0
	for i, c := range h.cells {
		name := m.means(c)
		if name == "" {
			continue
		}
		if _, there := first[name]; !there {
			first[name] = i
			continue
		}
		if match.Plain(h.cells[first[name]]) != match.Plain(c) {
			continue // two ways to say one thing
		}
		if twice++; again < 0 {
			again = i
		}
	}
	if twice < 2 {
		return nil
	}
	return &Error{File: file, Line: h.line,
		Want: fmt.Sprintf("two lists stand side by side: the headings begin again with %q in column %s; move the second list below the first, under the same headings, or into a file of its own",
			h.cells[again], columnLetters(again))}
}

// columnLetters names a column, from 0, as spreadsheets do: A, Z, AA.
func columnLetters(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return columnLetters(i/26-1) + string(rune('A'+i%26))
}

func (h *heading) put(m *matcher, name string, cell int) bool {
	if i, ok := m.exact[match.Plain(name)]; ok {
		h.at[i] = cell
		return true
	}
	rest, ok := m.behindPrefix(match.Plain(name))
	if ok {
		h.open = append(h.open, family{name: rest, cell: cell})
	}
	return ok
}

// doubts asks about headings that probably mean a column that is missing, and
// about required columns that nothing resembles.
func (h *heading) doubts(file string, m *matcher) *Error {
	var asked, maps []string
	hinted := map[string]bool{}
	ask := func(cell, name string) {
		asked = append(asked, fmt.Sprintf("%q probably means %s", cell, name))
		maps = append(maps, fmt.Sprintf("--map %q", cell+"="+name))
		hinted[name] = true
	}
	there := h.meant(m)
	for _, c := range h.cells {
		name, known := m.name(c)
		switch _, given := m.given[match.Plain(c)]; {
		case c == "" || given:
		case known:
			if other := half(c, name, there); other != name && m.has(other) && h.missing(m, other) {
				ask(c, other)
				asked[len(asked)-1] += fmt.Sprintf(" (or, if it is the whole name, --map %q)", c+"="+name)
			}
		default:
			if name, ok := m.suggestion(c); ok {
				if name = half(c, name, there); !hinted[name] && h.missing(m, name) {
					ask(c, name)
				}
			}
		}
	}
	var lacking []string
	for i, c := range m.columns {
		if c.required && h.at[i] < 0 && !hinted[c.name] {
			lacking = append(lacking, c.name)
		}
	}
	if len(asked) == 0 && len(lacking) == 0 {
		return nil
	}
	var parts []string
	if len(asked) > 0 {
		parts = append(parts, fmt.Sprintf("%s; if that is so, add %s (an empty right side passes a column over)",
			strings.Join(asked, ", "), strings.Join(maps, " ")))
	}
	if len(lacking) > 0 {
		parts = append(parts,
			fmt.Sprintf("no heading says %s; name the column, or map yours with --map \"Your heading=%s\"",
				strings.Join(lacking, " or "), lacking[0]))
	}
	return &Error{File: file, Line: h.line, Want: strings.Join(parts, "; and ")}
}

// meant returns whether some heading is a column or probably means it.
func (h *heading) meant(m *matcher) func(name string) bool {
	return func(name string) bool {
		return !h.missing(m, name) || slices.ContainsFunc(h.unused, func(c string) bool {
			means, ok := m.suggestion(c)
			return ok && means == name
		})
	}
}

func (h *heading) missing(m *matcher, name string) bool {
	if i, ok := m.exact[match.Plain(name)]; ok {
		return h.at[i] < 0
	}
	for _, f := range h.open {
		if m.prefix+f.name == name {
			return false
		}
	}
	return true
}

func (m *matcher) columnNames() string {
	var names []string
	for _, c := range m.columns {
		names = append(names, c.name)
	}
	if m.prefix != "" {
		names = append(names, m.prefix+"FAMILY")
	}
	return strings.Join(names, ", ")
}

// findHeading returns the best scoring of the first lines, the first of equals.
func findHeading(g grid, m *matcher) (*heading, *Error) {
	var best *heading
	seen := 0
	bad := g.each(func(line int, cells []string) bool {
		h := m.read(line, cells)
		if best == nil || h.score > best.score {
			best = h
		}
		seen++
		return seen < headingLines
	})
	return best, bad
}

func contains(list []string, s string) bool {
	return slices.ContainsFunc(list, func(x string) bool { return match.Plain(x) == s })
}
