package table

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// Words says what may be mapped of the cells of a column, word by word: Options.Headings of
// "colour:navy blue" is what the column colour means where it says navy blue.
type Words int

const (
	// Fixed cells are read as they stand.
	Fixed Words = iota
	// OrEmpty maps words; one that is mapped to nothing counts as an empty cell.
	OrEmpty
	// OrLeftOut maps words; one that is mapped to nothing leaves its rows out.
	OrLeftOut
)

// mapping holds what the words of one column mean.
type mapping struct {
	words Words
	ours  map[string]string // by plain word of the file
	said  map[string]string // the word as the mapping has it, by plain word
	met   map[string]int    // rows that had it
}

// mapped returns the column whose words an entry of Options.Headings maps, and the word; ok is
// false where the entry maps a heading. The column goes by our name or by the file's.
func (h *heading) mapped(m *matcher, theirs string) (column int, word string, ok bool) {
	name, word, ok := strings.Cut(theirs, ":")
	if !ok || match.Plain(word) == "" || contains(h.cells, match.Plain(theirs)) {
		return 0, "", false
	}
	if i, ok := m.exact[match.Plain(name)]; ok {
		return i, word, true
	}
	for i, at := range h.at {
		if at >= 0 && match.Plain(h.cells[at]) == match.Plain(name) {
			return i, word, true
		}
	}
	return 0, "", contains(h.cells, match.Plain(name))
}

// mapWords notes which words of which columns mean what, those stated for this file last.
func (t *Table) mapWords() *Error {
	for _, said := range []map[string]string{t.opt.Headings, t.opt.Stated} {
		for _, theirs := range slices.Sorted(maps.Keys(said)) {
			column, word, ok := t.head.mapped(t.m, theirs)
			if !ok {
				continue
			}
			c := t.columns[column]
			if _, stated := t.opt.Stated[theirs]; c.words == Fixed && stated {
				return &Error{File: t.File, Line: t.head.line,
					Want: fmt.Sprintf("--map %q maps a word of the column %s, whose cells are read as they stand",
						theirs+"="+said[theirs], c.name)}
			}
			if c.words != Fixed {
				t.mapWord(column, word, said[theirs])
			}
		}
	}
	return nil
}

func (t *Table) mapWord(column int, word, ours string) {
	if t.mapped == nil {
		t.mapped, t.atCell = make([]*mapping, len(t.columns)), make([]*mapping, len(t.head.cells))
	}
	m := t.mapped[column]
	if m == nil {
		m = &mapping{words: t.columns[column].words, ours: map[string]string{}, said: map[string]string{},
			met: map[string]int{}}
		t.mapped[column] = m
		if at := t.head.at[column]; at >= 0 {
			t.atCell[at] = m
		}
	}
	m.ours[match.Plain(word)], m.said[match.Plain(word)] = ours, strings.TrimSpace(word)
}

// of returns what a word of the column means, and whether it is mapped; no mapping maps none.
func (m *mapping) of(word string) (string, bool) {
	if m == nil || word == "" {
		return word, false
	}
	ours, ok := m.ours[match.Plain(word)]
	if !ok {
		return word, false
	}
	return ours, true
}

// mappingAt returns the mapping of a cell; nil = its words are not mapped.
func (t *Table) mappingAt(i int) *mapping {
	if i < 0 || i >= len(t.atCell) {
		return nil
	}
	return t.atCell[i]
}

// meet counts the mapped words of a row; out reports that one of them leaves the row out.
func (t *Table) meet(r *Row) (out bool) {
	for i, m := range t.atCell {
		word := r.raw(i)
		if ours, ok := m.of(word); ok {
			m.met[match.Plain(word)]++
			out = out || ours == "" && m.words == OrLeftOut
		}
	}
	return out
}

// noteMapped says how many rows each word that is mapped to nothing left out, and which mapping
// that was stated for this file met no row.
func (t *Table) noteMapped() {
	for column, m := range t.mapped {
		if m == nil || m.words != OrLeftOut {
			continue
		}
		for _, word := range slices.Sorted(maps.Keys(m.ours)) {
			if n := m.met[word]; n > 0 && m.ours[word] == "" {
				t.Notes = append(t.Notes, fmt.Sprintf("left out: %s with the %s %q, which is mapped to nothing",
					programme.NumberOf(n, "row"), t.columns[column].name, m.said[word]))
			}
		}
	}
	for _, theirs := range slices.Sorted(maps.Keys(t.opt.Stated)) {
		column, word, ok := t.head.mapped(t.m, theirs)
		if !ok || t.mapped[column].met[match.Plain(word)] > 0 {
			continue
		}
		t.Notes = append(t.Notes, fmt.Sprintf("--map %q matches nothing: no row has the %s %q",
			theirs+"="+t.opt.Stated[theirs], t.columns[column].name, word))
	}
}

// Ours returns what a word means that stands for one of the column of that number, though in no
// cell of it.
func (r *Row) Ours(column int, word string) string {
	if r.t.mapped == nil {
		return word
	}
	m := r.t.mapped[column]
	ours, ok := m.of(word)
	if ok {
		m.met[match.Plain(word)]++
	}
	return ours
}

// Unknown says of a cell whose word is none of ours what would be right, as Wrong does, and how the
// word could be mapped where the column has Words; near is the one of ours that it probably means, "" = none.
func (c Cell) Unknown(want, near string) {
	e := c.fault(want)
	defer c.wrong(e)
	raw := c.raw(c.at)
	if c.t.columns[c.column].words == Fixed || raw == "" {
		return
	}
	if _, mapped := c.t.mappingAt(c.at).of(raw); mapped {
		return
	}
	name := c.t.columns[c.column].name
	if near == "" {
		of, _, _ := strings.Cut(name, "_")
		near = strings.ToUpper(of)
	}
	if e.Map = mapTo(raw, near); e.Map != "" {
		e.Map = name + ":" + e.Map
	}
}

// mapTo writes the mapping of a text to ours, or "" where it cannot be typed on one line.
func mapTo(text, ours string) string {
	if clean.Shown(text, shown) != text || strings.Contains(text, "=") {
		return ""
	}
	return strings.Clone(text) + "=" + ours
}

// Choose returns which of the choices the cell says, or says as Unknown does what would be right; what
// names one of them, such as "movement".
func (c Cell) Choose(among *match.Choices, what string) (code string) {
	code, ok := among.Find(c.Text())
	if !ok {
		near, _ := among.Nearest(c.Text())
		c.Unknown(among.Want(what, c.Text()), near)
	}
	return code
}
