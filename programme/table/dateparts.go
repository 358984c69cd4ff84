package table

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
)

// partsKind says how much a written date tells by itself.
type partsKind int

const (
	noDate  partsKind = iota
	settled           // needs no order: year first in four digits, month in letters, a workbook's day number
	numbers           // three numbers whose order must be known
)

// dateParts is a date as it is written.
type dateParts struct {
	kind    partsKind
	civil   civil  // settled
	n       [3]int // numbers, as they stand
	short   bool   // the year has two digits
	hyphens bool
	dots    bool // dots alone stand between the numbers: the day comes first
	serial  bool // a workbook's day number
}

// civil is a year, month and day, not yet known to exist.
type civil struct{ year, month, day int }

func (c civil) words() string { return fmt.Sprintf("%d %s %d", c.day, time.Month(c.month), c.year) }

// fits reports whether the numbers can be a date in that order: a month up to
// 12 and a day up to 31. Two-digit years stand in front only between hyphens.
func (p *dateParts) fits(o DateOrder) bool {
	c := p.in(o)
	if o == YearFirst && (!p.short || !p.hyphens) {
		return false
	}
	return c.month >= 1 && c.month <= 12 && c.day >= 1 && c.day <= 31
}

func (p *dateParts) fitsAny() bool {
	return p.fits(DayFirst) || p.fits(MonthFirst) || p.fits(YearFirst)
}

// in reads the numbers in an order.
func (p *dateParts) in(o DateOrder) civil {
	switch o {
	case MonthFirst:
		return civil{p.year(p.n[2]), p.n[0], p.n[1]}
	case YearFirst:
		return civil{p.year(p.n[0]), p.n[1], p.n[2]}
	default:
		return civil{p.year(p.n[2]), p.n[1], p.n[0]}
	}
}

func (p *dateParts) year(n int) int {
	if !p.short {
		return n
	}
	return fullYear(n)
}

// fullYear completes a year of two digits: 80 to 99 are of the last century,
// since no date before 1980 is kept.
func fullYear(n int) int {
	if n >= 80 {
		return 1900 + n
	}
	return 2000 + n
}

// split takes a written date apart. In a workbook a bare number is a day number.
func (d *dates) split(raw string) dateParts {
	if d.excel {
		if date, ok := serialDate(raw, d.date1904); ok {
			y, m, day := date.Time().Date()
			return dateParts{kind: settled, civil: civil{y, int(m), day}, serial: true}
		}
	}
	words := dateWords(cutTime(raw))
	switch len(words) {
	case 1:
		return compact(words[0])
	case 3:
		return threeWords(raw, words)
	case 4:
		if isWeekday(words[0]) {
			return threeWords(raw, words[1:])
		}
	}
	return dateParts{}
}

// cutTime takes a time of day off the end: 2026-03-09T00:00:00, 9/3/2026 12:00 AM.
func cutTime(s string) string {
	colon := strings.IndexByte(s, ':')
	if colon < 0 {
		return s
	}
	i := colon
	for i > 0 && unicode.IsDigit(rune(s[i-1])) {
		i--
	}
	if i == 0 || i == colon || s[i-1] != ' ' && s[i-1] != 'T' {
		return s
	}
	return s[:i-1]
}

// dateWords parts a date into runs of digits and of letters.
func dateWords(s string) []string {
	var words []string
	start, kind := -1, 0
	flush := func(i int) {
		if start >= 0 {
			words = append(words, s[start:i])
		}
		start = -1
	}
	for i, r := range s {
		k := 0
		switch {
		case r >= '0' && r <= '9':
			k = 1
		case unicode.IsLetter(r) || unicode.IsMark(r):
			k = 2
		case !strings.ContainsRune(" .-/,", r):
			return nil
		}
		if k != kind || k == 0 {
			flush(i)
		}
		if k != 0 && start < 0 {
			start = i
		}
		kind = k
	}
	flush(len(s))
	return dropSmallWords(words)
}

// dropSmallWords turns 9th March and 9 de marzo into 9 March and 9 marzo.
func dropSmallWords(words []string) []string {
	kept := words[:0]
	for i, w := range words {
		w := strings.ToLower(w)
		if i > 0 && (slices.Contains(ordinals, w) && isDigits(words[i-1]) || slices.Contains(particles, w)) {
			continue
		}
		kept = append(kept, words[i])
	}
	return kept
}

// compact reads 20260309.
func compact(w string) dateParts {
	if len(w) != 8 || !isDigits(w) {
		return dateParts{}
	}
	c := civil{number(w[:4]), number(w[4:6]), number(w[6:])}
	if c.year < 1900 || c.year > 2100 {
		return dateParts{}
	}
	return dateParts{kind: settled, civil: c}
}

func threeWords(raw string, w []string) dateParts {
	for i := range w {
		if month, ok := monthNamed(w[i]); ok {
			return lettered(w, i, month)
		}
		if !isDigits(w[i]) {
			return dateParts{}
		}
	}
	a, b, c := w[0], w[1], w[2]
	switch {
	case len(a) == 4 && len(b) <= 2 && len(c) <= 2:
		return dateParts{kind: settled, civil: civil{number(a), number(b), number(c)}}
	case len(a) <= 2 && len(b) <= 2 && (len(c) == 4 || len(c) == 2):
		return dateParts{
			kind: numbers, n: [3]int{number(a), number(b), number(c)}, short: len(c) == 2,
			hyphens: len(a) == 2 && strings.Count(raw, "-") == 2, dots: strings.Count(raw, ".") >= 2 &&
				!strings.ContainsAny(raw, "-/"),
		}
	}
	return dateParts{}
}

// lettered reads a date whose month is a word: 9 Mar 2026, March 9, 2026, 2026 Mar 9, 9. März 2026.
func lettered(w []string, at int, month int) dateParts {
	var rest []string
	for i, x := range w {
		if i == at {
			continue
		}
		if !isDigits(x) || len(x) > 4 || len(x) == 3 {
			return dateParts{}
		}
		rest = append(rest, x)
	}
	day, year := rest[0], rest[1]
	if len(day) == 4 {
		day, year = year, day
	}
	if len(day) > 2 || len(year) == 1 {
		return dateParts{}
	}
	y := number(year)
	if len(year) == 2 {
		y = fullYear(y)
	}
	return dateParts{kind: settled, civil: civil{y, month, number(day)}}
}

func isDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// number reads a run of at most eight digits.
func number(s string) int {
	n := 0
	for i := range len(s) {
		n = n*10 + int(s[i]-'0')
	}
	return n
}
