package wear

import "github.com/kitmuster/kitmuster/programme"

// FormerWash says how many washes of today one was worth up to and with a day.
type FormerWash struct {
	Until programme.Date `json:"until"`
	Worth float64        `json:"worth"`
}

// worth returns how many washes of today one was worth under an earlier way of washing: the
// median life by the catalogue of a new piece as it is washed today over that as it was washed
// then, so that each takes the same share of its life (accelerated life; exact where cloth and
// prints are affected alike, else at the median).
func (t *Terms) worth(then *Terms) float64 { return t.unharmedLife() / then.unharmedLife() }

// unharmedLife returns the median life of a new piece by the catalogue in washes, mishaps apart.
func (t *Terms) unharmedLife() float64 {
	w := lifetime{risks: t.baselineRisks()}
	return w.medianLife()
}

// Wearing returns the days of usual wear after from up to to of somebody with an absence, each
// by what its washes are worth against those of today. Where a label allows so many washes, they
// count as they were, however gentle.
func (u *Use) Wearing(b *Book, absence Absence, from, to programme.Date) float64 {
	sum := 0.0
	if u.Class != nil && u.Limit == 0 {
		for _, f := range u.Class.Former {
			if from < f.Until && from < to {
				last := min(to, f.Until)
				sum += f.Worth * absence.Wearing(b, from, last)
				from = last
			}
		}
	}
	return sum + absence.Wearing(b, from, to)
}
