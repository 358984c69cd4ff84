package wear

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
)

const (
	// seasonDays is the least length of records in days from which months can be told from a change that stays: a
	// year and a half.
	seasonDays = 548
	// seasonSpread is the standard deviation of each wave of the logarithm of wear by month, as believed before
	// records speak (common practice, no source).
	seasonSpread = 0.15
	// seasonWeight is the least gain in the logarithm of the likelihood from which on a season is believed.
	seasonWeight = 4
	// seasonHidden is the share of endings found by counts alone from which on records
	// do not say in which months pieces end.
	seasonHidden = 0.15
	// seasonPieces is from how many pieces every other, every third ... is looked at.
	seasonPieces = 4000
)

// LearnSeason returns how hard each month wears where the records show it: what the
// programme states times one wave a year, whose height and month of most wear are the most
// probable given when pieces ended and were to be expected to, drawn towards none. It is
// not ok where records are too short or show no season.
func (b *Book) LearnSeason(h *History, learnt map[Class]*Learnt, asOf programme.Date) (months [12]float64, ok bool) {
	start := b.client.RecordsStart
	if b.client.Known || start.IsZero() || asOf.Sub(start) < seasonDays || h.Hidden >= seasonHidden {
		return months, false
	}
	tally := b.byMonth(h, learnt, asOf.Add(-h.Late.Days))
	wave, gain := tally.wave()
	if gain < seasonWeight {
		return months, false
	}
	for m := range months {
		months[m] = 1
		if b.season != nil {
			months[m] = b.season[m]
		}
		months[m] *= math.Exp(wave.at(m))
	}
	return months, true
}

// monthly is endings by wear in each month of the year, and how many were to be expected.
type monthly [12]wornTally

func (b *Book) byMonth(h *History, learnt map[Class]*Learnt, until programme.Date) *monthly {
	var out monthly
	believed, uses := b.believed(learnt), b.usesIn(h)
	all := [][]programme.Piece{h.InService, h.parts, h.Ended}
	step := (len(h.InService)+len(h.parts)+len(h.Ended))/seasonPieces + 1
	for _, pieces := range all {
		for i := 0; i < len(pieces); i += step {
			p := h.aged(&pieces[i])
			use, ok := uses.of(p)
			if !ok || use.PerWeek <= 0 || p.Alike || p.Assumed || p.Replaced {
				continue
			}
			out.add(b, p, use, believed[use.Class], h, until)
		}
	}
	return &out
}

// add spreads what was expected of a piece over the months in which it was washed.
func (t *monthly) add(b *Book, p *programme.Piece, use *Use, bel *belief, h *History, until programme.Date) {
	part := p.Share()
	since, end := max(p.Issued, b.client.RecordsStart, p.Since), until
	last := until
	if !p.Ended.IsZero() {
		last = p.Ended
		end = min(end, p.Ended)
		if ends, _ := bel.worn(p, h); p.Ended <= until && p.ToWashes <= p.FromWashes {
			t[p.Ended.Time().Month()-1].ended += part * ends
		}
	}
	days := use.Wearing(b, nil, since, last)
	if end <= since || days <= 0 {
		return
	}
	pace, age := (p.Washes-p.EntryWashes)/days, p.EntryWashes
	for d := since; d < end; {
		day := (d + 1).Time()
		to := min(end, programme.NewDate(day.Year(), day.Month()+1, 0))
		then := age + pace*use.Wearing(b, nil, d, to)
		t[day.Month()-1].expected += part * bel.wearing(age, then)
		d, age = to, then
	}
}

// wave is a logarithm of wear that goes up and down once a year.
type wave struct{ cos, sin float64 }

func (w wave) at(month int) float64 {
	angle := 2 * math.Pi * (float64(month) + 0.5) / 12
	return w.cos*math.Cos(angle) + w.sin*math.Sin(angle)
}

// wave returns the most probable wave and by how much it explains the endings better
// than none; the level of all months is free (Newton's method, the function is concave).
func (t *monthly) wave() (w wave, gain float64) {
	for range 30 {
		v := t.slopes(w)
		det := v.cc*v.ss - v.cs*v.cs
		step := wave{(v.ss*v.c - v.cs*v.s) / det, (v.cc*v.s - v.cs*v.c) / det}
		w.cos, w.sin = w.cos+step.cos, w.sin+step.sin
		if math.Abs(step.cos)+math.Abs(step.sin) < 1e-9 {
			break
		}
	}
	return w, t.slopes(w).value - t.slopes(wave{}).value
}

// slopes is the log posterior of a wave with its slopes, and minus its second ones.
type slopes struct{ value, c, s, cc, cs, ss float64 }

func (t *monthly) slopes(w wave) (v slopes) {
	const belief = 1 / (seasonSpread * seasonSpread)
	var ended, all, c, s, cc, cs, ss float64
	for m, x := range t {
		angle := 2 * math.Pi * (float64(m) + 0.5) / 12
		a, b, f := math.Cos(angle), math.Sin(angle), x.expected*exponent.Of(w.at(m))
		ended, all = ended+x.ended, all+f
		v.value += x.ended * w.at(m)
		v.c, v.s = v.c+x.ended*a, v.s+x.ended*b
		c, s, cc, cs, ss = c+f*a, s+f*b, cc+f*a*a, cs+f*a*b, ss+f*b*b
	}
	if all > 0 {
		c, s = c/all, s/all
		v.value -= ended * exponent.Log(all)
		v.cc, v.cs, v.ss = ended*(cc/all-c*c), ended*(cs/all-c*s), ended*(ss/all-s*s)
	}
	v.value -= belief * (w.cos*w.cos + w.sin*w.sin) / 2
	v.c, v.s = v.c-ended*c-belief*w.cos, v.s-ended*s-belief*w.sin
	v.cc, v.ss = v.cc+belief, v.ss+belief
	return v
}
