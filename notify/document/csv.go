package document

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"regexp"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// Column is one column of a list: its heading, and what a row has there.
type Column[R any] struct {
	Heading string
	Value   func(R) string
}

// CSV writes rows as UTF-8 with a byte order mark, so that spreadsheets show
// names in any script, commas and CRLF (RFC 4180). A text that a spreadsheet
// would run as a formula is disarmed; numbers stay numbers.
func CSV[R any](columns []Column[R], rows []R) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	line := make([]string, len(columns))
	for i, c := range columns {
		line[i] = cell(c.Heading)
	}
	err := w.Write(line)
	for _, row := range rows {
		for i, c := range columns {
			line[i] = cell(c.Value(row))
		}
		if err == nil {
			err = w.Write(line)
		}
	}
	w.Flush()
	if err == nil {
		err = w.Error()
	}
	if err != nil {
		return nil, fmt.Errorf("write CSV: %w", err)
	}
	return b.Bytes(), nil
}

// number is a plain decimal; a negative one is no formula.
var number = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// cell disarms a text and leaves a number as it is.
func cell(s string) string {
	if number.MatchString(s) {
		return s
	}
	return clean.Guard(clean.Line(s))
}
