package table

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// notRow is why a line is no row; none is "".
type notRow string

const (
	isTitle    notRow = "as titles"
	isTotal    notRow = "as totals"
	isNote     notRow = "as notes"
	isMapped   notRow = "since they are mapped to nothing"
	isHeading  notRow = "as the heading again"
	isBeside   notRow = "since nothing stands in the columns that are read"
	mostNoted         = 30 // lines that a note names
	loneColumn        = 2  // a list of so few columns has rows of one cell
)

// left are the lines that were passed over for one reason.
type left struct {
	total int
	lines []string
}

// noteLeft says which lines were passed over and what they say, so that nothing is lost unseen.
func (t *Table) noteLeft(lines map[notRow]*left) {
	for _, why := range []notRow{isTitle, isTotal, isNote, isMapped, isHeading, isBeside} {
		l := lines[why]
		if l == nil {
			continue
		}
		note := fmt.Sprintf("left out %s: %s", why, strings.Join(l.lines, ", "))
		if more := l.total - len(l.lines); more > 0 {
			note += fmt.Sprintf(" and %d more", more)
		}
		if !slices.Contains(t.Notes, note) {
			t.Notes = append(t.Notes, note)
		}
	}
}

// add notes a line that is no row.
func (l *left) add(r *Row, why notRow) {
	if l.total++; l.total > mostNoted {
		return
	}
	text := fmt.Sprintf("line %d", r.Line)
	if why != isHeading {
		var words []string
		for _, c := range r.cells {
			if c = clean.Line(clean.Cell(c)); c != "" && !slices.Contains(words, c) {
				words = append(words, c)
			}
		}
		text += fmt.Sprintf(" \"%s\"", clean.Shown(strings.Join(words, " "), shown))
	}
	l.lines = append(l.lines, text)
}

// judge says why a line is no row, or what is wrong with its shape.
func (t *Table) judge(r *Row) (why notRow, bad *Error) {
	filled, first, last := 0, -1, -1
	lone := true // all that is filled says the same, as merged cells do
	for i, c := range r.cells {
		if c = clean.Cell(c); c != "" {
			if filled++; first < 0 {
				first = i
			}
			lone = lone && (filled == 1 || c == clean.Cell(r.cells[first]))
			last = i
		}
	}
	width := len(t.head.cells)
	if first < 0 {
		return "", nil
	}
	says := clean.Cell(r.cells[first])
	switch {
	case filled <= max(2, width/2) && saysTotal(r) && t.lacksRequired(r):
		return isTotal, nil
	case lone && width > loneColumn && saysNote(r, says), filled == 2 && width > loneColumn && t.lacksRequired(r) &&
		saysDated(r, says):
		return isNote, nil
	case lone && width > loneColumn && t.lacksRequired(r):
		if why, bad = t.judgeLone(r, first, says); why != "" || bad != nil {
			return why, bad
		}
	case filled > 1 && t.repeatsHeading(r):
		return isHeading, nil
	}
	switch {
	case last >= width:
		return "", &Error{File: t.File, Line: r.Line,
			Want: fmt.Sprintf("the line has %s where the heading has %d; a separator inside a value needs quotation marks around the value",
				programme.NumberOf(last+1, "cell"), width)}
	case !t.excel && len(r.cells) < width:
		return "", &Error{File: t.File, Line: r.Line,
			Want: fmt.Sprintf("the line has %s where the heading has %d; write an empty cell for what is not known",
				programme.NumberOf(len(r.cells), "cell"), width)}
	case t.besideColumns(r):
		return isBeside, nil
	}
	return t.judgeHeading(r, filled), nil
}

// judgeLone judges a line that says one thing alone, which is not enough for a row: a title between
// rows, or a row that somebody began.
func (t *Table) judgeLone(r *Row, at int, says string) (notRow, *Error) {
	if ours, ok := t.m.given[match.Plain(says)]; ok && ours == "" {
		t.over[match.Plain(says)] = true
		return isMapped, nil
	}
	digits := strings.ContainsFunc(says, unicode.IsDigit)
	begun := slices.ContainsFunc(t.begins, func(column int) bool { return t.head.at[column] == at })
	switch {
	case saysSection(says) || t.title != nil && t.title(says) || !begun && !digits:
		return isTitle, nil
	case !begun:
		return "", nil
	}
	var lacking []string
	for i, c := range t.columns {
		if c.required && r.Text(i) == "" {
			lacking = append(lacking, c.name)
		}
	}
	need := strings.Join(lacking, " and ")
	if !strings.ContainsFunc(says, unicode.IsLetter) {
		return "", &Error{File: t.File, Line: r.Line,
			Want: fmt.Sprintf("nothing but a number stands here; write the rest of the row (%s), or remove the line", need)}
	}
	return "", &Error{File: t.File, Line: r.Line, Value: strings.Clone(says), Map: mapTo(says, ""),
		Want: fmt.Sprintf("and nothing else stands on this line; a row needs %s too", need)}
}

// besideColumns reports whether nothing stands in the columns that are read: another list beside this
// one is longer.
func (t *Table) besideColumns(r *Row) bool {
	for _, at := range t.head.at {
		if r.raw(at) != "" {
			return false
		}
	}
	return !slices.ContainsFunc(t.head.open, func(f family) bool { return r.raw(f.cell) != "" })
}

