package lists

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Rect is Count equal rectangles with a label for the drawing.
type Rect struct {
	W, H  float64
	Count int
	Label string
}

// Measure reads a length as a person writes it: a bare number in any unit, or
// a number with in, mm or cm, which is turned into the unit that was written first ("in",
// "mm" or "cm"): beside 20cm a bare 7 is 7 cm.
type Measure struct{ Unit string }

// Read returns the number of the measure's unit that s says.
func (m *Measure) Read(s string) (float64, error) {
	s = strings.TrimSpace(s)
	if v, err := strconv.ParseFloat(s, 64); err == nil {
		if math.IsNaN(v) || v < 0 || v > mostLength {
			return 0, fmt.Errorf("a length is a number from 0 to %d", mostLength)
		}
		return v, nil
	}
	l, err := programme.ParseLength(s)
	if err != nil {
		return 0, errors.New("a length is a number such as 3.5, or one with its unit such as 3.5in or 90mm")
	}
	if m.Unit == "" {
		m.Unit = "in"
		switch low := strings.ToLower(s); {
		case strings.HasSuffix(low, "cm"):
			m.Unit = "cm"
		case strings.HasSuffix(low, "m"):
			m.Unit = "mm"
		}
	}
	switch m.Unit {
	case "cm":
		return l.Millimetres() / 10, nil
	case "mm":
		return l.Millimetres(), nil
	}
	return l.Inches(), nil
}

const (
	mostLength = 1_000_000
	mostRects  = 100_000
)

// ReadRects reads rows of width, height and, if wanted, count and label. A
// heading is optional, lines beginning with # are remarks. Every bad row is
// reported in an error of type table.Errors; then nothing is returned.
func ReadRects(file string, data []byte, m *Measure) ([]Rect, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	c := csv.NewReader(bytes.NewReader(data))
	c.Comment, c.FieldsPerRecord, c.TrimLeadingSpace = '#', -1, true
	c.Comma = separator(data)
	var rects []Rect
	var errs table.Errors
	total := 0
	for first := true; ; first = false {
		rec, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		line, _ := c.FieldPos(0)
		if first && isHeading(rec) {
			continue
		}
		r, bad := rect(file, line, rec, m)
		if bad != nil {
			errs = append(errs, bad)
			continue
		}
		if r.Label == "" {
			r.Label = strconv.Itoa(len(rects) + 1)
		}
		rects = append(rects, r)
		total += r.Count
	}
	switch {
	case len(errs) > 0:
		return nil, errs
	case len(rects) == 0:
		return nil, fmt.Errorf("%s has no rectangles; write one a line: width,height,count,label", file)
	case total > mostRects:
		return nil, fmt.Errorf("%s has %d rectangles; at most %d can be packed", file, total, mostRects)
	}
	return rects, nil
}

// separator returns what parts the first row that is no remark.
func separator(data []byte) rune {
	for line := range bytes.Lines(data) {
		if line = bytes.TrimSpace(line); len(line) == 0 || line[0] == '#' {
			continue
		}
		for _, sep := range ",;\t" {
			if bytes.ContainsRune(line, sep) {
				return sep
			}
		}
		break
	}
	return ','
}

// isHeading reports that the first line names the columns.
func isHeading(rec []string) bool {
	switch strings.ToLower(strings.TrimSpace(rec[0])) {
	case "w", "width":
		return true
	}
	return false
}

func rect(file string, line int, rec []string, m *Measure) (r Rect, bad *table.Error) {
	if len(rec) < 2 || len(rec) > 4 {
		return r, &table.Error{File: file, Line: line,
			Want: fmt.Sprintf("the line has %d values; write width,height and, if wanted, count and label", len(rec))}
	}
	for i, name := range []string{"w", "h"} {
		v, err := m.Read(rec[i])
		if err == nil && v == 0 {
			err = errors.New("it must be more than 0")
		}
		if err != nil {
			return r, &table.Error{File: file, Line: line, Column: name, Value: rec[i], Want: "but " + err.Error()}
		}
		if i == 0 {
			r.W = v
		} else {
			r.H = v
		}
	}
	r.Count = 1
	if len(rec) > 2 && strings.TrimSpace(rec[2]) != "" {
		var err error
		r.Count, err = strconv.Atoi(strings.TrimSpace(rec[2]))
		if err != nil || r.Count < 1 || r.Count > mostRects {
			return r, &table.Error{File: file, Line: line, Column: "count", Value: rec[2],
				Want: fmt.Sprintf("but a whole number from 1 to %d is wanted", mostRects)}
		}
	}
	if len(rec) > 3 {
		r.Label = strings.TrimSpace(rec[3])
	}
	return r, nil
}
