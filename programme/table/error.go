package table

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// Error is one thing that is wrong with a file. Its text is one sentence that
// the person who made the file can act on.
type Error struct {
	File   string
	Line   int    // from 1; 0 = the file as a whole
	Column string // the heading as the file writes it; empty = the whole line
	Value  string // what was read; empty = nothing to show
	Want   string // what is wrong and what would be right: the end of the sentence
	Map    string // the mapping that would make the value right, such as role:Line Cook=cook; empty = none
	Err    error  // the cause, if another package found it
}

// Error reads: staff.csv line 14, column start_date: read "31.02.2026", but February 2026 has 28 days.
func (e *Error) Error() string {
	if e.Line > 0 {
		return e.text(lineList([]int{e.Line}, 1))
	}
	return e.text("")
}

// text is the sentence about the lines that are named.
func (e *Error) text(lines string) string {
	var b strings.Builder
	b.WriteString(e.File)
	if lines != "" {
		b.WriteString(" " + lines)
	}
	if e.Column != "" {
		fmt.Fprintf(&b, ", column %s", e.Column)
	}
	b.WriteString(": ")
	if e.Value != "" {
		fmt.Fprintf(&b, "read \"%s\", ", clean.Shown(e.Value, shown))
	}
	b.WriteString(e.Want)
	if !strings.HasSuffix(e.Want, ".") {
		b.WriteByte('.')
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Errors is everything that is wrong with a file, in the order of its lines.
type Errors []*Error

// Error puts each sentence on a line of its own. What is wrong in the same way on several
// lines is said once, and so is what to map, in the last sentence.
func (l Errors) Error() string {
	type fault struct{ file, column, value, want string }
	said := map[fault][]int{}
	for _, e := range l {
		k := fault{e.File, e.Column, e.Value, e.Want}
		said[k] = append(said[k], e.Line)
	}
	var out []string
	for _, e := range l {
		k := fault{e.File, e.Column, e.Value, e.Want}
		lines := said[k]
		delete(said, k)
		switch {
		case len(lines) == 1:
			out = append(out, e.Error())
		case len(lines) > 1:
			out = append(out, e.text(lineList(lines[:min(len(lines), mostLines)], len(lines))))
		}
	}
	if hint := l.mapHint(); hint != "" && len(out) == 1 {
		out[0] += " " + hint + "."
	} else if hint != "" {
		out = append(out, hint+".")
	}
	return strings.Join(out, "\n")
}

// mapHint says, ready to copy, how words of the file are mapped that are none of ours, and lines that
// are titles to nothing.
func (l Errors) mapHint() string {
	var words, titles []string
	open, said := "", map[string]bool{}
	for _, e := range l {
		if e.Map == "" || said[match.Plain(e.Map)] {
			continue
		}
		said[match.Plain(e.Map)] = true
		flag := fmt.Sprintf("--map %q", e.Map)
		switch _, ours, _ := strings.Cut(e.Map, "="); {
		case ours == "":
			titles = append(titles, flag)
			continue
		case ours == strings.ToUpper(ours):
			open = " with ours in place of the capitals"
		}
		words = append(words, flag)
	}
	var parts []string
	if len(words) > 0 {
		parts = append(parts, fmt.Sprintf("where a word of the file means one of ours, add %s%s", firstOf(words), open))
	}
	if len(titles) > 0 {
		parts = append(parts, "where such a line is a title and no row, add "+firstOf(titles))
	}
	return clean.Sentence(strings.Join(parts, "; "))
}

// firstOf lists mappings that are proposed at once.
func firstOf(flags []string) string {
	text := strings.Join(flags[:min(len(flags), mostMaps)], " ")
	if more := len(flags) - mostMaps; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// mostMaps is the number of mappings that are proposed at once.
const mostMaps = 30

// mostLines is the number of lines that one sentence names.
const mostLines = 8

// Sort orders the errors by line; those of one line stay as they were found.
func (l Errors) Sort() {
	slices.SortStableFunc(l, func(a, b *Error) int { return cmp.Compare(a.Line, b.Line) })
}

// Lines returns the lines that have an error; a line 0 stands for the file.
func (l Errors) Lines() map[int]bool {
	set := make(map[int]bool, len(l))
	for _, e := range l {
		set[e.Line] = true
	}
	return set
}

// shown is the number of characters of a cell that an error shows: enough to find it again.
const shown = 61

// lineList names lines for a person: "lines 2, 3, 5 and 9 more".
func lineList(lines []int, total int) string {
	if total == 1 && len(lines) == 1 {
		return fmt.Sprintf("line %d", lines[0])
	}
	words := make([]string, len(lines))
	for i, n := range lines {
		words[i] = fmt.Sprint(n)
	}
	if more := total - len(lines); more > 0 {
		return fmt.Sprintf("lines %s and %d more", strings.Join(words, ", "), more)
	}
	last := len(words) - 1
	return fmt.Sprintf("lines %s and %s", strings.Join(words[:last], ", "), words[last])
}