// judgeHeading finds a line that names columns where a row has a day: the same heading, written a
// little differently, or that of another list, whose rows cannot be read by this one.
func (t *Table) judgeHeading(r *Row, filled int) notRow {
	date := slices.IndexFunc(t.columns, func(c column) bool { return c.date })
	if date < 0 || filled < 3 {
		return ""
	}
	if day := r.raw(t.head.at[date]); day == "" || strings.ContainsFunc(day, unicode.IsDigit) {
		return ""
	}
	same := true
	for i, c := range r.cells {
		if c = clean.Line(clean.Cell(c)); c == "" {
			continue
		}
		name, known := t.m.name(c)
		if !known {
			name, known = t.m.suggestion(c)
		}
		if !known {
			return ""
		}
		same = same && i < len(t.head.cells) && t.m.means(t.head.cells[i]) == name
	}
	if same {
		return isHeading
	}
	if t.another == nil {
		t.another = &Error{File: t.File, Line: r.Line,
			Want: fmt.Sprintf("this line names columns in another order than the heading (line %d): another list begins here; put it into a file of its own",
				t.head.line)}
	}
	return ""
}

// lacksRequired reports whether a column that every row needs is empty, so that
// somebody called Sum Li is not taken for a total.
func (t *Table) lacksRequired(r *Row) bool {
	for i, c := range t.columns {
		if c.required && r.Text(i) == "" {
			return true
		}
	}
	return false
}

// What reports write between and below rows, in the languages of headings, without marks and in small
// letters (English: common practice, no source; the others from memory).
var (
	totals = strings.Fields("total totals subtotal sub-total headcount summe gesamt gesamtsumme insgesamt " +
		"zwischensumme sous-total effectif totale subtotale totaal subtotaal")
	// totalNames are totals that may be names too: a number, or nothing, stands behind them.
	totalNames = []string{"sum", "count", "grand total", "head count", "somme", "somma", "suma", "soma", "som",
		"anzahl", "ensemble", "aantal"}
	notes = []string{"printed", "generated", "exported", "end of", "confidential", "prepared by", "report ", "* ",
		"note:", "--", "=="}
	// datedNotes have a number behind them.
	datedNotes = []string{"page", "as of", "as at", "updated", "seite", "blatt", "stand", "stichtag", "gedruckt",
		"erstellt", "exportiert", "etat au", "situation au", "a la date du", "mis a jour", "imprime", "edite",
		"exporte", "genere", "pagina", "situacion a", "actualizado", "impreso", "generado", "exportado",
		"situazione al", "aggiornato", "stampato", "generato", "esportato", "bijgewerkt", "afgedrukt", "stand per",
		"atualizado", "impresso", "gerado"}
	sections = strings.Fields("shift shifts team crew department dept division section group unit " +
		"schicht abteilung gruppe bereich equipe service atelier rayon turno equipo departamento seccion reparto " +
		"squadra ploeg afdeling dienst equipa seccao")
	// sectionEnds end German and Dutch words: Nachtschicht, nachtdienst.
	sectionEnds = []string{"schicht", "dienst", "ploeg", "abteilung"}
)

// saysTotal reports whether a sparsely filled line has a cell that says so.
func saysTotal(r *Row) bool {
	for _, c := range r.cells {
		w := match.Bare(clean.Line(clean.Cell(c)))
		for _, total := range totals {
			if _, ok := behindWord(w, total); ok {
				return true
			}
		}
		for _, total := range totalNames {
			rest, ok := behindWord(w, total)
			if ok && (rest == "" || rest[0] == ':' || strings.ContainsFunc(rest, unicode.IsDigit)) {
				return true
			}
		}
	}
	return false
}

// behindWord returns what follows a word that a text begins with.
func behindWord(text, word string) (rest string, ok bool) {
	rest, ok = strings.CutPrefix(text, word)
	return rest, ok && (rest == "" || rest[0] == ':' || rest[0] == ' ')
}

// saysNote knows what report programs write below a list.
func saysNote(r *Row, says string) bool {
	w := strings.ToLower(says)
	return slices.ContainsFunc(notes, func(begins string) bool { return strings.HasPrefix(w, begins) }) ||
		saysDated(r, says)
}

// saysDated knows pages and days: page 2 of 3, as of 1 March.
func saysDated(r *Row, says string) bool {
	w := match.Bare(clean.Line(says))
	if !slices.ContainsFunc(datedNotes, func(begins string) bool { _, ok := behindWord(w, begins); return ok }) {
		return false
	}
	return slices.ContainsFunc(r.cells, func(c string) bool { return strings.ContainsFunc(c, unicode.IsDigit) })
}

// saysSection knows titles of parts of a list: Night shift, Service de nuit.
func saysSection(says string) bool {
	for _, w := range strings.FieldsFunc(match.Bare(says), func(r rune) bool { return !unicode.IsLetter(r) }) {
		if slices.Contains(sections, w) ||
			slices.ContainsFunc(sectionEnds, func(end string) bool { return strings.HasSuffix(w, end) }) {
			return true
		}
	}
	return false
}

func (t *Table) repeatsHeading(r *Row) bool {
	for i, h := range t.head.cells {
		c := ""
		if i < len(r.cells) {
			c = r.cells[i]
		}
		if !strings.EqualFold(clean.Cell(c), h) {
			return false
		}
	}
	return true
}
