package wear

import (
	"cmp"
	"iter"
	"slices"
	"sort"

	"github.com/kitmuster/kitmuster/programme"
)

// Absence lists the times in which one person wears less than the kit says, or nothing at all. The zero value is
// everybody's usual time.
type Absence []programme.Spell

// AbsenceOf returns a person's; whoever has yet to start on asOf is away until then.
func AbsenceOf(p *programme.Person, asOf programme.Date) Absence {
	if p == nil {
		return nil
	}
	if p.Start <= asOf {
		return p.Spells
	}
	out := Absence{{From: 1, Until: p.Start - 1}}
	for _, s := range p.Spells { // in order of their last days too, as within looks for them
		if s.Until.IsZero() || s.Until >= p.Start {
			out = append(out, s)
		}
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

// fewSpells are looked through one by one.
const fewSpells = 6

// within yields the parts of spells after from up to to, each with its own first
// and last day. Where spells overlap, the earlier counts.
func (a Absence) within(from, to programme.Date) iter.Seq[programme.Spell] {
	return func(yield func(programme.Spell) bool) {
		done := from
		begin := 0
		if len(a) > fewSpells {
			begin = sort.Search(len(a)-1, func(i int) bool { return a[i].Until > from })
		}
		for _, s := range a[begin:] {
			if s.From > to {
				return
			}
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

// AbsenceOf returns the times in which a person wears none of the pieces, or less of them than the kit says: while
// away, and while the pieces are put away.
func (u *Use) AbsenceOf(p *programme.Person, asOf programme.Date) Absence {
	a := AbsenceOf(p, asOf)
	if len(u.unworn) == 0 {
		return a
	}
	return u.unworn.over(a)
}

// The first and the last day between which put-away times are known; no file has
// days outside of 1980 to 2099, and no forecast looks further than twenty years.
var firstDay, lastDay = programme.NewDate(1979, 12, 31), programme.NewDate(2120, 12, 31)

// over is the spells in which nothing is worn, and of others what lies outside them.
func (a Absence) over(others Absence) Absence {
	if len(others) == 0 {
		return a
	}
	out := append(Absence(nil), a...)
	for _, o := range others {
		for _, off := range a {
			if !o.Until.IsZero() && off.From > o.Until {
				break
			}
			if off.Until < o.From {
				continue
			}
			if o.From < off.From {
				out = append(out, programme.Spell{From: o.From, Until: off.From - 1, Share: o.Share})
			}
			o.From = off.Until + 1
		}
		if o.Until.IsZero() || o.From <= o.Until {
			out = append(out, o)
		}
	}
	slices.SortFunc(out, func(x, y programme.Spell) int { return cmp.Compare(x.From, y.From) })
	return out
}
