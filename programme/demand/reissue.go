package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// LifeLeft returns the share of the median life that a piece with washes behind it has
// left, as the records say; ok is false where no kit has such pieces.
func (in *Input) LifeLeft(k programme.SKU, washes float64) (share float64, ok bool) {
	use, ok := in.Book.Use("", k.Garment, k.Colour)
	if !ok {
		return 0, false
	}
	life := in.Learnt[use.Class.Class].MedianLife(max(use.Pace(use.Each), 1e-6))
	if use.Limit > 0 {
		life = min(life, use.Limit)
	}
	return 1 - washes/life, true
}

// Fit reports whether a piece that comes back may go out again: where the programme
// allows it, no name is on it, and at least the stated share of the median life is left.
func (in *Input) Fit(k programme.SKU, washes float64) bool { return in.fit(k, washes, 1) }

func (in *Input) fit(k programme.SKU, washes, of float64) bool {
	least := in.Client.ReissueLifeLeft
	if least <= 0 || in.Client.Named(in.Shop, "", k) {
		return false
	}
	left, ok := in.LifeLeft(k, washes)
	return ok && left >= of*least
}

// shelfGrace is by how much of the stated share a piece that was taken for fit and
// lies on the shelf may fall short: what is learnt of lives moves a little every
// week, and a piece on the shelf should not come and go with it (common practice, no source).
const shelfGrace = 0.8

// StillFit is Fit for a piece that lies on the shelf already.
func (in *Input) StillFit(k programme.SKU, washes float64) bool { return in.fit(k, washes, shelfGrace) }

// reissuable counts, by line, returned pieces that may go out again: those on the
// shelf with washes behind them, and those that the ledger says came back from a
// leaver or no longer fitted. Nothing says whether the shop lists the latter in
// its stock as well, so they count only as far as they are more than lie there.
// A piece issued again uses one up.
func (f *forecast) reissuable() (all, unlisted []int) {
	all, unlisted = make([]int, len(f.lines)), make([]int, len(f.lines))
	if f.in.Client.ReissueLifeLeft <= 0 {
		return all, unlisted
	}
	shelf, worn := f.shelf()
	back := f.cameBack()
	for i := range f.lines {
		unlisted[i] = max(0, back[i]-shelf[i])
		all[i] = worn[i] + unlisted[i]
	}
	return all, unlisted
}

// shelf counts the finished pieces that lie there by line, and those of them that
// were worn and may go out again.
func (f *forecast) shelf() (all, worn []int) {
	all, worn = make([]int, len(f.lines)), make([]int, len(f.lines))
	for i := range f.in.Stock {
		l := &f.in.Stock[i]
		at, ok := f.at[l.SKU()]
		if !ok || l.Kind != programme.Finished || l.Client != f.in.Client.Code || !l.Expected.IsZero() {
			continue
		}
		all[at] += l.Pieces
		if l.Washes > 0 && f.in.StillFit(l.SKU(), float64(l.Washes)) {
			worn[at] += l.Pieces
		}
	}
	return all, worn
}

// cameBack counts by line what the ledger alone knows to have come back.
func (f *forecast) cameBack() []int {
	parts := make([]float64, len(f.lines))
	shelved := make([]float64, len(f.lines))
	for i := range f.in.History.Ended {
		p := &f.in.History.Ended[i]
		line, ok := f.at[p.SKU]
		if !ok || !p.Reason.StillGood() || p.Kept {
			continue
		}
		part := p.Part
		if part == 0 {
			part = 1
		}
		if p.Shelved {
			shelved[line] += part
			continue
		}
		if f.in.Fit(p.SKU, p.Washes) {
			parts[line] += part
		}
	}
	_, worn := f.shelf()
	out := make([]int, len(parts))
	for i, n := range parts {
		again := float64(f.issuedAgain(i)) - max(0, shelved[i]-float64(worn[i]))
		out[i] = int(math.Round(max(0, n-max(0, again))))
	}
	return out
}

// issuedAgain returns how many pieces of a line went out with washes on them.
func (f *forecast) issuedAgain(line int) (n int) {
	for _, pieces := range [][]programme.Piece{f.in.History.InService, f.in.History.Ended} {
		for i := range pieces {
			if p := &pieces[i]; p.Reissued && p.SKU == f.lines[line] {
				n++
			}
		}
	}
	return n
}
