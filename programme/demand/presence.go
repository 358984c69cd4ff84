package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// presence turns weeks after AsOf into weeks in which somebody is there: while
// they are away nothing is worn, lost or needed, so time stands still for their
// pieces. Nil is somebody who is always there.
type presence struct{ away []absent }

// absent is from and to weeks after AsOf; to is +Inf where no return is known.
type absent struct{ from, to float64 }

// presenceOf is nil for somebody who is not away after asOf.
func presenceOf(a wear.Absence, asOf programme.Date) *presence {
	var p presence
	for _, s := range a {
		x := absent{max(0, float64(s.From-1-asOf)/7), math.Inf(1)}
		if !s.Until.IsZero() {
			x.to = float64(s.Until-asOf) / 7
		}
		if s.Away() && x.to > x.from {
			p.away = append(p.away, x)
		}
	}
	if len(p.away) == 0 {
		return nil
	}
	return &p
}

// there returns the weeks of the first t in which the person is there.
func (p *presence) there(t float64) float64 {
	if p == nil {
		return t
	}
	out := t
	for _, x := range p.away {
		out -= max(0, min(t, x.to)-x.from)
	}
	return max(0, out)
}

// when returns after how many weeks the person will have been there for so many;
// +Inf when that is not to be expected.
func (p *presence) when(there float64) float64 {
	if p == nil {
		return there
	}
	t := there
	for _, x := range p.away {
		if t > x.from {
			t += x.to - x.from
		}
	}
	return t
}

// first returns the week (0 = the first) in which the person is there first.
func (p *presence) first() int {
	if p == nil {
		return 0
	}
	t := 0.0
	for _, x := range p.away {
		if x.from > t {
			break
		}
		t = x.to
	}
	return int(min(t, 1e6))
}

// of returns retention with its moments in weeks of being there.
func (p *presence) of(s retention) retention {
	if p == nil {
		return s
	}
	out := retention{}
	for _, m := range s.moments {
		m.At = p.there(m.At)
		out.moments = append(out.moments, m)
	}
	return out
}

// renewedWhile returns by how many renewals a piece is followed, by cause, in each
// week after the one in which it came to somebody who is away for some time;
// again is the same for somebody who is always there.
func (at *presence) renewedWhile(again []byCause, from int) []byCause {
	out := make([]byCause, len(again)-from)
	start, last := at.there(float64(from)), byCause{}
	for w := range out {
		now := upTo(again, at.there(float64(from+w)+1)-start)
		for c := range now {
			out[w][c] = now[c] - last[c]
		}
		last = now
	}
	return out
}

// upTo adds weekly numbers up to a time in weeks.
func upTo(weekly []byCause, weeks float64) (sum byCause) {
	for w := range weekly {
		part := min(1, weeks-float64(w))
		if part <= 0 {
			break
		}
		for c, x := range weekly[w] {
			sum[c] += part * x
		}
	}
	return sum
}
