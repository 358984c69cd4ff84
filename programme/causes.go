package programme

import (
	"fmt"
	"iter"
)

// Cause is the cause for which a piece is needed. Its text in files and --json is its code.
type Cause int8

// Causes of need, in the order in which people read them: those that end pieces
// first, then people without a piece to end. A new one needs its place here, in
// Endings and in causes; one whose chance is not learnt With another needs its own in wear and demand.
const (
	CauseWorn   Cause = iota // the cloth, or the label's limit of washes
	CausePrint               // a print
	CauseMishap              // lost, torn, stained past use
	CauseHires               // a new starter's kit
	CauseKit                 // a season, or a change of kit, that begins on a known day
	CauseResize              // people there who may come to need another size
	CauseOwed                // somebody is short of it today
)

// EndingCauses is the number of causes that end pieces: those before CauseHires.
const EndingCauses = int(CauseHires)

// CauseWords holds the words by which people are told of a cause.
type CauseWords struct {
	Code string
	// Word is the name of the cause in every mail, paper and screen. It stands
	// by itself and behind a number of pieces: 3 worn out.
	Word string
	// Advice says what an owner may do where this cause ends more pieces than any other.
	Advice string
	// Washed reports that washes are what brings it on.
	Washed bool
	// With is the cause with which it is learnt, of those that end pieces: itself, or one
	// whose lives its endings teach too, and whose chance they share as the records do.
	With Cause
}

// causes has the words of each cause, in the order of the constants.
var causes = [...]CauseWords{
	CauseWorn: {Code: "worn", Word: "worn out", Washed: true, With: CauseWorn},
	CausePrint: {
		Code: "print", Word: "print worn off", Washed: true, With: CausePrint,
		Advice: "the print dies before the cloth, so a tougher transfer would help more than a better blank",
	},
	CauseMishap: {
		Code: "mishap", Word: "lost or damaged", With: CauseMishap,
		Advice: "most are lost or damaged before they wear out, so a cheaper blank may do as well",
	},
	CauseHires:  {Code: "hires", Word: "for starters"},
	CauseKit:    {Code: "kit", Word: "for a new season or kit"},
	CauseResize: {Code: "resize", Word: "for other sizes"},
	CauseOwed:   {Code: "owed", Word: "missing today"},
}

// Word returns what people call the cause, everywhere.
func (c Cause) Word() string { return causes[c].Word }

// Words returns how people are told of the cause.
func (c Cause) Words() CauseWords { return causes[c] }

// String returns the code.
func (c Cause) String() string { return causes[c].Code }

// MarshalText writes the code.
func (c Cause) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads a code.
func (c *Cause) UnmarshalText(text []byte) error {
	for i := range causes {
		if causes[i].Code == string(text) {
			*c = Cause(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no cause", text)
}

// Endings are numbers of pieces, or shares of them, by the cause that ends them.
type Endings[N int | float64] struct {
	Worn   N `json:"worn"`
	Print  N `json:"print"`
	Mishap N `json:"mishap"`
}

// At points at the number of a cause that ends pieces; nil for another cause.
func (e *Endings[N]) At(c Cause) *N {
	switch c {
	case CauseWorn:
		return &e.Worn
	case CausePrint:
		return &e.Print
	case CauseMishap:
		return &e.Mishap
	case CauseHires, CauseKit, CauseResize, CauseOwed:
	}
	return nil
}

// Each yields the causes that end pieces with their numbers, in order.
func (e Endings[N]) Each() iter.Seq2[Cause, N] {
	return func(yield func(Cause, N) bool) {
		for c := range Cause(EndingCauses) {
			if !yield(c, *e.At(c)) {
				return
			}
		}
	}
}

// Sum returns the number over all causes.
func (e Endings[N]) Sum() N {
	var sum N
	for _, n := range e.Each() {
		sum += n
	}
	return sum
}

// Most returns the cause with the greatest number; of equal ones the first.
func (e Endings[N]) Most() Cause {
	most := CauseWorn
	for c, n := range e.Each() {
		if n > *e.At(most) {
			most = c
		}
	}
	return most
}

// Causes splits an expected number of pieces needed by what makes them needed.
type Causes struct {
	Endings[float64]
	Hires float64 `json:"hires"`
	Kit   float64 `json:"kit,omitempty"`
	// Resize is for people who are there and may come to need another size.
	Resize float64 `json:"resize,omitempty"`
}

// At points at the number of a cause; nil for CauseOwed, which is not expected but known.
func (c *Causes) At(k Cause) *float64 {
	switch k {
	case CauseHires:
		return &c.Hires
	case CauseKit:
		return &c.Kit
	case CauseResize:
		return &c.Resize
	default:
		return c.Endings.At(k)
	}
}

// Each yields all causes with their numbers, in order.
func (c Causes) Each() iter.Seq2[Cause, float64] {
	return func(yield func(Cause, float64) bool) {
		for k := range CauseResize + 1 {
			if !yield(k, *c.At(k)) {
				return
			}
		}
	}
}

// Sum returns the expected pieces over all causes.
func (c Causes) Sum() float64 { return c.Endings.Sum() + c.Hires + c.Kit + c.Resize }

// Plus adds two splits, cause by cause.
func (c Causes) Plus(d Causes) Causes {
	for k, x := range d.Each() {
		*c.At(k) += x
	}
	return c
}

// Times multiplies every part.
func (c Causes) Times(x float64) Causes {
	for k := range c.Each() {
		*c.At(k) *= x
	}
	return c
}
