package wear

// PlugIn returns what would be believed if the endings so far told everything:
// the best-fitting scale at the catalogue's shape (half an ending where none
// was seen), taken as certain. It is kept to show what that costs: its
// intervals are too narrow (see package calibrate).
func (k *Learnt) PlugIn() *Learnt {
	out := *k
	risks := k.risks()
	says := k.silences(nil, risks)
	fit := func(c int) Posterior {
		p := k.Terms.sources()[c].Prior
		p.ShapeKnown, p.Strength = true, 1e-9
		l := newLearner(p, k.observationsGiven(nil, c, risks, says))
		if l.endings+float64(len(l.shared)+len(l.interval)) < 0.5 {
			l.endings = 0.5
		}
		rate := l.posterior().Nodes[0].Rate.Mean()
		return Posterior{p.Scale, []ShapeNode{{p.Shape, 1, Certain(rate)}}}
	}
	out.Cloth = fit(0)
	out.Prints = make([]Posterior, len(k.Prints))
	for j := range out.Prints {
		out.Prints[j] = fit(j + 1)
	}
	prior := k.Terms.Mishap
	seen := Gamma{max(0.5, k.Mishap.Count-prior.Count), max(1e-9, k.Mishap.Exposure-prior.Exposure)}
	out.Mishap = Certain(seen.Mean())
	return &out
}
