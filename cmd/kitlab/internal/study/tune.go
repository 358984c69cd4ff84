package study

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
)

// tuned is a way of ordering with the settings that cost least in hindsight.
type tuned struct {
	Settings
	scores []market.Score
	total  market.Score
	at     []int // steps on the axes
}

// axis is one setting with the steps that it may take.
type axis struct {
	// first and last name the setting where the best step is the first or the last
	// one, so that one beyond might be better; none where nothing is beyond.
	first, last string
	// set takes step i; false beyond the last one.
	set func(s *Settings, i int) bool
}

// Axes without an upper bound; the next step costs within a percent or so.
var (
	bufferAxis = endless("shelf", func(s *Settings, i int) { s.Buffer = 0.3 * math.Pow(1.2, float64(i)) })
	coverAxis  = endless("weeks of cover", func(s *Settings, i int) { s.Cover = 3 * math.Pow(1.25, float64(i)) })
	zAxis      = endless("roots of need", func(s *Settings, i int) { s.Z = -1 + 0.25*float64(i) })
)

func endless(name string, set func(*Settings, int)) axis {
	return axis{first: name, set: func(s *Settings, i int) bool { set(s, i); return true }}
}

// oneOf returns an axis of a few choices.
func oneOf[T any](first, last string, choices []T, at func(*Settings) *T) axis {
	return axis{first, last, func(s *Settings, i int) bool {
		if i >= len(choices) {
			return false
		}
		*at(s) = choices[i]
		return true
	}}
}

// atEnd names the settings whose best step has nothing tried beyond it.
func (t *tuned) atEnd(axes []axis) (names []string) {
	for i, a := range axes {
		beyond := t.Settings
		switch {
		case t.at[i] == 0 && a.first != "":
			names = append(names, a.first)
		case a.last != "" && !a.set(&beyond, t.at[i]+1):
			names = append(names, a.last)
		}
	}
	return names
}

// cheapest steps along one axis at a time from a start as long as handling costs
// less, at the least missing weeks first where there are more than most.
func (b *bench) cheapest(s Settings, at []int, most float64, axes ...axis) tuned {
	try := func() (tuned, bool) {
		for i, a := range axes {
			if at[i] < 0 || !a.set(&s, at[i]) {
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
