package document

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"regexp"

	"github.com/kitmuster/kitmuster/notify/clean"
)

// CSV writes rows as UTF-8 with a byte order mark, so that spreadsheets show
// names in any script, commas and CRLF (RFC 4180). A text that a spreadsheet
// would run as a formula is disarmed; numbers stay numbers.
func CSV(rows [][]string) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, c := range row {
			safe[i] = cell(c)
		}
		if err := w.Write(safe); err != nil {
			return nil, fmt.Errorf("write CSV: %w", err)
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// number is a plain decimal; a negative one is no formula.
var number = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// cell disarms a text and leaves a number as it is.
func cell(s string) string {
	if number.MatchString(s) {
		return s
	}
	return clean.Cell(s)
}
