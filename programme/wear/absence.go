package wear

import (
	"iter"

	"github.com/kitmuster/kitmuster/programme"
)

// Absence is when one person wears less than the kit says, and when nothing at
// all. The zero value is everybody's usual time.
type Absence []programme.Spell

// AbsenceOf returns a person's; whoever has yet to start on asOf is away until then.
func AbsenceOf(p *programme.Person, asOf programme.Date) Absence {
	if p == nil {
		return nil
	}
	out := Absence(p.Spells)
	if p.Start > asOf {
		out = append(Absence{{From: 1, Until: p.Start - 1}}, out...)
	}
	return out
}

// Wearing is Book.Wearing for somebody with this absence: of each day the share
// that is worn.
func (a Absence) Wearing(b *Book, from, to programme.Date) float64 {
	sum := b.Wearing(from, to)
	for s := range a.within(from, to) {
		sum -= (1 - s.Share) * b.Wearing(s.From-1, s.Until)
	}
	return sum
}

// There returns the days after from up to to on which the person is not away.
func (a Absence) There(from, to programme.Date) int {
	days := max(0, to.Sub(from))
	for s := range a.within(from, to) {
		if s.Away() {
			days -= s.Until.Sub(s.From) + 1
		}
	}
	return days
}

// within yields the parts of spells after from up to to, each with its own first
// and last day. Where spells overlap, the earlier counts.
func (a Absence) within(from, to programme.Date) iter.Seq[programme.Spell] {
	return func(yield func(programme.Spell) bool) {
		done := from
		for _, s := range a {
			if s.Until.IsZero() || s.Until > to {
				s.Until = to
			}
			if s.From = max(done+1, s.From); s.From > s.Until {
				continue
			}
			if done = s.Until; !yield(s) {
				return
			}
		}
	}
}
