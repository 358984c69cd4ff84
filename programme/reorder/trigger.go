package reorder

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Decision says whether a client is due and why, as data.
type Decision struct {
	Due    bool    `json:"due"`
	Fill   float64 `json:"fill"`   // expected, over review and lead time
	Target float64 `json:"target"` // the programme's floor; 0 = none
	// NextDue is the first round at which the client is expected to be due: the
	// date of the muster when it is due, no date when not within two years.
	NextDue programme.Date `json:"next_due"`
	Reasons []Reason       `json:"reasons"`
	// Events lists what has happened since the last order where that was meant to last.
	Events []Occurrence `json:"events,omitempty"`
	// Holds is protective clothing that waits for a person's yes, due or not.
	Holds []Hold `json:"holds,omitempty"`
}

// Reason is one fact behind a decision.
type Reason struct {
	Kind ReasonKind `json:"kind"`
	// SKU is set for facts about one line.
	SKU programme.SKU `json:"sku"`
	// Pieces that the fact is about, where it is about pieces.
	Pieces float64 `json:"pieces"`
}

// ReasonKind names a kind of fact.
type ReasonKind string

// Kinds of reasons.
const (
	BelowTarget   ReasonKind = "below-target"   // waiting for the next round would cost more than it saves
	AboveTarget   ReasonKind = "above-target"   // waiting costs less
	OwedNow       ReasonKind = "owed"           // somebody is short of pieces today, and no stock is there for them
	HandOut       ReasonKind = "hand-out"       // somebody is short of pieces today that lie on the shelf
	ShortestLine  ReasonKind = "short-line"     // a line with much of the expected shortage; Pieces short
	ComesTooLate  ReasonKind = "comes-too-late" // pieces on order that arrive after the trigger horizon
	NothingToBuy  ReasonKind = "nothing-to-buy" // what is on order fills the need
	NoDemand      ReasonKind = "no-demand"      // nobody is expected to need anything
	WaitsForAYes  ReasonKind = "protective"     // protective clothing is needed and held
	PulledForward ReasonKind = "pulled"         // not due, but cheaper together with others
	OrderTooSmall ReasonKind = "too-small"      // below the smallest order, and nobody is short; Pieces of it
	JustOrdered   ReasonKind = "just-ordered"   // the last order was meant to last longer, and nothing happened since
)

// near is a line over the trigger horizon.
type near struct {
	programme.SKU
	demand, short float64
	owed, late    int // owed: with nothing on the shelf or on its way
	handOut       int
}

// trigger computes every line's demand and expected shortage over the trigger
// horizon. Pieces owed are demand that is already there.
func trigger(lines []Stocked, h Horizon) []near {
	out := make([]near, len(lines))
	for i := range lines {
		l := &lines[i]
		c := NewShortage(l.nearPMF(h))
		out[i] = near{
			SKU:     l.sku(),
			demand:  c.Mean() + float64(l.Owed),
			short:   c.At(l.nearPosition()),
			owed:    max(0, l.Owed-l.OnHand-l.OnOrder),
			late:    l.OnOrderLater,
			handOut: min(l.Owed, l.OnHand),
		}
	}
	return out
}

// nearPMF returns the distribution over the trigger horizon, as given or
// derived from the longer one.
func (s *Stocked) nearPMF(h Horizon) []float64 {
	if len(s.Trigger.PMF) > 0 {
		return s.Trigger.PMF
	}
	return NewSpread(s.Quantity, h.Quantity).At(h.Trigger)
}

// fillOf returns the expected fill rate over those lines together.
func fillOf(lines []near) float64 {
	short, needed := 0.0, 0.0
	for _, l := range lines {
		short += l.short
		needed += l.demand
	}
	return FillRate(short, needed)
}

// tooLow reports whether a fill rate misses its target by more than rounding.
func tooLow(fill, target float64) bool { return fill < target-1e-9 }

// reasons explains the trigger: the verdict, who is owed, and the three lines
// that are shortest.
func reasons(lines []near, due bool) []Reason {
	verdict := Reason{Kind: AboveTarget}
	if due {
		verdict.Kind = BelowTarget
	}
	out := []Reason{verdict}
	needed := 0.0
	for _, l := range lines {
		needed += l.demand
		if l.owed > 0 {
			out = append(out, Reason{OwedNow, l.SKU, float64(l.owed)})
		}
		if l.handOut > 0 {
			out = append(out, Reason{HandOut, l.SKU, float64(l.handOut)})
		}
		if due && l.late > 0 && l.short > 0.5 {
			out = append(out, Reason{ComesTooLate, l.SKU, float64(l.late)})
		}
	}
	if needed == 0 {
		out[0].Kind = NoDemand
	}
	return append(out, shortest(lines, 3)...)
}

// shortest names the n lines with most expected shortage, as far as it is worth saying.
func shortest(lines []near, n int) []Reason {
	order := append([]near(nil), lines...)
	slices.SortStableFunc(order, func(a, b near) int { return cmp.Compare(b.short, a.short) })
	var out []Reason
	for i, l := range order[:min(n, len(order))] {
		if l.short >= 0.3 || i == 0 && l.short >= 0.05 {
			out = append(out, Reason{ShortestLine, l.SKU, l.short})
		}
	}
	return out
}
