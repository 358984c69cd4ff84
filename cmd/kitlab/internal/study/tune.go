package study

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme/simulate"
)

// tuned is a way of ordering with the settings that cost least in hindsight.
type tuned struct {
	Settings
	scores []simulate.Score
	total  simulate.Score
	at     []int // steps on the axes
}

// axis sets one setting to what its step i is; false beyond the last one.
type axis func(s *Settings, i int) bool

// Axes without an upper bound; the next step costs within a percent or so.
func bufferAxis(s *Settings, i int) bool { s.Buffer = 0.3 * math.Pow(1.2, float64(i)); return true }
func coverAxis(s *Settings, i int) bool  { s.Cover = 3 * math.Pow(1.25, float64(i)); return true }
func zAxis(s *Settings, i int) bool      { s.Z = -1 + 0.25*float64(i); return true }

// oneOf returns an axis of a few choices.
func oneOf[T any](choices []T, at func(*Settings) *T) axis {
	return func(s *Settings, i int) bool {
		if i >= len(choices) {
			return false
		}
		*at(s) = choices[i]
		return true
	}
}

// cheapest steps along one axis at a time from a start as long as handling costs
// less, at the least missing weeks first where there are more than most.
func (b *bench) cheapest(s Settings, at []int, most float64, axes ...axis) tuned {
	try := func() (tuned, bool) {
		for i, set := range axes {
			if at[i] < 0 || !set(&s, at[i]) {
				return tuned{}, false
			}
		}
		scores := b.run(by(s))
		return tuned{s, scores, total(scores), slices.Clone(at)}, true
	}
	best, _ := try()
	for better := true; better; {
		better = false
		for i := range axes {
			for _, step := range []int{1, -1} {
				for {
					at[i] += step
					t, ok := try()
					if !ok || !t.beats(&best, most) {
						at[i] -= step
						break
					}
					best, better = t, true
				}
			}
		}
	}
	return best
}

// beats reports fewer missing weeks above most or, at equally many above, less handling.
func (t *tuned) beats(o *tuned, most float64) bool {
	mine, theirs := math.Max(most, t.total.MissingWeeks), math.Max(most, o.total.MissingWeeks)
	if mine != theirs {
		return mine < theirs
	}
	return t.total.Handling() < o.total.Handling()
}
