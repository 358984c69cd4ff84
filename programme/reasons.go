package programme

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

// reasons lists every reason that a ledger can state. A database keeps a reason as its place
// in this list, so it may only grow at its end.
var reasons = []struct {
	Reason
	words string
	told  string // when to write it, for whoever chooses one
	means meaning
	cause Cause // where means is known
}{
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

// Words returns how people are told of the reason.
func (r Reason) Words() string {
	for i := range reasons {
		if reasons[i].Reason == r {
			return reasons[i].words
		}
	}
	return string(r)
}

// Told returns when people are to write the reason, as help for whoever chooses one.
func (r Reason) Told() string {
	for i := range reasons {
		if reasons[i].Reason == r {
			return reasons[i].told
		}
	}
	return ""
}

// Cause returns the cause that the reason states; known is false where it states none.
func (r Reason) Cause() (c Cause, ok bool) {
	for i := range reasons {
		if reasons[i].Reason == r {
			return reasons[i].cause, reasons[i].means == known
		}
	}
	return 0, false
}

// StillGood reports that a piece left service as good as it was, so that no
// cause ended it and, by itself, it needs no other in its place.
func (r Reason) StillGood() bool {
	for i := range reasons {
		if reasons[i].Reason == r {
			return reasons[i].means == stillGood
		}
	}
	return false
}
