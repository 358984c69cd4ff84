package programme

import "slices"

// Reason is the reason for which a piece ended, as the ledger has it.
type Reason string

// Reasons of an ending. NoReason is written where nobody said; Unexplained is
// never written: a count implies it.
const (
	NoReason    Reason = ""
	Worn        Reason = "worn"
	Print       Reason = "print"
	Damaged     Reason = "damaged"
	Lost        Reason = "lost"
	SizeChange  Reason = "size"
	LeftReason  Reason = "left"
	Unexplained Reason = "unexplained"
)

// reasonRow is what is known of a reason.
type reasonRow struct {
	Reason
	words string
	told  string // when to write it, for whoever chooses one
	means meaning
	cause Cause // where means is known
}

// reasons lists every reason that a ledger can state. A database keeps a reason as its place
// in this list, so it may only grow at its end.
var reasons = []reasonRow{
	{NoReason, "no reason given", "nobody knows", unknown, 0},
	{Worn, "worn", "the cloth is worn out", known, CauseWorn},
	{Print, "print", "the print is cracked, faded or off", known, CausePrint},
	{Damaged, "damaged", "torn, burnt, stained past use", known, CauseMishap},
	{Lost, "lost", "nobody knows where it is", known, CauseMishap},
	{SizeChange, "size", "another size is needed", stillGood, 0},
	{LeftReason, "left", "kept or returned by a leaver", stillGood, 0},
}

// meaning says what a reason tells of the life of a piece.
type meaning int8

const (
	known     meaning = iota // it ended, by a known cause
	unknown                  // it ended, by any cause
	stillGood                // it left service as good as it was
)

// Reasons returns all reasons that a ledger can have, NoReason first.
func Reasons() []Reason {
	out := make([]Reason, len(reasons))
	for i := range reasons {
		out[i] = reasons[i].Reason
	}
	return out
}

// WrittenReasons returns the codes that people may write for an ending.
func WrittenReasons() []string {
	var out []string
	for _, r := range reasons {
		if r.Reason != NoReason {
			out = append(out, string(r.Reason))
		}
	}
	return out
}

// row returns what is known of the reason; of Unexplained it is that the cause may be any.
func (r Reason) row() reasonRow {
	if i := slices.IndexFunc(reasons, func(x reasonRow) bool { return x.Reason == r }); i >= 0 {
		return reasons[i]
	}
	return reasonRow{Reason: r, words: string(r), means: unknown}
}

// Words returns how people are told of the reason.
func (r Reason) Words() string { return r.row().words }

// Told returns when people are to write the reason, as help for whoever chooses one.
func (r Reason) Told() string { return r.row().told }

// Cause returns the cause that the reason states; known is false where it states none.
func (r Reason) Cause() (c Cause, ok bool) {
	x := r.row()
	return x.cause, x.means == known
}

// StillGood reports that a piece left service as good as it was, so that no
// cause ended it and, by itself, it needs no other in its place.
func (r Reason) StillGood() bool { return r.row().means == stillGood }
