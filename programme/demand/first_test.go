package demand_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
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

// A role's starters have the sizes of its people, on top of what all the client's
// people and the shop say; a starter of unknown size is one of those who may come.
func TestSizesOfStartersAreLearntByRole(t *testing.T) {
	in := lasting(t, 0, 1, 0, wear.Certain(1e-9), wear.Certain(1e-9))
	in.Shop.Garments[0].SizeFamily = "top"
	in.Shop.Garments[0].Sizes = []programme.GarmentSize{{Code: "S"}, {Code: "L"}}
	in.Shop.SizeMix = map[string][]programme.SizeShare{"top": {{Size: "S", Share: 1}, {Size: "L", Share: 1}}}
	in.Client.Roles = append(in.Client.Roles, programme.Role{Code: "other", Kit: in.Client.Roles[0].Kit})
	for i := range 40 {
		p := programme.Person{StaffID: string(rune('A' + i)), Role: "all", Start: asOf - 2000, Sizes: map[string]string{"top": "S"}}
		if i >= 20 {
			p.Role, p.Sizes = "other", map[string]string{"top": "L"}
		}
		in.Staff = append(in.Staff, p)
	}
	s := demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf)
	share := func(role, size string) float64 {
		sum, mine := 0.0, 0.0
		for _, x := range s.RoleSizes[role]["top"] {
			if sum += x.Share; x.Size == size {
				mine = x.Share
			}
		}
		return mine / sum
	}
	// The shop's 20 people are half S. Without the role's own the client has 10 S and
	// 30 L, worth 20 people: 5 and 15. The role's 20 are all S.
	require.InDelta(t, 25.0/40, share("all", "S"), 1e-9)
	require.InDelta(t, 25.0/40, share("other", "L"), 1e-9)

	s.Joining, s.RoleShare = wear.Certain(10), map[string]float64{"all": 1, "other": 0}
	in.Staffing = s
	m := in.Muster(10)
	require.InEpsilon(t, 25.0/15, sized(&m, "tee", "S").ByCause.Hires/sized(&m, "tee", "L").ByCause.Hires, 1e-6)

	all := sized(&m, "tee", "S").ByCause.Hires
	in.Staff = append(in.Staff, programme.Person{StaffID: "new", Role: "all", Start: asOf + 7})
	m = in.Muster(10)
	require.InDelta(t, all, sized(&m, "tee", "S").ByCause.Hires, 1e-9, "of unknown size: one of the ten")
	in.Staff[40].Sizes = map[string]string{"top": "L"}
	m = in.Muster(10)
	require.Less(t, sized(&m, "tee", "S").ByCause.Hires, all)
}
