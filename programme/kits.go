package programme

import "slices"

// Former names the line as a later one takes its place.
func (l *KitLine) Former() Former { return Former{l.Garment, l.Colour} }

// InForce reports whether the line is part of the kit on a day, worn in its month or not.
func (l *KitLine) InForce(d Date) bool {
	return (l.From.IsZero() || l.From <= d) && (l.Until.IsZero() || d <= l.Until)
}

// UsualRestAfterWeeks is the time after which the rest of a kit follows where a programme does not
// say: at about the ninetieth day (common practice, no source).
const UsualRestAfterWeeks = 13

// AtFirst returns the number of pieces that a starter is given on the first day.
func (l *KitLine) AtFirst() int {
	if l.First > 0 {
		return min(l.First, l.Each)
	}
	return l.Each
}

// RestOn is the day on which the rest is due to somebody who started on a day; no
// date where all pieces are given at once.
func (l *KitLine) RestOn(start Date) Date {
	if l.AtFirst() == l.Each {
		return 0
	}
	return start.Add(7 * l.RestAfterWeeks)
}

// EachOn returns the number of pieces that a person who started on one day should have on another.
func (l *KitLine) EachOn(start, day Date) int {
	if day < l.RestOn(start) {
		return l.AtFirst()
	}
	return l.Each
}

// Line returns what the kit says of a garment and colour: a line of it or, of a
// line that another took the place of and that is listed no more, the same terms.
func (r *Role) Line(garment, colour string) (*KitLine, bool) {
	if l, ok := r.listed(Former{garment, colour}); ok {
		return l, true
	}
	if next, ok := r.Following(Former{garment, colour}); ok {
		return r.before(next), true
	}
	return nil, false
}

func (r *Role) listed(f Former) (*KitLine, bool) {
	return find(r.Kit, func(l *KitLine) bool { return l.Former() == f })
}

// Following returns the line that takes the place of another.
func (r *Role) Following(f Former) (*KitLine, bool) {
	if f == (Former{}) {
		return nil, false
	}
	return find(r.Kit, func(l *KitLine) bool { return l.InsteadOf == f })
}

// before rebuilds the line whose place a line took, for kits that list it no more. Where
// the line is a cut of another, the rebuilt one is a cut of what that other took the place of.
func (r *Role) before(l *KitLine) *KitLine {
	out := *l
	if of, ok := r.listed(l.CutOf); ok && of.InsteadOf != (Former{}) {
		out.CutOf = of.InsteadOf
	}
	out.Garment, out.Colour = l.InsteadOf.Garment, l.InsteadOf.Colour
	out.From, out.InsteadOf, out.Change = 0, Former{}, AsWorn
	out.Until = l.From - 1
	return &out
}

// Succession holds the lines that a kit has of one thing over time: each takes
// the place of the one before while pieces of that one are worn on and count. From
// and Until are filled in, so that at most one line is in force on any day. Most
// kits have successions of one line.
type Succession []KitLine

// Successions returns the role's kit as it goes over time, in the order of the kit. A
// change on one day begins a succession of its own: nothing of the former counts.
func (r *Role) Successions() []Succession {
	var out []Succession
	for i := range r.Kit {
		l := &r.Kit[i]
		if next, ok := r.Following(l.Former()); ok && next.Change != OnTheDay {
			continue // it stands with the one that takes its place
		}
		s := Succession{r.bounded(l)}
		for l.InsteadOf != (Former{}) && len(s) <= len(r.Kit) {
			former, ok := r.listed(l.InsteadOf)
			if !ok {
				former = r.before(l)
			}
			if l.Change == OnTheDay {
				if !ok {
					out = append(out, Succession{*former})
				}
				break
			}
			s = append(s, r.bounded(former))
			l = former
		}
		slices.Reverse(s)
		out = append(out, s)
	}
	return out
}

// bounded returns the line with the last day that the one after it leaves.
func (r *Role) bounded(l *KitLine) KitLine {
	out := *l
	if next, ok := r.Following(l.Former()); ok && (out.Until.IsZero() || out.Until >= next.From) {
		out.Until = next.From - 1
	}
	return out
}

