package wear

import "github.com/kitmuster/kitmuster/programme"

// Worn says when pieces of a place in the kit are worn; see [programme.Succession].
// None at all are worn on every day.
type Worn programme.Succession

// lastDay is the last day on which the kit has any of the lines; no date = none is
// known.
func (w Worn) lastDay() programme.Date {
	if len(w) == 0 {
		return 0
	}
	return programme.Succession(w).Newest().Until
}

// lines are the uses of lines that took each other's place, oldest first; nil for one alone.
func (b *Book) lines(role string, u *Use) []*Use {
	if len(u.Worn) < 2 {
		return nil
	}
	out := make([]*Use, 0, len(u.Worn))
	for i := range u.Worn {
		line, _ := b.Use(role, u.Worn[i].Garment, u.Worn[i].Colour)
		out = append(out, line)
	}
	return out
}

// useOn returns what the kit says on a day of pieces that are followed: by the newest line that had begun, and by
// the first before any had.
func (r *rotation) useOn(d programme.Date) *Use {
	if len(r.lines) == 0 {
		return r.use
	}
	use := r.lines[0]
	for _, u := range r.lines[1:] {
		if u.line.From <= d {
			use = u
		}
	}
	return use
}
