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
			in.Staff = append(in.Staff, programme.Person{StaffID: "s" + strconv.Itoa(5*y+i), Role: "all", Start: from, End: from.Add(120)})
		}
	}
	in.Staffing = demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf)
	return in
}

func TestTheRosterTellsThatPeopleComeTogether(t *testing.T) {
	s := season(t).Staffing
	require.InDelta(t, 4, s.JoinTogether.Size(), 1)
	require.InDelta(t, 4, s.LeaveTogether.Size(), 1)
	alone := lasting(t, 4, 3, 3, wear.Certain(1e-9), wear.Certain(1e-12))
	alone.Client.RecordsStart = asOf - 1000
	for i := range 20 {
		alone.Staff = append(alone.Staff, programme.Person{StaffID: "s" + strconv.Itoa(i), Role: "all", Start: asOf.Add(-950 + 40*i)})
	}
	require.InDelta(t, 1, demand.LearnStaffing(alone.Shop, alone.Client, alone.Staff, asOf).JoinTogether.Size(), 1e-12)
}

// The need for starters in groups against groups drawn one by one. What is not
// known of the rate and of the chance to stop is drawn as the forecast believes it.
func TestNeedsOfGroupsAgreeWithSimulation(t *testing.T) {
	in := season(t)
	in.Staffing.Joining = wear.Certain(in.Staffing.Joining.Mean())
	const weeks, n = 20, 40_000
	m := in.Muster(weeks)
	rng := rand.New(rand.NewPCG(8, 8))
	// Twenty came on four days, and twenty went on four; of so many some would have
	// met in a thousand days by chance. Those who go count half.
	met := 16 - 20.0*20/2000
	stop, others := 2+1.5*(20-met), 0.4+1.5*met
	p := distuv.Beta{Alpha: stop, Beta: others, Src: rng}
	expected := in.Staffing.Joining.Mean() * weeks * 7 / 365.2425
	var counts []float64
	for range n {
		q := math.Max(p.Rand(), 0.02)
		need := 0
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
