package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// How many come on one day: geometric groups, all ways of parting people into them gone through.
func TestPeopleOfADayComeInGroups(t *testing.T) {
	for _, c := range []struct{ expected, stop float64 }{{0.3, 0.4}, {1.2, 0.7}, {0.05, 0.2}} {
		for k := 1; k < 7; k++ {
			sum, times := 0.0, 0.0
			for groups := 1; groups <= k; groups++ {
				ways := math.Exp(lnChoose(k-1, groups-1)) * math.Pow(c.stop, float64(groups)) * math.Pow(1-c.stop,
					float64(k-groups))
				chance := math.Pow(c.expected, float64(groups)) / math.Gamma(float64(groups)+1) * ways
				sum, times = sum+chance, times+float64(groups)*chance
			}
			logP, groups := onOneDay(k, c.expected, c.stop)
			require.InDelta(t, math.Log(sum), logP, 1e-9)
			require.InDelta(t, times/sum, groups, 1e-9)
		}
	}
	logP, groups := onOneDay(4, 0.3, 1)
	require.InDelta(t, 4*math.Log(0.3)-math.Log(24), logP, 1e-12, "each by themselves")
	require.InDelta(t, 4, groups, 0)
	require.InDelta(t, distuv.Gamma{Alpha: 3, Beta: 5}.LogProb(0.7), logDensity(wear.Gamma{Count: 3, Exposure: 5}, 0.7),
		1e-9)
	for _, m := range []float64{1, 2.5, 6} { // E[k²] / E[k] of the geometric distribution
		first, second := 0.0, 0.0
		for k := 1; k < 400; k++ {
			p := math.Pow(1-1/m, float64(k-1)) / m
			first, second = first+p*float64(k), second+p*float64(k*k)
		}
		require.InDelta(t, second/first, spread(m), 1e-9)
	}
}

func lnChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// The evidence of single comers is a Poisson number with a Gamma rate, integrated out in closed form;
// what is learnt adds people and time.
func TestTheEvidenceOfSingleComers(t *testing.T) {
	prior := wear.Gamma{Count: 2, Exposure: 4}
	f := newFlow(map[programme.Date]int{10: 1, 20: 2, 35: 1}, 100, prior, 3)
	learnt, logL := f.given(1)
	require.Equal(t, wear.Gamma{Count: 6, Exposure: 7}, learnt)
	// Days with 1, 2 and 1 people of a rate r: (r 3/100)^4 / (1! 2! 1!) e^(-3 r), averaged over r.
	lgamma := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	want := 4*math.Log(3.0/100) - math.Log(2) + 2*math.Log(4) - lgamma(2) + lgamma(6) - 6*math.Log(7)
	require.InDelta(t, want, logL, 1e-9)
	require.Equal(t, [2]int{4, 3}, [2]int{f.people, f.events})
	require.Equal(t, map[int]int{1: 2, 2: 1}, f.onDay)
}

// The first line of each week, and the day within: how much of a week lies within some days, and
// whether somebody who leaves on a known day is there in its middle.
func TestPartsOfWeeks(t *testing.T) {
	f := &forecast{scene: &scene{in: &Input{AsOf: 1000}}, stays: map[bool][]float64{false: {0.9, 0.8, 0.7}}}
	for _, c := range []struct {
		days, week int
		want       float64
	}{{7, 0, 1}, {7, 1, 0}, {10, 1, 3.0 / 7}, {0, 0, 0}, {21, 2, 1}, {20, 2, 6.0 / 7}} {
		require.InDelta(t, c.want, f.part(c.days, c.week), 1e-12)
	}
	h := &holder{lastDay: 1010}
	for week, want := range []float64{1, 3.0 / 7, 0} {
		require.InDelta(t, want, f.there(h, week), 1e-12)
		require.InDelta(t, f.stays[false][week], f.there(&holder{}, week), 0)
	}

	// The rest of a kit follows in ten days: until then two pieces do the work of three.
	early := &holder{restOn: 1010, few: 1.5}
	require.InDelta(t, 1.5, early.fewer(1000, 10), 1e-12)
	require.InDelta(t, 1.5, early.fewer(1000, 4), 1e-12)
	require.InDelta(t, 1.25, early.fewer(1000, 20), 1e-12)
	require.InDelta(t, 1, early.fewer(1010, 20), 0)
	require.InDelta(t, 1, (&holder{few: 1.5}).fewer(1000, 20), 0)
}

