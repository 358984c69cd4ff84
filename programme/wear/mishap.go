package wear

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// mishapsGiven learns the rate per piece and year, unexplained endings by their shares; says is what silences returns.
func (k *Learnt) mishapsGiven(risks []risk, says []silent) Gamma {
	var events, days float64
	for i := range k.lives {
		l := &k.lives[i]
		days += l.count * l.days
		switch {
		case l.silent():
			says := says[i]
			days -= l.count * ((1-says.then)*(l.unseenDays-l.lateDays) + (1-says.now)*l.lateDays)
		case l.endedBy(programme.CauseMishap):
			events += l.count
		case l.unexplained() && l.to <= 0:
			events += l.count // never washed, so nothing else can have ended it
		case l.unexplained() && l.to > l.from && l.pace > 0:
			share, lived := k.inside(l, risks)
			events += l.count * share
			days += l.count * lived
		case l.unexplained():
			mishap := k.Mishap.Mean() / daysPerYear / max(l.pace, 1e-9)
			events += l.count * mishap / max(k.others(l, -1, risks), mishap)
		}
	}
	return k.Terms.Mishap.Learn(events, days/daysPerYear)
}

// inside looks into an interval in which a piece ended unseen: the chance that
// a mishap ended it, and the days it is expected to have lived in there.
// With S the survival since from, both follow from the integral of S.
func (k *Learnt) inside(l *life, risks []risk) (share, days float64) {
	rate, gap := k.Mishap.Mean()/daysPerYear, (l.to-l.from)/l.pace
	var room [4]risk
	all, before := append(room[:0], risks...), make([]float64, len(risks)) // what is the same in all cells
	for j := range all {
		all[j] = all[j].blurred(l.blur)
		before[j] = all[j].Hazard(l.from)
	}
	const cells = 8 // Simpson's rule
	integral, last := 0.0, 0.0
	for i := 0; i <= cells; i++ {
		t := float64(i) / cells
		h := rate * gap * t
		for j, w := range all {
			h += w.number * (w.Hazard(l.from+t*(l.to-l.from)) - before[j])
		}
		last = math.Exp(-h)
		integral += last * float64([2]int{2, 4}[i%2])
	}
	integral = (integral - 1 - last) * gap / (3 * cells)
	ended := 1 - last
	if ended <= 0 {
		return 0, gap / 2
	}
	return min(1, rate*integral/ended), max(0, (integral-gap*last)/ended)
}
