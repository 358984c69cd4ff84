package demand

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// mostIssued is how many pieces one client's records may hand out: what a forecast
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

// tooMuch returns why a ledger up to a day is too much, or nil.
func tooMuch(ledger []programme.Movement, asOf programme.Date) *TooMuch {
	issued := 0
	for i := range ledger {
		if m := &ledger[i]; m.Kind == programme.Issued && m.Date <= asOf {
			if issued += m.Pieces; issued > mostIssued {
				return heaviest(ledger, asOf, func(*programme.Movement) bool { return true })
			}
		}
	}
	return nil
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
