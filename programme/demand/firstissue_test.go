package demand_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// starterOf is a role with two lines whose pieces end by mishap and by wear, for
// starters of whom many leave early.
func starterOf(t *testing.T, early float64) *demand.Splitting {
	t.Helper()
	in := lasting(t, 1, 3, 3, wear.Certain(1.5), wear.Certain(0.4))
	in.Staffing.LeavingEarly = wear.Certain(early)
	for _, k := range in.Learnt { // cloth of shape 2 that lasts some 20 washes
		k.Cloth = wear.Posterior{Unit: 20, Nodes: []wear.ShapeNode{{Shape: 2, Weight: 1, Rate: wear.Certain(1)}}}
	}
	in.Client.Roles[0].Kit[0].WearsAWeek = 3
	return &demand.Splitting{In: in, Role: &in.Client.Roles[0], Price: []programme.Money{2000}, Handling: 300}
}

// path walks every course that a starter's few pieces can take, week by week: which
// of them end (each either does or does not), and whether the person is still there.
// It returns the expected pieces handed out and what is left of them in the end. What
// follows does not depend on how the pieces came to their ages, so it is worked out once.
type path struct {
	each, first, weeks, horizon int
	perWeek, mishap             float64 // washes a week of all pieces; endings a week
	stays                       func(week int) float64
	life                        float64
	known                       map[course][2]float64
}

// course is where pieces, three at most, have come to: their washes, -1 for those not handed out.
type course struct {
	week int
	ages [3]float64
}

func (p *path) walk(week int, ages []float64) (pieces, worth float64) {
	at := course{week, [3]float64{-1, -1, -1}}
	copy(at.ages[:], ages)
	if got, ok := p.known[at]; ok {
		return got[0], got[1]
	}
	rest := 0
	if week == p.weeks && p.first < p.each {
		rest = p.each - p.first
	}
	for range rest {
		ages = append(ages, 0)
	}
	pace := p.perWeek / float64(p.each)
	if week < p.weeks {
		pace = p.perWeek / float64(p.first)
	}
	there := p.stays(week+1) / p.stays(week)
	for ending := range 1 << len(ages) {
		chance, next := 1.0, []float64{}
		ended := 0
		for i, a := range ages {
			lasts := math.Exp(-((a+pace)*(a+pace)-a*a)/400 - p.mishap)
			if ending>>i&1 == 1 {
				chance, ended, next = chance*(1-lasts), ended+1, append(next, 0)
			} else {
				chance, next = chance*lasts, append(next, a+pace)
			}
		}
		more, left := 0.0, 0.0
		if week+1 < p.horizon {
			more, left = p.walk(week+1, next)
			more += float64(ended)
		} else {
			for _, a := range next {
				if a > 0 { // what ends in the last week is not replaced any more
					left += max(0, 1-a/p.life)
				}
			}
		}
		pieces += chance * there * more
		worth += chance * there * left
	}
	pieces += float64(rest)
	p.known[at] = [2]float64{pieces, worth}
	return pieces, worth
}

// Every split of small kits, reckoned by walking all courses that the pieces and the
// person can take: the same cost, and so the same best split.
func TestTheBestSplitIsThatOfEnumeration(t *testing.T) {
	const horizon = 7
	for _, early := range []float64{0.2, 3, 9} {
		s := starterOf(t, early)
		s.Horizon = horizon
		learnt := s.In.Learnt[s.In.Book.Classes()[0].Class]
		best, bestFirst, bestWeeks := math.Inf(1), 0, 0
		for _, weeks := range []int{0, 4, 6} {
			for first := 1; first <= 3; first++ {
				if weeks == 0 && first < 3 {
					continue
				}
				p := &path{each: 3, first: first, weeks: weeks, horizon: horizon, perWeek: 3,
					mishap: 1.5 * 7 / 365.2425, life: learnt.MedianLife(1), known: map[course][2]float64{}}
				p.stays = func(w int) float64 { return s.In.Staffing.Stays(asOf, asOf, asOf.Add(7*w)) }
				pieces, worth := p.walk(0, make([]float64, first))
				pieces += float64(first)
				got := s.Of(weeks, []int{first})
				require.InEpsilon(t, pieces, got.Pieces, 1e-4, "%d first, the rest after %d weeks", first, weeks)
				want := 2000 * (pieces - worth)
				if first < 3 {
					want += 300 * p.stays(weeks)
				}
				require.InDelta(t, want, float64(got.Cost), 1)
				if first >= s.Least(0) && want < best {
					best, bestFirst, bestWeeks = want, first, weeks
				}
			}
		}
		splits := s.Best()
		require.Len(t, splits, 3)
		found := splits[0]
		for _, x := range splits {
			if x.Cost < found.Cost {
				found = x
			}
		}
		require.Equal(t, []int{bestFirst}, found.First, "%g leavers a year", early)
		require.Equal(t, bestWeeks, found.Weeks)
	}
}

// Where nobody leaves early, a second handing out only costs; where many do, it pays.
func TestASplitPaysWhereManyLeaveEarly(t *testing.T) {
	s := starterOf(t, 0.01)
	s.In.Staffing.Leaving = wear.Certain(0.01)
	for _, k := range s.In.Learnt { // fewer pieces in hand are fewer to lose, which may pay by itself
		k.Mishap = wear.Certain(1e-9)
	}
	require.Zero(t, demand.Cheapest(s.Best()).Weeks)
	s = starterOf(t, 3)
	best := demand.Cheapest(s.Best())
	require.Positive(t, best.Weeks)
	require.Equal(t, []int{2}, best.First, "three wears a week and two washes")
	s.Handling = 1_000_000
	require.Zero(t, demand.Cheapest(s.Best()).Weeks, "nobody hands out twice at that price")
}

// More early leavers never make a late rest dearer against giving all at once.
func TestTheMoreLeaveEarlyTheMoreASplitSaves(t *testing.T) {
	before := math.Inf(-1)
	for _, early := range []float64{0, 0.5, 1, 2, 4, 8} {
		s := starterOf(t, early+1e-9)
		s.Handling = 0
		saving := float64(s.Of(0, []int{3}).Cost - s.Of(10, []int{2}).Cost)
		require.GreaterOrEqual(t, saving, before-1)
		before = saving
	}
}
