package study

import "github.com/kitmuster/kitmuster/programme/simulate"

// tuned is a habit at the fill rate asked for.
type tuned struct {
	Settings
	scores []simulate.Score
	total  simulate.Score
}

// steps of halving the buffer; the fill rate is then met within a thousandth or so.
const steps = 9

// toFill finds the buffer with which a habit meets a fill rate over all shops
// together, by halving; ok is false when even a buffer of twelve does not.
func (b *bench) toFill(s Settings, fill float64) (best tuned, ok bool) {
	lo, hi := 0.0, 12.0
	for range steps {
		s.Buffer = (lo + hi) / 2
		scores := b.run(by(s))
		sum := total(scores)
		if sum.FillRate() < fill {
			lo = s.Buffer
			continue
		}
		hi = s.Buffer
		best, ok = tuned{s, scores, sum}, true
	}
	return best, ok
}

// cheapest is the habit of least cost among candidates, each at the fill rate.
func (b *bench) cheapest(candidates []Settings, fill float64) (best tuned, ok bool) {
	for _, s := range candidates {
		t, reached := b.toFill(s, fill)
		if reached && (!ok || t.total.Cost() < best.total.Cost()) {
			best, ok = t, true
		}
	}
	return best, ok
}
