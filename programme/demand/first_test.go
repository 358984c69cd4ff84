package demand_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// inTwoParts is a kit of five of which three are given at first and two after ten
// weeks, for pieces that last.
func inTwoParts(t *testing.T, held int) *demand.Input {
	t.Helper()
	in := lasting(t, 1, 5, held, wear.Certain(1e-9), wear.Certain(0.5))
	in.Client.Roles[0].Kit[0].First, in.Client.Roles[0].Kit[0].RestAfterWeeks = 3, 10
	in.Staffing.LeavingEarly = wear.Certain(2)
	in.Client.Known = true
	return in
}

// The rest of a kit is nothing that is owed before its week; from then on it is.
func TestTheRestOfAKitIsNotOwedBeforeItsWeek(t *testing.T) {
	for _, c := range []struct {
		name             string
		start            int // days before today
		held, owed, rest int
	}{
		{"started today, nothing given yet", 0, 0, 3, 2},
		{"first part given", 30, 3, 0, 2},
		{"one of the first part is gone", 30, 2, 1, 2},
		{"the day before", 69, 3, 0, 2},
		{"on the day", 70, 3, 2, 0},
		{"long there", 900, 3, 2, 0},
		{"more than the first part already", 30, 4, 0, 1},
		{"all there", 30, 5, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := inTwoParts(t, c.held)
			in.Staff[0].Start = asOf.Add(-c.start)
			owed := 0
			for _, s := range in.Short() {
				owed += s.Pieces
			}
			rest := 0
			for _, s := range in.ComingBy(asOf.Add(100)) {
				rest += s.Pieces
			}
			require.Equal(t, c.owed, owed)
			require.Equal(t, c.rest, rest)
			require.Equal(t, c.owed, in.Muster(6).Lines[0].Owed)
		})
	}
}

// The rest is needed with the chance that the person stays: at the rate of new
// people for the first four months, at everybody's after them.
func TestTheRestIsNeededByWhoStays(t *testing.T) {
	in := inTwoParts(t, 3)
	in.Staff[0].Start = asOf.Add(-21)
	before := in.Muster(6).Lines[0]
	require.InDelta(t, 0, before.Mean, 1e-6, "it is due in seven weeks")
	after := in.Muster(8).Lines[0]
	there := math.Exp(-2 * 49 / 365.2425)
	require.InDelta(t, 2*there, after.Mean, 1e-6)
	require.InDelta(t, 1-there, after.PMF[0], 1e-6)
	require.InDelta(t, there, after.PMF[2], 1e-6)
	require.InDelta(t, 2*there, after.ByCause.Hires, 1e-6)

	in.Staff[0].End = asOf.Add(40)
	require.InDelta(t, 0, in.Muster(8).Lines[0].Mean, 1e-6, "gone before its day")
	require.InDelta(t, math.Exp(-2*100/365.2425-0.5*50/365.2425), in.Staffing.Stays(asOf.Add(-22), asOf, asOf.Add(150)), 1e-9)
}

// Of starters who may come within 20 weeks, those of the first ten have had ten
// weeks by the end: they take all five pieces where they stay, the others three.
func TestStartersTakeTheRestWhereItHasComeDue(t *testing.T) {
	in := inTwoParts(t, 5)
	in.Staffing.Joining = wear.Certain(4)
	l := in.Muster(20).Lines[0]
	hires := 4 * 140 / 365.2425
	full := 0.5 * math.Exp(-2*70/365.2425)
	require.InEpsilon(t, hires*(3+2*full), l.Mean, 1e-3)
	// Both kinds are Poisson: the chance of no piece is that of no starter, and of
	// exactly three pieces that of one who takes three.
	require.InDelta(t, math.Exp(-hires), l.PMF[0], 1e-6)
	require.InDelta(t, hires*(1-full)*math.Exp(-hires), l.PMF[3], 1e-6)
	require.InDelta(t, hires*full*math.Exp(-hires), l.PMF[5], 1e-6)
}
