package choose

import (
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// taught holds what a client's own records say about the cloths and prints it has
// worn, and how its hands compare with the baselines on the whole.
type taught struct {
	cloths, prints map[string]lesson // by fabric class or garment, by decoration
	// cloth and print are the ratios carried to what it has not worn: people who
	// are easy on one shirt are easy on the next.
	cloth, print float64
}

// lesson is the posterior of one source and its median against the prior's.
type lesson struct {
	wear.Posterior
	regime  string
	ratio   float64
	endings float64
}

// halfTrust is the number of endings that makes the records count as much as the baseline
// for garments they are not about (weight n/(n+15): common practice, no source).
const halfTrust = 15

func teach(learnt map[wear.Class]*wear.Learnt) *taught {
	t := &taught{cloths: map[string]lesson{}, prints: map[string]lesson{}}
	for _, k := range learnt {
		keep(t.cloths, &k.Terms.Cloth, k.Cloth, float64(k.Evidence.Worn))
		for i := range k.Prints {
			keep(t.prints, &k.Terms.Prints[i].Source, k.Prints[i], float64(k.Evidence.Print))
		}
	}
	t.cloth, t.print = overall(t.cloths), overall(t.prints)
	return t
}

// keep takes the lesson with the most endings for each source; by ratio where
// two have equally many, so that the order of a map decides nothing.
func keep(lessons map[string]lesson, s *wear.Source, p wear.Posterior, endings float64) {
	l := lesson{p, s.Regime, p.MedianQuantile(0.5) / s.Median(), endings}
	if was, ok := lessons[s.Code]; !ok || l.endings > was.endings || l.endings == was.endings && l.ratio < was.ratio {
		lessons[s.Code] = l
	}
}

func overall(lessons map[string]lesson) float64 {
	n, sum := 0.0, 0.0
	for _, code := range slices.Sorted(maps.Keys(lessons)) {
		n += lessons[code].endings
		sum += lessons[code].endings * math.Log(lessons[code].ratio)
	}
	return math.Exp(sum / (n + halfTrust))
}

// believe returns what is believed of one source: the records' own posterior where
// they are about it under this washing, else the prior moved by what they say.
func (l lesson) believe(known bool, s *wear.Source, carried float64) (wear.Posterior, error) {
	if known && l.regime == s.Regime {
		return l.Posterior, nil
	}
	if known {
		carried = l.ratio
	}
	prior := s.Prior
	prior.Scale *= carried
	return wear.Learn(prior, nil)
}
