package study

import "github.com/kitmuster/kitmuster/programme/simulate"

// tuned is a habit at the fill rate asked for.
type tuned struct {
	Settings
	scores []simulate.Score
	total  simulate.Score
}

// steps of halving the buffer, and the largest one tried; the fill rate is then
// met within a thousandth or so.
const (
	steps   = 10
	largest = 24.0
)

// toFill finds the buffer with which a habit meets a fill rate over all shops
// together, by halving; ok is false when even the largest buffer does not.
func (b *bench) toFill(s Settings, fill float64) (best tuned, ok bool) {
	lo, hi := 0.0, largest
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
// Where none reaches it, it is the one that came nearest, with its own fill rate.
func (b *bench) cheapest(candidates []Settings, fill float64) tuned {
	var best tuned
	found := false
	for _, s := range candidates {
		t, ok := b.toFill(s, fill)
		switch {
		case ok && (!found || t.total.Cost() < best.total.Cost()):
			best, found = t, true
		case !ok && !found:
			s.Buffer = largest
			scores := b.run(by(s))
			t = tuned{s, scores, total(scores)}
			if best.scores == nil || t.total.FillRate() > best.total.FillRate() {
				best = t
			}
		}
	}
	return best
}
