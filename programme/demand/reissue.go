package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// reissuable counts, by line, returned pieces that may go out again: pieces a
// leaver handed back or that no longer fitted, where the programme allows it
// and at least the stated share of the median life is left. A piece issued
// again with washes on it uses one up. Nothing says whether the shop lists
// them in its stock as well, so they are told apart and not added to it.
func (f *forecast) reissuable() []int {
	out := make([]int, len(f.lines))
	least := f.in.Client.ReissueLifeLeft
	if least <= 0 {
		return out
	}
	parts := make([]float64, len(f.lines))
	for i := range f.in.History.Ended {
		p := &f.in.History.Ended[i]
		line, ok := f.at[p.SKU]
		if !ok || !p.Reason.StillGood() {
			continue
		}
		use, ok := f.in.Book.Use("", p.SKU.Garment, p.SKU.Colour)
		if !ok {
			continue
		}
		life := f.in.Learnt[use.Class.Class].MedianLife(max(use.Pace(use.Each), 1e-6))
		if use.Limit > 0 {
			life = min(life, use.Limit)
		}
		if part := p.Part; 1-p.Washes/life >= least {
			if part == 0 {
				part = 1
			}
			parts[line] += part
		}
	}
	for i, n := range parts {
		out[i] = int(math.Round(n))
	}
	for _, pieces := range [][]programme.Piece{f.in.History.InService, f.in.History.Ended} {
		for i := range pieces {
			if p := &pieces[i]; p.Reissued {
				if line, ok := f.at[p.SKU]; ok {
					out[line] = max(0, out[line]-1)
				}
			}
		}
	}
	return out
}
