package demand

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// place is one thing of a role's kit with the lines that follow one another in it.
type place struct {
	lines programme.Succession
	// others are its other cuts: nothing of them is given, but what somebody who changed
	// from one of them holds is worn on.
	others []programme.Succession
}

// held yields the lines of which pieces count, those of other cuts first.
func (at *place) held() iter.Seq[*programme.KitLine] {
	return func(yield func(*programme.KitLine) bool) {
		for _, lines := range slices.Concat(at.others, []programme.Succession{at.lines}) {
			for i := range lines {
				if !yield(&lines[i]) {
					return
				}
			}
		}
	}
}

// over reports whether nobody is given pieces of a line any more: it has ended, and
// none of it that lies on the shelf is to be used up.
func (in *Input) over(r *programme.Role, l *programme.KitLine) bool {
	next, ok := r.Following(l.Former())
	return !l.Until.IsZero() && l.Until < in.AsOf && (!ok || next.Change != programme.RunOut)
}

// linesOf yields all lines of places.
func linesOf(places []place) iter.Seq[*programme.KitLine] {
	return func(yield func(*programme.KitLine) bool) {
		for _, at := range places {
			for i := range at.lines {
				if !yield(&at.lines[i]) {
					return
				}
			}
		}
	}
}

// serve tells with which line a need of a day is met, and on which day: the day
// itself or, where an order of today would come too late for the season, the first
// of the next. ok is false when the kit has nothing of the place by then.
func (in *Input) serve(lines programme.Succession,
	d programme.Date) (on programme.Date, l *programme.KitLine, ok bool) {
	on, l, ok = lines.NextWorn(d)
	arrives := in.AsOf.Add(in.LeadDays)
	if !ok || on >= arrives {
		return on, l, ok
	}
	then, l, ok := lines.NextWorn(arrives)
	if then > arrives {
		on = then
	}
	return on, l, ok
}

// need is the first day on which somebody needs what a place of the kit has, and the
// line of it that they need: today for most.
func (s *scene) need(p *programme.Person, at *place) (on programme.Date, l *programme.KitLine, ok bool) {
	for d := max(p.Start, s.in.AsOf); ; d = on {
		there := p.BackFrom(d)
		if there.IsZero() {
			return 0, nil, false
		}
		if on, l, ok = s.in.serve(at.lines, there); !ok || on == there {
			return on, l, ok
		}
	}
}

// deferred is the day up to which replacements wait where none could come within the
// season; no date = they are needed as pieces end.
func (s *scene) deferred(at *place) programme.Date {
	if on, _, ok := s.in.serve(at.lines, s.in.AsOf); ok && on > s.in.AsOf.Add(s.in.LeadDays) {
		return on
	}
	return 0
}

// later is what replaces pieces from some weeks after AsOf on, in order; before the
// first of them it is the holder's sku.
type later struct {
	from  []float64
	lines []int // places in scene.lines
	skus  []programme.SKU
	// waits says that an order of today is not for what these lines replace: a later
	// round's comes in time for it, and nothing of theirs is handed out before.
	waits bool
}

// replacedBy is what will replace somebody's pieces once the kit has changed, where
// that is ahead; k is what does at first.
func (s *scene) replacedBy(p *programme.Person, at *place, on programme.Date, k programme.SKU,
	pieces []*programme.Piece) *later {
	out := later{waits: s.in.LeadDays > 0}
	var name strings.Builder
	for i := range at.lines {
		l := &at.lines[i]
		if l.From <= max(on, s.in.AsOf.Add(s.in.LeadDays)) {
			continue
		}
		next, known := s.skuFor(p, l, pieces)
		line, listed := s.at[next]
		if !known || !listed || next == k {
			continue
		}
		out.from = append(out.from, float64(l.From-1-s.in.AsOf)/7)
		out.lines, out.skus = append(out.lines, line), append(out.skus, next)
		fmt.Fprintf(&name, "%d %s;", l.From, next)
	}
	if len(out.from) == 0 {
		return nil
	}
	got := s.laters[name.String()]
	if got == nil {
		got = &out
		s.laters[name.String()] = got
	}
	return got
}

// span is a time in weeks after AsOf, in which one line replaces what ends.
type span struct {
	line     int
	from, to float64
}

// spans are the times in which one line after the other replaces what ends.
func (s *scene) spans(h *holder) []span {
	out := []span{{s.at[h.sku], 0, math.Inf(1)}}
	if h.later != nil {
		for i, from := range h.later.from {
			out[len(out)-1].to = from
			if h.later.waits {
				break
			}
			out = append(out, span{h.later.lines[i], from, math.Inf(1)})
		}
	}
	return out
}

// lineIn returns the line that replaces what ends in a week, by its middle; first is
// the one that does before the kit changes. Below 0 it is none of an order of today.
func (l *later) lineIn(week, first int) int {
	if l == nil {
		return first
	}
	for i, from := range l.from {
		if float64(week)+0.5 > from {
			if first = l.lines[i]; l.waits {
				return -1
			}
		}
	}
	return first
}

// on returns the goods that replace a piece that ends on a day.
func (l *later) on(weeks float64, first programme.SKU) programme.SKU {
	if l == nil || l.waits {
		return first
	}
	for i, from := range l.from {
		if weeks > from {
			first = l.skus[i]
		}
	}
	return first
}
