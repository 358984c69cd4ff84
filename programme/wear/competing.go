package wear

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
)

// risk is a cause of ending at its present estimate, number of its Weibull lives running at once: one of the competing
// risks.
type risk struct {
	Weibull
	number float64
}

// blurred returns the risk on average over ages that are not known; see Observation.Blur.
func (w risk) blurred(blur float64) risk {
	if blur > 0 {
		w.number *= exponent.Of(blur * w.Shape * w.Shape)
	}
	return w
}

func (w risk) cumulative(from, to float64) float64 {
	return w.number * (w.Hazard(to) - w.Hazard(from))
}

func (w risk) rate(x float64) float64 { return w.number * w.Shape * w.Hazard(x) / x }

// risks returns the causes as learnt: cloth first, then the prints.
func (k *Learnt) risks() []risk {
	out := []risk{{k.Cloth.Typical(), 1}}
	for j, p := range k.Prints {
		out = append(out, risk{p.Typical(), float64(k.Terms.Prints[j].Number)})
	}
	return out
}

// others returns the competing hazard besides cause c (0 cloth, 1.. prints) for an unexplained ending: cumulative
// over an interval, per wash at a known age. With c = -1 it returns the hazard of all causes.
func (k *Learnt) others(l *life, c int, risks []risk) float64 {
	sum, mishap := 0.0, 0.0
	if l.pace > 0 {
		mishap = k.Mishap.Mean() / daysPerYear / l.pace
	}
	interval := l.to > l.from
	for j, w := range risks {
		if j == c {
			continue
		}
		if w = w.blurred(l.blur); interval {
			sum += w.cumulative(l.from, l.to)
		} else {
			sum += w.rate(l.to)
		}
	}
	if interval {
		return sum + mishap*(l.to-l.from)
	}
	return sum + mishap
}

// silent is [silence] of a piece in service since it was seen.
func (k *Learnt) silent(l *life, risks []risk) (then, now float64) {
	mishap := k.Mishap.Mean() / daysPerYear
	before, since, until := mishap*(l.unseenDays-l.lateDays), mishap*l.lateDays, l.to
	if l.late > 0 {
		until = l.lateFrom
	}
	for _, w := range risks {
		w = w.blurred(l.blur)
		before += w.cumulative(l.from, until)
		if l.late > 0 {
			since += w.cumulative(until, l.to)
		}
	}
	return silence(before, since, l.hidden, l.late)
}

// silence returns how much it says of a piece that its ending is not on the books,
// from 0, nothing, to 1, as if it had been seen today: until late entries begin, and
// from then on. Before and since are its cumulative hazards of these times. With A and
// B its survival until then and until today, p the share of endings that nobody writes
// down and q that of those not on the books since, the chance of the silence is
// L = p (1 - A) + q (A - B) + B. The slopes of its logarithm by the two hazards are
// -((q - p) A + (1 - q) B) / L and -(1 - q) B / L; with these as weights, at the present
// estimate, such a piece is evidence as seen until then and until today, and with the
// rest as seen at its last sign of life.
func silence(before, since, hidden, late float64) (then, now float64) {
	b := exponent.Of(-before - since)
	if late <= 0 {
		then = (1 - hidden) * b / (hidden + (1-hidden)*b)
		return then, then
	}
	a := exponent.Of(-before)
	p, q := hidden, hidden+(1-hidden)*late
	all := p*(1-a) + q*(a-b) + b
	return ((q-p)*a + (1-q)*b) / all, (1 - q) * b / all
}

// Gone returns the chance that a piece has ended although no ending of it is written
// down, hazard the cumulative hazard since its last sign of life and hidden the
// share of endings that nobody writes down.
func Gone(hazard, hidden float64) float64 {
	ended := -exponent.Expm1(-hazard)
	if ended <= 0 || hidden <= 0 {
		return 0
	}
	return hidden * ended / (1 - ended + hidden*ended)
}

// silent is what silence says of a piece until late entries begin, and from then on; see [silence].
type silent struct{ then, now float64 }

// silences puts what silence says of each life into room: all causes ask for it.
func (k *Learnt) silences(room []silent, risks []risk) []silent {
	room = slices.Grow(room[:0], len(k.lives))
	for i := range k.lives {
		var says silent
		if l := &k.lives[i]; l.silent() {
			says.then, says.now = k.silent(l, risks)
		}
		room = append(room, says)
	}
	return room
}

// observationsGiven appends the evidence as cause c sees it, says being what silences returns. Of several prints of a
// kind, each is a life of its own, and any of them may be the one that ended.
func (k *Learnt) observationsGiven(out []Observation, c int, risks []risk, says []silent) []Observation {
	number := risks[c].number
	out = slices.Grow(out, len(k.lives))
	for i := range k.lives {
		l := &k.lives[i]
		o := Observation{Kind: Right, Entry: l.entry, Exit: l.from, Count: l.count, Lives: number, Blur: l.blur}
		if l.silent() {
			says := says[i]
			if says.then < 1 {
				o.Count = (1 - says.then) * l.count
				out = append(out, o)
			}
			if says.then > says.now {
				o.Exit, o.Count = l.lateFrom, (says.then-says.now)*l.count
				out = append(out, o)
			}
			o.Exit, o.Count = l.to, says.now*l.count
		}
		mine := l.endedBy(causeOf(c))
		shared := l.unexplained()
		if !mine && !shared || l.to <= 0 {
			out = append(out, o)
			continue
		}
		o.Kind = Exact
		if l.to > l.from {
			o.Kind, o.Upper = Interval, l.to
		}
		switch {
		case shared:
			o.Other = k.others(l, c, risks)
		case c > 0 && len(risks) > 2:
			o.Other = k.otherPrints(l, c, risks)
		}
		out = append(out, o)
	}
	return out
}

// causeOf returns the cause that life c of a piece stands for: cloth first, then the prints.
func causeOf(c int) programme.Cause {
	if c == 0 {
		return programme.CauseWorn
	}
	return programme.CausePrint
}

// otherPrints returns the hazard of prints of other kinds when a print, not known which, ended it.
func (k *Learnt) otherPrints(l *life, c int, risks []risk) float64 {
	sum := 0.0
	for j := 1; j < len(risks); j++ {
		if j != c {
			sum += risks[j].blurred(l.blur).rate(l.to)
		}
	}
	return sum
}
