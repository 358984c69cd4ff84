package vector

import (
	"math"
	"strconv"
	"strings"
)

// scanner reads the lists of numbers in paths, points and transforms
// (SVG 1.1, 8.3.9 and 7.6).
type scanner struct {
	s  string
	at int
}

func (c *scanner) end() bool { return c.at >= len(c.s) }

func blank(b byte) bool { return b == ' ' || b == '\t' || b == '\n' || b == '\r' || b == '\f' }

func (c *scanner) blanks() {
	for !c.end() && blank(c.s[c.at]) {
		c.at++
	}
}

// gap skips blanks with at most one comma among them.
func (c *scanner) gap() {
	c.blanks()
	if !c.end() && c.s[c.at] == ',' {
		c.at++
		c.blanks()
	}
}

func (c *scanner) digits() (n int) {
	for !c.end() && c.s[c.at] >= '0' && c.s[c.at] <= '9' {
		c.at++
		n++
	}
	return n
}

// number reads one number; ok is false, and nothing read, where none stands.
func (c *scanner) number() (v float64, ok bool) {
	from := c.at
	c.sign()
	n := c.digits()
	if !c.end() && c.s[c.at] == '.' {
		c.at++
		n += c.digits()
	}
	if n == 0 {
		c.at = from
		return 0, false
	}
	if !c.end() && (c.s[c.at] == 'e' || c.s[c.at] == 'E') {
		back := c.at
		c.at++
		c.sign()
		if c.digits() == 0 {
			c.at = back // the e of a unit such as em
		}
	}
	v, err := strconv.ParseFloat(c.s[from:c.at], 64)
	if err != nil || math.Abs(v) > maxNumber {
		c.at = from
		return 0, false
	}
	return v, true
}

func (c *scanner) sign() {
	if !c.end() && (c.s[c.at] == '+' || c.s[c.at] == '-') {
		c.at++
	}
}

// flag reads the 0 or 1 of an arc, which may stand without a gap behind it.
func (c *scanner) flag() (set, ok bool) {
	if c.end() || c.s[c.at] != '0' && c.s[c.at] != '1' {
		return false, false
	}
	c.at++
	return c.s[c.at-1] == '1', true
}

// numbers reads a whole list.
func numbers(s string) ([]float64, bool) {
	c := scanner{s: s}
	var out []float64
	for c.blanks(); !c.end(); c.gap() {
		v, ok := c.number()
		if !ok {
			return nil, false
		}
		out = append(out, v)
	}
	return out, true
}

// perUnit are the sizes of units in user units (CSS 2.1, 4.3.2).
var perUnit = map[string]float64{"": 1, "px": 1, "pt": 96.0 / 72, "pc": 16, "in": 96, "mm": 96 / 25.4, "cm": 96 / 2.54}

// length reads one length in user units; of stands for 100 %, and is 0 where a
// share means nothing that is known here.
func length(s string, of float64) (float64, bool) {
	c := scanner{s: strings.TrimSpace(s)}
	v, ok := c.number()
	if !ok {
		return 0, false
	}
	unit := strings.ToLower(c.s[c.at:])
	if unit == "%" && of > 0 {
		return v / 100 * of, true
	}
	per, ok := perUnit[unit]
	return v * per, ok
}
