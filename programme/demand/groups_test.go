package demand_test

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// season hires five people on each of four days a year apart, and lets them go
// together; the roster of a house that works from spring to autumn.
func season(t *testing.T) *demand.Input {
	t.Helper()
	in := lasting(t, 4, 3, 3, wear.Certain(1e-9), wear.Certain(1e-12))
	in.Client.RecordsStart = asOf - 1000
	in.Client.Intake = programme.Intake{PerYear: 6, Strength: 1}
	for y := range 4 {
		for i := range 5 {
			from := asOf.Add(-950 + 250*y)
			in.Staff = append(in.Staff, programme.Person{StaffID: "s" + strconv.Itoa(5*y+i), Role: "all", Start: from,
				End: from.Add(120)})
		}
	}
	in.Staffing = demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf)
	return in
}

func TestTheRosterTellsThatPeopleComeTogether(t *testing.T) {
	s := season(t).Staffing
	require.InDelta(t, 4, s.JoinTogether.Size(), 1)
	require.InDelta(t, 4, s.LeaveTogether.Size(), 1)
	alone := lasting(t, 0, 3, 3, wear.Certain(1e-9), wear.Certain(1e-12))
	alone.Client.RecordsStart = asOf - 1000
	for i := range 20 {
		alone.Staff = append(alone.Staff, programme.Person{StaffID: "s" + strconv.Itoa(i), Role: "all",
			Start: asOf.Add(-950 + 40*i)})
	}
	require.InDelta(t, 1, demand.LearnStaffing(alone.Shop, alone.Client, alone.Staff, asOf).JoinTogether.Size(), 1e-12)
}

// What a few days with starters tell of groups and of their rate, against Bayes' theorem
// worked out the long way: a fine grid of rates, and the chances of so many people on a
// day by Panjer's recursion. Nobody has left, which tells nothing of groups.
func TestGroupsAndRateAgreeWithTheLongWay(t *testing.T) {
	for _, came := range [][]int{{1}, {4}, {1, 1, 1}, {3, 1}, {2, 6}, {2}} {
		in := lasting(t, 0, 3, 3, wear.Certain(1e-9), wear.Certain(1e-12))
		const days, strength, perYear = 400, 2.0, 5.0
		in.Client.RecordsStart = asOf - days
		in.Client.Intake = programme.Intake{PerYear: perYear, Strength: strength}
		for i, n := range came {
			for k := range n {
				in.Staff = append(in.Staff, programme.Person{StaffID: strconv.Itoa(100*i + k), Role: "all",
					Start: asOf.Add(-300 + 50*i)})
			}
		}
		s := demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf)

		prior := distuv.Gamma{Alpha: perYear * strength, Beta: strength}
		all, size, mean, square := 0.0, 0.0, 0.0, 0.0
		for m, believed := range map[float64]float64{1: 0.8, 1.5: 0.06, 2.5: 0.05, 4: 0.04, 7: 0.03, 12: 0.02} {
			sizes := make([]float64, 60)
			for k := range sizes {
				sizes[k] = math.Pow(1-1/m, float64(k)) / m
			}
			for rate := 0.05; rate < 30; rate += 0.1 {
				daily := rate / m / 365.2425
				ofDay := demand.CompoundPoisson(daily, sizes, 60)
				w := believed * prior.Prob(rate) * math.Pow(ofDay[0], float64(days-len(came)))
				for _, n := range came {
					w *= ofDay[n]
				}
				all, size, mean, square = all+w, size+w*m, mean+w*rate, square+w*rate*rate
			}
		}
		size, mean = size/all, mean/all
		if size < 1.15 { // too few to tell from one by one
			require.InDelta(t, 1, s.JoinTogether.Size(), 1e-12)
			continue
		}
		t.Logf("%v: groups of %.3f (%.3f), %.3f starters a year (%.3f)", came, s.JoinTogether.Size(), size,
			s.Joining.Mean(), mean)
		require.InEpsilon(t, size, s.JoinTogether.Size(), 0.01, "%v", came)
		require.InEpsilon(t, mean, s.Joining.Mean(), 0.01, "%v", came)
		require.InEpsilon(t, mean*mean/(square/all-mean*mean), s.Joining.Count, 0.03, "%v", came)
	}
}

// The need for starters in groups against groups drawn one by one. What is not
// known of the rate is left out, and the mean size of groups drawn as the forecast
// believes it.
func TestNeedsOfGroupsAgreeWithSimulation(t *testing.T) {
	in := season(t)
	in.Staffing.Joining = wear.Certain(in.Staffing.Joining.Mean())
	const weeks, n = 20, 40_000
	m := in.Muster(weeks)
	rng := rand.New(rand.NewPCG(8, 8))
	expected := in.Staffing.Joining.Mean() * weeks * 7 / 365.2425
	var counts []float64
	for range n {
		sizes, at := in.Staffing.JoinTogether, rng.Float64()
		for len(sizes) > 1 && at > sizes[0].Weight {
			at, sizes = at-sizes[0].Weight, sizes[1:]
		}
		q, need := 1/sizes[0].At, 0
		for range int(distuv.Poisson{Lambda: expected * q, Src: rng}.Rand()) {
			for k := 1; ; k++ {
				need += 3
				if rng.Float64() < q {
					break
				}
			}
		}
		counts = tally(counts, need)
	}
	for i := range counts {
		counts[i] /= n
	}
	drawn := demand.Describe(counts)
	t.Logf("mean %.3f drawn %.3f, sd %.3f drawn %.3f", m.Total.Mean, drawn.Mean, m.Total.SD, drawn.SD)
	require.InEpsilon(t, drawn.Mean, m.Total.Mean, 0.02)
	require.InEpsilon(t, drawn.SD, m.Total.SD, 0.03)
}
