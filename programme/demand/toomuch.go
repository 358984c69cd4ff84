package demand

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// mostIssued is the number of pieces that one client's records may hand out: what a forecast
// takes rises with them, to about a minute there.
const mostIssued = 1_000_000

// TooMuch says that the records of a client come to more than a forecast can be
// made of in a minute or two. It is decided by counts alone, so that it does not
// depend on the machine.
type TooMuch struct {
	Issued int // pieces handed out, by all records
	// StaffID, Garment and Colour are where most are, and Held how many went there
	// in Rows hand-overs.
	StaffID, Garment, Colour string
	Held, Rows               int
}

func (t *TooMuch) Error() string {
	garment := t.Garment
	if t.Colour != "" {
		garment += " " + t.Colour
	}
	return fmt.Sprintf("the ledger hands out %d pieces, %d of them of %s to %s in %d rows, and a forecast from that would take hours; look whether the column of pieces holds something else, take the file back with undo --file, and import it again",
		t.Issued, t.Held, garment, t.StaffID, t.Rows)
}

// Nobody is handed usualHeld pieces of one garment and colour in all the years of a
// ledger. Up to mostHeaped pieces beyond that are borne with: tracing those takes a
// quarter of a minute.
const (
	usualHeld  = 500
	mostHeaped = 100_000
)

// tooMuch returns why a ledger up to a day is too much, or nil.
func tooMuch(ledger []programme.Movement, asOf programme.Date) *TooMuch {
	issued := 0
	for i := range ledger {
		if m := &ledger[i]; m.Kind == programme.Issued && m.Date <= asOf {
			issued += m.Pieces
		}
	}
	if issued > mostIssued || issued > mostHeaped && heaped(ledger, asOf) > mostHeaped {
		return heaviest(ledger, asOf, func(*programme.Movement) bool { return true })
	}
	return nil
}

// heaped counts the pieces that were handed out beyond what anybody is.
func heaped(ledger []programme.Movement, asOf programme.Date) int {
	held := map[holding]int{}
	for i := range ledger {
		if m := &ledger[i]; m.Kind == programme.Issued && m.Date <= asOf {
			held[holdingOf(m)] += m.Pieces
		}
	}
	beyond := 0
	for _, n := range held {
		beyond += max(0, n-usualHeld)
	}
	return beyond
}

// mostSteps is the number of multiplications that the adding up of one client's people may
// take for each set of life figures, some hundred of which are weighed: a minute or
// two in all. A client with 5,000 people in one size, of 20 pieces each, stays below.
const mostSteps = 1e9

// tooLong reports that the pieces take more than mostSteps. Each adds two numbers at most to a sum of all others
// and one, so that few clients have enough for steps to be worked out.
func tooLong(pieces []programme.Piece) bool {
	n := float64(len(pieces))
	return 2*n*(n+1) > mostSteps && steps(pieces) > mostSteps
}

// steps estimates how many multiplications it takes to add up, person by person, the
// numbers of pieces that come to an end. A person with n pieces has n+1 numbers. A
// sum has one more than the pieces so far or, where that is less, 16 standard
// deviations: of n pieces of one person, who may wear out all of them sooner or
// later than others, at most sqrt(n + (0.4 n)^2) (0.4: the usual spread of people's
// paces, see wear).
func steps(pieces []programme.Piece) float64 {
	type holder struct {
		programme.SKU
		staffID string
	}
	held := map[holder]int{}
	for i := range pieces {
		held[holder{pieces[i].SKU, pieces[i].StaffID}]++
	}
	type line struct {
		length, variance float64
	}
	lines, total := map[programme.SKU]line{}, 0.0
	for _, h := range slices.SortedFunc(maps.Keys(held), func(a, b holder) int {
		return cmp.Or(a.Compare(b.SKU), strings.Compare(a.staffID, b.staffID))
	}) {
		n := float64(held[h])
		l := lines[h.SKU]
		total += (n + 1) * (1 + min(l.length, 16*math.Sqrt(l.variance)))
		l.length, l.variance = l.length+n, l.variance+n+0.16*n*n
		lines[h.SKU] = l
	}
	return total
}

// heaviest names the holding with most pieces of those that are meant.
func heaviest(ledger []programme.Movement, asOf programme.Date, meant func(*programme.Movement) bool) *TooMuch {
	out := &TooMuch{}
	type heap struct{ pieces, rows int }
	heaps := map[holding]heap{}
	for i := range ledger {
		m := &ledger[i]
		if m.Kind != programme.Issued || m.Date > asOf {
			continue
		}
		out.Issued += m.Pieces
		if !meant(m) {
			continue
		}
		k := holdingOf(m)
		h := heap{heaps[k].pieces + m.Pieces, heaps[k].rows + 1}
		heaps[k] = h
		if h.pieces > out.Held {
			out.Held = h.pieces
			out.StaffID, out.Garment, out.Colour = k.staffID, k.garment, k.colour
		}
	}
	out.Rows = heaps[holding{out.StaffID, out.Garment, out.Colour}].rows
	return out
}

func holdingOf(m *programme.Movement) holding {
	return holding{m.StaffID, m.SKU.Garment, m.SKU.Colour}
}
