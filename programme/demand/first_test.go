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
	require.InDelta(t, math.Exp(-2*100/365.2425-0.5*50/365.2425), in.Staffing.Stays(asOf.Add(-22), asOf, asOf.Add(150)),
		1e-9)
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
		p := programme.Person{StaffID: string(rune('A' + i)), Role: "all", Start: asOf - 2000,
			Sizes: map[string]string{"top": "S"}}
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
	// The shop's mix is half S. Without the role's own 20, who are all S, the client has
	// some S as of the shop and 20 L; so the mix of the others says little of the role.
	shop := expectedShare(20, []float64{0.5, 0.5}, []int{20, 20})
	require.InDelta(t, 0.5, shop, 1e-12)
	sizes := s.Sizes["top"]
	people := sizes[0].Share - 20
	own := expectedShare(20, []float64{people / (2*people + 20), (people + 20) / (2*people + 20)}, []int{20, 0})
	require.InDelta(t, own, share("all", "S"), 1e-9)
	require.InDelta(t, own, share("other", "L"), 1e-9)
	require.Greater(t, own, 0.8)

	s.Joining, s.RoleShare = wear.Certain(10), map[string]float64{"all": 1, "other": 0}
	in.Staffing = s
	m := in.Muster(10)
	require.InEpsilon(t, own/(1-own), sized(&m, "tee", "S").ByCause.Hires/sized(&m, "tee", "L").ByCause.Hires, 0.01)

	all := sized(&m, "tee", "S").ByCause.Hires
	in.Staff = append(in.Staff, programme.Person{StaffID: "new", Role: "all", Start: asOf + 7})
	m = in.Muster(10)
	require.InDelta(t, all, sized(&m, "tee", "S").ByCause.Hires, 1e-9, "of unknown size: one of the ten")
	in.Staff[40].Sizes = map[string]string{"top": "L"}
	m = in.Muster(10)
	require.Less(t, sized(&m, "tee", "S").ByCause.Hires, all)
}

// expectedShare is the share of the first size that is to be expected after people of each,
// where their mix is worth a quarter of so many people, as many, four or sixteen times as
// many, each as likely before: people come one after another, each of a size with the share
// that it has by then (Pólya's urn).
func expectedShare(stated float64, mix []float64, people []int) float64 {
	var sum, share float64
	for _, times := range []float64{0.25, 1, 4, 16} {
		chance, worth, n := 1.0, times*stated, 0.0
		for i, of := range people {
			for seen := range of {
				chance *= (worth*mix[i] + float64(seen)) / (worth + n)
				n++
			}
		}
		sum += chance
		share += chance * (worth*mix[0] + float64(people[0])) / (worth + n)
	}
	return share / sum
}

// People whose sizes are all alike are of another mix than the shop's; people like the
// shop's are no sign of it. Whatever is believed lies between the two.
func TestSizesTellWhetherTheyAreOfTheShopsMix(t *testing.T) {
	for _, c := range []struct {
		m, l     int
		low, top float64
	}{{0, 0, 2. / 3, 2. / 3}, {20, 10, 2. / 3, 2. / 3}, {0, 30, 0.02, 0.15}, {30, 0, 0.8, 0.95}, {24, 6, 0.67, 0.75}} {
		in := crew(t)
		in.Shop.Baselines.SizePriorPeople = 20
		in.Staff = nil
		for i := range c.m + c.l {
			size := "M"
			if i >= c.m {
				size = "L"
			}
			in.Staff = append(in.Staff, programme.Person{StaffID: string(rune('A' + i)), Role: "yard",
				Start: asOf - 300, Sizes: map[string]string{"top": size}})
		}
		s := demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf)
		got := s.Sizes["top"][0].Share / (s.Sizes["top"][0].Share + s.Sizes["top"][1].Share)
		require.InDelta(t, expectedShare(20, []float64{2. / 3, 1. / 3}, []int{c.m, c.l}), got, 1e-9, "%+v", c)
		require.True(t, got >= c.low-1e-9 && got <= c.top+1e-9, "%g of %+v", got, c)
	}
}