// Newest returns the last line of the succession.
func (s Succession) Newest() *KitLine { return &s[len(s)-1] }

// Has reports whether pieces of a garment and colour belong to the succession.
func (s Succession) Has(garment, colour string) bool {
	return slices.ContainsFunc(s, func(l KitLine) bool { return l.Garment == garment && l.Colour == colour })
}

// On returns the line that is in force on a day, if there is one.
func (s Succession) On(d Date) (*KitLine, bool) {
	return find(s, func(l *KitLine) bool { return l.InForce(d) })
}

// Always reports that pieces are worn on every day.
func (s Succession) Always() bool {
	return s[0].From.IsZero() && s.Newest().Until.IsZero() &&
		!slices.ContainsFunc(s, func(l KitLine) bool { return !l.Months.All() }) && !s.gaps()
}

func (s Succession) gaps() bool {
	for i := 1; i < len(s); i++ {
		if s[i].From != s[i-1].Until+1 {
			return true
		}
	}
	return false
}

// NextWorn returns the first day from d on on which pieces are worn, with the line that
// is then in force; ok is false when there will be none.
func (s Succession) NextWorn(d Date) (on Date, l *KitLine, ok bool) {
	for i := range s {
		l := &s[i]
		day := l.Months.next(max(d, l.From))
		if l.InForce(day) {
			return day, l, true
		}
	}
	return 0, nil, false
}

// Unworn returns the stretches after from up to to in which nothing of the succession
// is worn: before it begins, after its end, out of its season.
func (s Succession) Unworn(from, to Date) (out []Spell) {
	if s.Always() {
		return nil
	}
	for d := from + 1; d <= to; {
		on, _, ok := s.NextWorn(d)
		if !ok || on > to {
			return append(out, Spell{From: d, Until: to})
		}
		if on > d {
			out = append(out, Spell{From: d, Until: on - 1})
		}
		d = s.wornUntil(on) + 1
	}
	return out
}

// wornUntil returns the last day up to which the line that is worn on d is worn without a
// break, but no day after the end of its month.
func (s Succession) wornUntil(d Date) Date {
	l, _ := s.On(d)
	last := nextMonth(d) - 1
	if !l.Until.IsZero() {
		last = min(last, l.Until)
	}
	return last
}

// KitLines returns the lines of all kits that have the garment, in any colour; lines whose
// place others took are among them.
func (c *Client) KitLines(garment string) []*KitLine {
	var out []*KitLine
	for i := range c.Roles {
		r := &c.Roles[i]
		for j := range r.Kit {
			l := &r.Kit[j]
			if l.Garment == garment {
				out = append(out, l)
			}
			if _, ok := r.listed(l.InsteadOf); !ok && l.InsteadOf.Garment == garment && garment != "" {
				out = append(out, r.before(l))
			}
		}
	}
	return out
}

// Decorations returns what a piece carries for the holder of a role: what the
// role's kit has on it or, for a piece whose holder's role is not known or does
// not have it, what the first role that has it has. Sure is false in that
// second case where roles decorate it differently. Artworks are as they are on
// the piece's size.
func (c *Client) Decorations(shop *Shop, role string, k SKU) (list []Decoration, sure bool) {
	list, sure = c.decorations(role, k)
	return shop.Fitted(list, k.Size), sure
}

func (c *Client) decorations(role string, k SKU) (list []Decoration, sure bool) {
	if r, ok := c.Role(role); ok {
		if l, ok := r.Line(k.Garment, k.Colour); ok {
			return l.Decorations, true
		}
	}
	found, sure := false, true
	for i := range c.Roles {
		l, ok := c.Roles[i].Line(k.Garment, k.Colour)
		switch {
		case !ok:
		case !found:
			list, found = l.Decorations, true
		case !slices.Equal(list, l.Decorations):
			sure = false
		}
	}
	return list, sure
}
