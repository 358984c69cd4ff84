package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// band is the need of a client expected by the end of each week, all
// garments together: index 0 is today.
type band struct{ mean, low, high []float64 }

// bandOf derives the weeks of a muster from its total: mean by week, and the
// numbers below which 1 and 9 of 10 chances lie.
func bandOf(m *demand.Muster) band {
	s := spreadOf(m)
	b := band{mean: []float64{0}, low: []float64{0}, high: []float64{0}}
	for w := 1; w <= m.Weeks; w++ {
		b.mean = append(b.mean, s.Mean(w))
		b.low = append(b.low, float64(s.Quantile(w, 0.1)))
		b.high = append(b.high, float64(s.Quantile(w, 0.9)))
	}
	return b
}

func spreadOf(m *demand.Muster) reorder.Spread {
	line := demand.Line{Distribution: m.Total}
	for _, w := range m.Weekly {
		line.Weekly = append(line.Weekly, w.Sum())
	}
	return reorder.NewSpread(line, m.Weeks)
}

// outlook says how sure the forecast is, in words, over the weeks of cover.
func (d *Due) outlook() string {
	if d.Ahead == nil || d.Ahead.Weeks < 1 || d.Ahead.Total.Mean <= 0 {
		return ""
	}
	spread := spreadOf(d.Ahead)
	weeks := min(d.Ahead.Weeks, max(1, (d.Proposal.CoverUntil.Sub(d.Proposal.AsOf)+6)/7))
	low, high, mean := float64(spread.Quantile(weeks, 0.1)), float64(spread.Quantile(weeks, 0.9)), spread.Mean(weeks)
	s := fmt.Sprintf("The forecast is %s: over the next %d weeks %.0f to %.0f pieces will be needed, with 8 chances in 10, and %.0f on average; that is every garment and size, also what needs no order now.",
		sureness(low, high, mean), weeks, low, high, mean)
	switch n := d.Evidence.Replaced(); {
	case n <= 0:
		return s + fmt.Sprintf(" It rests on starting figures: %s.", d.Evidence.Words())
	case n < 15:
		return s + fmt.Sprintf(" It rests mostly on starting figures: %s so far.", d.Evidence.Words())
	}
	return s + fmt.Sprintf(" It rests on %s.", d.Evidence.Words())
}

// sureness puts the width of the band, as a share of its mean, into a word.
func sureness(low, high, mean float64) string {
	switch wide := (high - low) / max(mean, 1); {
	case wide <= 0.5:
		return "firm"
	case wide <= 1:
		return "fair"
	}
	return "rough"
}
