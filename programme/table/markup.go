package table

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// Limits of the tags of a part of a workbook. Spreadsheets nest them some
// thirty deep; a row has at most 16,384 cells.
const (
	maxNesting  = 200
	maxRowCells = 16384
	maxToken    = 1 << 20 // bytes of one tag, comment or run of text
)

// partError says what about a part of a workbook is beyond bounds.
type partError struct{ what string }

func (e *partError) Error() string { return "a part " + e.what }

func unfit(format string, args ...any) error { return &partError{fmt.Sprintf(format, args...)} }

// checkMarkup looks at the tags of an XML text without keeping any: how deep
// they are nested, how many there are, how many cells a row has, and how long
// the longest is. What is wrong with the XML otherwise, its reader finds. The
// error is a *partError, or why the text cannot be read.
func checkMarkup(r io.Reader, elements int) error {
	m := &markup{r: bufio.NewReaderSize(r, 1<<16), elements: elements}
	for {
		err := m.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// markup is an XML text that is being looked at.
type markup struct {
	r        *bufio.Reader
	elements int // that may still come
	depth    int
	rowCells int
	token    []byte // the first bytes of the tag
}

// tokenHead is the number of bytes of a tag that are kept: enough to tell what it is.
const tokenHead = 256

// next reads up to the next tag and that tag.
func (m *markup) next() error {
	if err := m.skipTo('<'); err != nil {
		return err
	}
	m.token = m.token[:0]
	c, err := m.r.ReadByte()
	if err != nil {
		return err
	}
	switch c {
	case '!':
		return m.declaration()
	case '?':
		if err := m.until("?>", &m.token); err != nil {
			return err
		}
		return m.instruction()
	case '/':
		m.depth = max(0, m.depth-1)
		return m.skipTo('>')
	}
	m.token = append(m.token, c)
	return m.tag()
}

// tag reads the rest of a tag that opens an element. A > in quotation marks
// does not end it.
func (m *markup) tag() error {
	quote, last := byte(0), m.token[0]
	for n := 1; ; n++ {
		c, err := m.r.ReadByte()
		switch {
		case err != nil:
			return err
		case n > maxToken:
			return unfit("has a tag of more than %d characters", maxToken)
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>':
			return m.element(last == '/')
		}
		if len(m.token) < tokenHead {
			m.token = append(m.token, c)
		}
		last = c
	}
}

// element counts an element by its tag.
func (m *markup) element(closed bool) error {
	if m.elements--; m.elements < 0 {
		return unfit("has more than %d tags", maxElements)
	}
	if !closed {
		m.depth++
	}
	if m.depth > maxNesting {
		return unfit("has tags nested more than %d deep, as no spreadsheet writes them", maxNesting)
	}
	switch localName(m.token) {
	case "row":
		m.rowCells = 0
	case "c":
		if m.rowCells++; m.rowCells > maxRowCells {
			return unfit("has a row of more than %d cells, as no spreadsheet writes them", maxRowCells)
		}
	}
	return nil
}

// localName returns the name of a tag without its prefix; empty when it is long.
func localName(tag []byte) string {
	if i := bytes.IndexAny(tag, " \t\r\n/>"); i >= 0 {
		tag = tag[:i]
	}
	tag = tag[bytes.IndexByte(tag, ':')+1:]
	if len(tag) > 3 {
		return ""
	}
	return string(tag)
}

// declaration passes over comments and quoted text. Others let a few letters
// stand for many, and no spreadsheet writes them.
func (m *markup) declaration() error {
	for _, d := range []struct{ begins, ends string }{{"--", "-->"}, {"[CDATA[", "]]>"}} {
		if head, err := m.r.Peek(len(d.begins)); err == nil && string(head) == d.begins {
			if _, err := m.r.Discard(len(d.begins)); err != nil {
				return err
			}
			return m.until(d.ends, nil)
		}
	}
	return unfit("declares words of its own, as no spreadsheet does")
}

// instruction refuses an alphabet in which tags would stand at other places
// than where they are looked for.
func (m *markup) instruction() error {
	head := bytes.ToLower(m.token)
	if !bytes.HasPrefix(head, []byte("xml ")) || !bytes.Contains(head, []byte("encoding")) ||
		bytes.Contains(head, []byte("utf-8")) {
		return nil
	}
	return unfit("is not written in UTF-8")
}

// skipTo reads up to and with end.
func (m *markup) skipTo(end byte) error {
	for n := 0; ; {
		text, err := m.r.ReadSlice(end)
		if n += len(text); n > maxToken {
			return unfit("has a text of more than %d characters", maxToken)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return err
		}
	}
}

// until reads up to and with end, and puts the first bytes of what stands
// before it into head.
func (m *markup) until(end string, head *[]byte) error {
	matched := 0
	for n := 0; ; n++ {
		c, err := m.r.ReadByte()
		if err != nil {
			return err
		}
		if head != nil && len(*head) < tokenHead {
			*head = append(*head, c)
		}
		switch {
		case c == end[matched]:
			matched++
		case len(end) > 1 && c == end[0]:
			matched = min(matched, len(end)-1) // "]]]>" and "--->" end too
		default:
			matched = 0
		}
		if matched == len(end) {
			return nil
		}
		if n > maxToken {
			return unfit("has a text of more than %d characters", maxToken)
		}
	}
}
