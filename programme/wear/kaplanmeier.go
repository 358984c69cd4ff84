package wear

import (
	"math"
	"slices"
)

// Step is one step of a Kaplan-Meier curve: the survival from Washes on.
type Step struct {
	Washes   float64
	AtRisk   float64 // entered before and not gone before: entry < Washes <= exit
	Endings  float64
	Survival float64
	// SE is Greenwood's standard error of Survival; 0 once Survival is 0.
	SE float64
	// Lower and Upper bound a 95 % band on the log scale, cut at 1.
	Lower, Upper float64
}

const normal975 = 1.959963984540054

// KaplanMeier returns the product-limit estimate with left truncation, one
// step for each age at which something ended (Kaplan & Meier 1958; standard
// error after Greenwood 1926). Intervals count as ended at their middle, or as
// alive at Exit where no upper end is known; the band does not know of that.
func KaplanMeier(obs []Observation) []Step {
	entries, exits, ends := timelines(obs)
	var steps []Step
	s, v := 1.0, 0.0
	var entered, gone float64
	ei, xi := 0, 0
	for _, e := range ends {
		for ; ei < len(entries) && entries[ei].at < e.at; ei++ {
			entered += entries[ei].n
		}
		for ; xi < len(exits) && exits[xi].at < e.at; xi++ {
			gone += exits[xi].n
		}
		n := entered - gone
		if n-e.n <= 1e-9*n { // the last ones ended; sums of counts are not exact to the last digit
			s = 0
		} else {
			s *= 1 - e.n/n
			v += e.n / (n * (n - e.n))
		}
		steps = append(steps, step(e, n, s, v))
	}
	return steps
}

func step(e tick, atRisk, s, v float64) Step {
	st := Step{Washes: e.at, AtRisk: atRisk, Endings: e.n, Survival: s}
	if s <= 0 {
		st.Survival = 0
		return st
	}
	w := normal975 * math.Sqrt(v)
	st.SE, st.Lower, st.Upper = s*math.Sqrt(v), s*math.Exp(-w), math.Min(1, s*math.Exp(w))
	return st
}

// tick is n pieces at an age.
type tick struct{ at, n float64 }

func timelines(obs []Observation) (entries, exits, ends []tick) {
	for _, o := range obs {
		at, ended := o.Exit, o.Kind == Exact
		if o.Kind == Interval && !math.IsInf(o.Upper, 1) {
			at, ended = (o.Exit+o.Upper)/2, true
		}
		entries, exits = append(entries, tick{o.Entry, o.Count}), append(exits, tick{at, o.Count})
		if ended {
			ends = append(ends, tick{at, o.Count})
		}
	}
	return merged(entries), merged(exits), merged(ends)
}

func merged(t []tick) []tick {
	slices.SortFunc(t, func(a, b tick) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	out := t[:0]
	for _, x := range t {
		if n := len(out); n > 0 && out[n-1].at == x.at {
			out[n-1].n += x.n
			continue
		}
		out = append(out, x)
	}
	return out
}
