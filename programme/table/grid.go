package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// grid is cells in lines, before anybody knows which line is the heading. Each
// calls f with the cells of each line that has any, until f returns false;
// the cells are valid until f returns.
type grid interface {
	each(f func(line int, cells []string) bool) *Error
}

// textGrid is a list of text whose cells are parted by a comma, semicolon, tab or bar.
type textGrid struct {
	file string
	text []byte
	sep  rune
}

// maxRecordLines is the number of lines that a quoted cell may run over before a missing
// closing quotation mark is the likelier explanation.
const maxRecordLines = 25

// newTextGrid decodes the bytes and finds the separator.
func newTextGrid(file string, data []byte) (*textGrid, string, *Error) {
	text, note, bad := decode(file, data)
	if bad != nil {
		return nil, "", bad
	}
	if bytes.IndexByte(text, '\n') < 0 && bytes.IndexByte(text, '\r') >= 0 {
		text = bytes.ReplaceAll(text, []byte{'\r'}, []byte{'\n'}) // lines as old Macintosh programs end them
	}
	if bad := longLine(file, text); bad != nil {
		return nil, "", bad
	}
	g := &textGrid{file: file, text: text}
	if stated, n := statedSeparator(text); n > 0 {
		// The line is blanked, not cut, so that line numbers stay those of the file.
		g.text = append(bytes.Repeat([]byte{' '}, n), text[n:]...)
		g.sep = stated
		return g, note, nil
	}
	g.sep = findSeparator(text)
	return g, note, nil
}

func longLine(file string, text []byte) *Error {
	for line, rest := 1, text; len(rest) > 0; line++ {
		n := bytes.IndexByte(rest, '\n')
		if n < 0 {
			n = len(rest) - 1
		}
		if n > maxLineBytes {
			return &Error{File: file, Line: line, Want: fmt.Sprintf("the line is longer than %d characters, so this is no list of rows or a line break is missing; save it again from the spreadsheet as CSV", maxLineBytes)}
		}
		rest = rest[n+1:]
	}
	return nil
}

// statedSeparator reads the first line "sep=;" that some spreadsheets write
// and returns how many bytes it takes.
func statedSeparator(text []byte) (rune, int) {
	line, _, _ := bytes.Cut(text, []byte{'\n'})
	t := strings.ToLower(strings.Trim(string(bytes.TrimRight(line, "\r ")), `"`))
	if !strings.HasPrefix(t, "sep=") {
		return 0, 0
	}
	r, n := utf8.DecodeRuneInString(t[len("sep="):])
	if n != len(t)-len("sep=") || !strings.ContainsRune(string(separators), r) {
		return 0, 0
	}
	return r, len(line)
}

var separators = []rune{',', ';', '\t', '|'}

// looked is the number of lines that are looked at to find the separator.
const looked = 60

// findSeparator returns the sign that parts most lines into the same number of
// cells, at least two; between equals, into more cells.
func findSeparator(text []byte) rune {
	best, bestLines, bestCells := ',', 0, 0
	for _, sep := range separators {
		if bytes.IndexByte(text[:min(len(text), 1<<16)], byte(sep)) < 0 {
			continue
		}
		lines, cells := evenLines(text, sep)
		if lines > bestLines || lines == bestLines && cells > bestCells {
			best, bestLines, bestCells = sep, lines, cells
		}
	}
	return best
}

// evenLines returns how many of the first lines have the commonest number of
// cells above one, and that number.
func evenLines(text []byte, sep rune) (lines, cells int) {
	r := csvReader(text, sep)
	count := map[int]int{}
	for range looked {
		rec, err := r.Read()
		if err != nil {
			break
		}
		if len(rec) > 1 {
			count[len(rec)]++
		}
	}
	for n, c := range count {
		if c > lines || c == lines && n > cells {
			lines, cells = c, n
		}
	}
	return lines, cells
}

// csvReader reads as people write: a nickname in quotation marks inside a cell
// is no error, and a space after the separator is not part of the cell.
func csvReader(text []byte, sep rune) *csv.Reader {
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma = sep
	r.LazyQuotes = true
	r.FieldsPerRecord = -1
	r.ReuseRecord = true
	r.TrimLeadingSpace = sep != '\t' // a leading tab is an empty cell
	return r
}

func (g *textGrid) each(f func(line int, cells []string) bool) *Error {
	r := csvReader(g.text, g.sep)
	for rows := 0; ; {
		start := r.InputOffset()
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return g.parseError(err)
		}
		line, _ := r.FieldPos(0)
		if bad := g.checkQuotes(line, g.text[start:r.InputOffset()]); bad != nil {
			return bad
		}
		if len(cells) > maxColumns && filled(cells) > maxColumns {
			return tooWide(g.file, line, filled(cells))
		}
		if blank(cells) {
			continue
		}
		if rows++; rows > maxRows {
			return tooLong(g.file, line)
		}
		if !f(line, cells) {
			return nil
		}
	}
}

func (g *textGrid) parseError(err error) *Error {
	e := &Error{File: g.file, Want: "cannot be read as a list", Err: err}
	if p, ok := errors.AsType[*csv.ParseError](err); ok {
		e.Line, e.Want = p.Line,
			"cannot be read as a list ("+p.Err.Error()+"); save it again from the spreadsheet as CSV"
	}
	return e
}

// checkQuotes finds a quotation mark that is opened and never closed: it would
// swallow the lines below it.
func (g *textGrid) checkQuotes(line int, record []byte) *Error {
	if bytes.IndexByte(record, '"') < 0 {
		return nil
	}
	lines := bytes.Count(bytes.TrimSpace(record), []byte{'\n'})
	atEnd := len(record) > 0 && &record[len(record)-1] == &g.text[len(g.text)-1]
	odd := (lines > 0 || atEnd) && bytes.Count(record, []byte{'"'})%2 == 1
	opened := odd && atEnd && (lines > 0 || opensCell(record, g.sep))
	if opened || lines > maxRecordLines {
		return &Error{File: g.file, Line: line,
			Want: "a quotation mark is opened here and not closed again; close it, or remove it"}
	}
	return nil
}

// opensCell reports whether the last quotation mark of a record begins a cell.
func opensCell(record []byte, sep rune) bool {
	i := bytes.LastIndexByte(record, '"')
	before := bytes.TrimRight(record[:i], " ")
	return len(before) == 0 || before[len(before)-1] == byte(sep)
}

func blank(cells []string) bool { return filled(cells) == 0 }

// filled returns how many cells a line has up to the last with anything in it.
func filled(cells []string) int {
	for i, c := range slices.Backward(cells) {
		if clean.Cell(c) != "" {
			return i + 1
		}
	}
	return 0
}