// Of splits of a kit the cheapest, where it saves a fiftieth of all at once; what is left of a piece.
func TestTheCheapestSplitMustBeWorthIt(t *testing.T) {
	at := func(weeks int, cost float64) Split { return Split{Weeks: weeks, cost: cost} }
	whole := at(0, 1000)
	for name, c := range map[string]struct {
		splits []Split
		want   int
	}{
		"none":                {[]Split{whole}, 0},
		"hardly worth it":     {[]Split{whole, at(4, 980)}, 0},
		"worth it":            {[]Split{whole, at(4, 979.9)}, 4},
		"the cheaper of both": {[]Split{whole, at(4, 970), at(6, 960), at(8, 965)}, 6},
		"the first of equals": {[]Split{whole, at(4, 960), at(6, 960)}, 4},
	} {
		require.Equal(t, c.want, Cheapest(c.splits).Weeks, name)
	}
	s := &Splitting{In: oneTee(t, func(_ *programme.Garment, c *programme.Client) {
		c.Roles[0].Kit[0].Each, c.Roles[0].Kit[0].WearsAWeek = 5, 5
	})}
	s.Role = &s.In.Client.Roles[0]
	require.Equal(t, 3, s.Least(0), "five washes a week, two wash days")
	s.Role.Kit[0].Each = 2
	require.Equal(t, 2, s.Least(0))
	require.InDelta(t, 0.75, s.leftOf(10, 40), 1e-12)
	require.Zero(t, s.leftOf(50, 40))
	require.InDelta(t, s.stays(20), s.back(20, 20), 0)
	require.Zero(t, s.back(5, 20))
	s.In.Client.ReissueLifeLeft = 0.5
	require.InDelta(t, 0.35*(s.stays(4)-s.stays(5)), s.back(5, 20), 1e-12)
	require.Equal(t, SplitHorizon, s.horizon())
	s.Horizon = 30
	require.Equal(t, 30, s.horizon())
	s.Price, s.Horizon = []programme.Money{2000}, 6
	require.Len(t, s.Best(), 2, "no rest follows at the horizon")

	p := newExact(s.In.Learnt[s.In.Book.Classes()[0].Class])
	require.Zero(t, p.lasts(25, 3, 25), "the label allows no more")
	require.Positive(t, p.lasts(24.9, 3, 25))
	require.InDelta(t, p.lasts(24.9, 3, 25), p.lasts(24.9, 3, 0), 0)
	require.Greater(t, p.lasts(10, 3, 0), p.lasts(20, 3, 0))
}

// A label's limit is a jump of the chance to have ended: renewals of a piece of 3.5 weeks until the
// limit, and of what follows, drawn one by one.
func TestALabelsLimitRenewsOnItsDay(t *testing.T) {
	life := []Lifetime{{Weight: 1, Wash: []wear.Weibull{{Shape: 2, Scale: 40}}, Number: []float64{1}, Mishap: 0.02}}
	rot := Rotation{Pace: 4, Limit: 20}
	r := NewRenewals(life, rot, 16)
	rng := rand.New(rand.NewPCG(7, 3))
	const n = 40000
	for _, c := range []struct{ age, weeks float64 }{{6, 3}, {6, 4}, {6, 9}, {0, 14}, {19.9, 6}} {
		counts := make([]float64, 12)
		for range n {
			age, left, ended := c.age, c.weeks, 0
			for {
				hazard := rng.ExpFloat64() // until this much has run up the piece lasts
				at := func(w float64) float64 {
					x := age + rot.Pace*w
					return (x*x-age*age)/1600 + 0.02*w
				}
				lo, hi := 0.0, 60.0
				for range 40 {
					if mid := (lo + hi) / 2; at(mid) < hazard {
						lo = mid
					} else {
						hi = mid
					}
				}
				lasts := min(lo, (rot.Limit-age)/rot.Pace)
				if lasts > left {
					break
				}
				left, ended, age = left-lasts, ended+1, 0
			}
			for k := range min(ended, len(counts)-1) + 1 {
				counts[k]++
			}
		}
		tails := r.Tails(c.age, c.weeks)
		for k, p := range tails {
			if k < len(counts) {
				require.InDelta(t, p, counts[k]/n, 4.5*math.Sqrt(p*(1-p)/n)+2e-3, "age %g, %g weeks, %d endings",
					c.age, c.weeks, k)
			}
		}
	}
	require.Equal(t, []quadrature.Node{{At: 3, Weight: 1}}, until(3).moments)
}
