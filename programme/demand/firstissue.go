package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Split is a way of giving the kit of one role to a starter: so many pieces of each
// line on the first day, in the order of the kit, and the rest after Weeks weeks to
// who is still there. Weeks is 0 where all are given at once.
type Split struct {
	Weeks int   `json:"weeks"`
	First []int `json:"first"`
	// Cost is the mean cost of a starter within the horizon: the pieces handed out, replacements among them, less
	// the worth of what is left at the end or comes back fit to go out again, and the second handing out.
	Cost programme.Money `json:"cost"`
	// Pieces is the mean number of pieces handed out.
	Pieces float64 `json:"pieces"`
	cost   float64
}

// SplitHorizon is the time in weeks over which the cost of a starter is counted.
const SplitHorizon = 104

// splitWeeks are the weeks after which the rest of a kit may follow.
var splitWeeks = []int{4, 6, 8, 10, 13, 17, 26}

// Splitting holds the question which split of a role's kit costs least.
type Splitting struct {
	In   *Input
	Role *programme.Role
	// Price is the cost of a piece of each line of the kit; Handling is the cost of handing out the rest: fetching,
	// bagging and bringing it.
	Price    []programme.Money
	Handling programme.Money
	Horizon  int // weeks; 0 = SplitHorizon
}

// Best returns the split of least cost for each of the weeks after which the rest
// may follow, the one where all are given at once first. The lines do not depend on
// each other but for the second handing out, which is one for all: so the best first
// part is found line by line. A line keeps at least Least pieces on the first day.
func (s *Splitting) Best() []Split {
	whole := s.Of(0, s.each())
	out := []Split{whole}
	for _, weeks := range splitWeeks {
		if weeks >= s.horizon() {
			break
		}
		first := s.each()
		for i := range s.Role.Kit {
			best := math.Inf(1)
			for n := s.Role.Kit[i].Each; n >= s.Least(i); n-- {
				if c, _ := s.line(i, n, weeks); c < best-1e-9 {
					best, first[i] = c, n
				}
			}
		}
		out = append(out, s.Of(weeks, first))
	}
	return out
}

// WorthSplitting is the least share of a starter's cost that a split must save: below
// it nobody should have the trouble of giving a kit in two parts.
const WorthSplitting = 0.02

// Cheapest returns the split of least cost of those that Best returns, or the one
// where all are given at once where the others save too little.
func Cheapest(splits []Split) Split {
	best := splits[0]
	for _, x := range splits[1:] {
		if x.cost < best.cost && x.cost < (1-WorthSplitting)*splits[0].cost {
			best = x
		}
	}
	return best
}

func (s *Splitting) each() []int {
	out := make([]int, len(s.Role.Kit))
	for i := range s.Role.Kit {
		out[i] = s.Role.Kit[i].Each
	}
	return out
}

func (s *Splitting) horizon() int {
	if s.Horizon > 0 {
		return s.Horizon
	}
	return SplitHorizon
}

// Least is the fewest pieces of line i with which somebody gets by who washes twice a
// week (common practice, no source).
func (s *Splitting) Least(i int) int {
	l := &s.Role.Kit[i]
	use, ok := s.In.Book.Use(s.Role.Code, l.Garment, l.Colour)
	if !ok {
		return l.Each
	}
	return min(l.Each, max(1, int(math.Ceil(use.PerWeek/2-1e-9))))
}

// Of returns one split with its cost. Where all pieces are given at once, there is no second handing out.
func (s *Splitting) Of(weeks int, first []int) Split {
	out := Split{Weeks: weeks, First: first}
	split := false
	for i := range s.Role.Kit {
		cost, pieces := s.line(i, first[i], weeks)
		out.cost, out.Pieces = out.cost+cost, out.Pieces+pieces
		split = split || first[i] < s.Role.Kit[i].Each
	}
	if split {
		out.cost += float64(s.Handling) * s.stays(weeks)
	} else {
		out.Weeks = 0
	}
	out.Cost = programme.Money(math.Round(out.cost))
	return out
}

func (s *Splitting) stays(weeks int) float64 {
	return s.In.Staffing.Stays(s.In.AsOf, s.In.AsOf, s.In.AsOf.Add(7*weeks))
}

// line reckons one line of the kit week by week. Issues come at the beginning of a
// week. Of the pieces issued in week i a share ends in each later one, by its washes
// (PerWeek shared by the pieces of the kit that are there) and by mishap, and is
// replaced at the end of it, where the person is still there.
func (s *Splitting) line(i, first, weeks int) (cost, pieces float64) {
	l := &s.Role.Kit[i]
	use, ok := s.In.Book.Use(s.Role.Code, l.Garment, l.Colour)
	if !ok {
		return 0, 0
	}
	n := s.horizon()
	p := newExact(s.In.Learnt[use.Class.Class])
	washes := make([]float64, n+1) // of a piece that is there from the beginning, by the beginning of each week
	for w := range n {
		held := l.Each
		if w < weeks {
			held = first
		}
		washes[w+1] = washes[w] + max(use.Pace(held), 1e-6)
	}
	life := s.In.Learnt[use.Class.Class].MedianLife(max(use.Pace(l.Each), 1e-6))
	issued := make([]float64, n+1)
	issued[0] = float64(first)
	issued[weeks] += float64(l.Each - first)
	worth := 0.0
	for from := range n {
		pieces += issued[from] * s.stays(from)
		alive := issued[from]
		for to := from + 1; to <= n && alive > 1e-12; to++ {
			age := washes[to] - washes[from]
			left := issued[from] * p.lasts(age, float64(to-from), use.Limit)
			issued[to] += alive - left
			alive = left
			worth += alive * s.leftOf(age, life) * s.back(to, n)
		}
	}
	return float64(s.Price[i]) * (pieces - worth), pieces
}

// lasts is the chance that a new piece lasts some washes and weeks.
func (p *predictor) lasts(washes, weeks, limit float64) float64 {
	if limit > 0 && washes >= limit {
		return 0
	}
	h := p.cumulative(0, Rotation{Pace: washes / weeks}, weeks)
	return math.Exp(-h.sum())
}

// leftOf returns the worth of a piece as a share of a new one.
func (s *Splitting) leftOf(washes, life float64) float64 { return max(0, 1-washes/life) }

// cameBackFit is the share of leavers' pieces that come back and go out again where
// the programme lets them: 20 to 50 % do (common practice, no source).
const cameBackFit = 0.35

// back is the chance with which what is left of a piece after so many weeks counts:
// all of it at the horizon for who is still there; of a leaver's, where returned
// pieces go out again, what comes back fit.
func (s *Splitting) back(weeks, horizon int) float64 {
	if weeks == horizon {
		return s.stays(weeks)
	}
	if s.In.Client.ReissueLifeLeft <= 0 {
		return 0
	}
	return cameBackFit * (s.stays(weeks-1) - s.stays(weeks))
}
