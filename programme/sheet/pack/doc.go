// Package pack places rectangles without overlap: on a strip of least length,
// on as few equal sheets as possible, or on one given sheet.
//
// Rectangles are whole numbers in any unit; gutters are the caller's business
// (widen every piece and the sheet by one gutter). The heart is a best-fit
// skyline whose ties are broken by a sequence of the pieces; a local search
// over sequences, with a target height that is lowered each time it is met,
// does the rest. The same input, seed and iterations give the same answer.
//
// Sources of the ideas: lowest-segment best fit, Burke, Kendall & Whitwell,
// Operations Research 52(4), 2004; scoring the fit of a piece against both
// walls of the gap, Leung, Zhang & Sim, EJOR 215(1), 2011; searching sequences
// with packed area under a fixed height as the measure, Wei, Oon, Zhu & Lim,
// EJOR 215(2), 2011.
package pack

import (
	"errors"
	"fmt"
)

// Piece is Count equal rectangles. Turn allows a quarter turn.
type Piece struct {
	W, H  int64
	Count int
	Turn  bool
}

// Place is the place of one rectangle: its corner nearest the origin and its
// extent as it lies, turned or not. Piece is the index of its kind.
type Place struct {
	Piece      int
	X, Y, W, H int64
	Turned     bool
}

// Options steer the search; the zero value is one quick pass without search.
type Options struct {
	Seed uint64
	// Iterations is the number of sequences tried after the first pass.
	Iterations int
	// Stop, when not nil, is asked now and then; true ends the search with the best so far.
	Stop func() bool
	// Guillotine allows only patterns that straight edge-to-edge cuts take apart.
	Guillotine bool
	// LongestCut is the greatest length of a cut along a strip when cuts are straight;
	// 0 sets no limit. A piece that is longer itself is cut all the same.
	LongestCut int64
}

// ErrTooLarge reports a piece that fits no sheet.
var ErrTooLarge = errors.New("does not fit the sheet")

// TooLarge names the piece that does not fit.
type TooLarge struct{ Piece int }

func (e TooLarge) Error() string { return fmt.Sprintf("piece %d %v", e.Piece, ErrTooLarge) }

// Unwrap makes errors.Is(err, ErrTooLarge) true.
func (e TooLarge) Unwrap() error { return ErrTooLarge }
