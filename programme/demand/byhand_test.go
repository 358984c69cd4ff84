package demand_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// lasting is people with one piece each of one size that only a mishap ends,
// so that everything can be worked out by hand.
func lasting(t *testing.T, people, each, held int, mishap, leaving wear.Gamma) *demand.Input {
	t.Helper()
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "one",
			Sizes: []programme.GarmentSize{{Code: "OS"}}, WearsPerWash: 1, Median: 1e9, Shape: 1}},
	}
	client := &programme.Client{
		Code: "lasting", Laundering: programme.Laundering{Regime: "home-low"},
		Work:  programme.Work{Duty: programme.Medium},
		Roles: []programme.Role{{Code: "all", Kit: []programme.KitLine{{Garment: "tee", Each: each, WearsAWeek: 3}}}},
	}
	in := &demand.Input{Shop: shop, Client: client, AsOf: asOf}
	for i := range people {
		id := strconv.Itoa(i)
		in.Staff = append(in.Staff, programme.Person{StaffID: id, Role: "all", Start: asOf - 300})
		for range held {
			in.History.InService = append(in.History.InService,
				programme.Piece{StaffID: id, SKU: programme.SKU{Garment: "tee", Size: "OS"}, Issued: asOf - 100,
					Washes: 10})
		}
	}
	var err error
	in.Book, err = wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	in.Learnt = in.Book.Learn(wear.History{}, asOf)
	for _, k := range in.Learnt {
		k.Mishap = mishap
		k.Cloth = wear.Posterior{Unit: 1e9, Nodes: []wear.ShapeNode{{Shape: 1, Weight: 1, Rate: wear.Certain(1)}}}
	}
	in.Staffing = demand.LearnStaffing(shop, client, in.Staff, asOf)
	in.Staffing.Leaving, in.Staffing.Joining = leaving, wear.Certain(1e-12)
	return in
}

// A piece needs replacing when its mishap comes before its holder leaves:
// m/(m+l) (1 - exp(-(m+l) t)) for rates m and l.
func TestAPieceIsReplacedIfItEndsBeforeItsHolderLeaves(t *testing.T) {
	const m, l, weeks = 1.7, 0.9, 12
	in := lasting(t, 1, 1, 1, wear.Certain(m), wear.Certain(l))
	years := weeks * 7 / 365.2425
	muster := in.Muster(weeks)
	want := m / (m + l) * -math.Expm1(-(m+l)*years)
	require.InEpsilon(t, want, muster.Pieces[0].PEnd, 1e-3)
	// Every replacement may end as well: in all m times the years stayed.
	stayed := -math.Expm1(-l*years) / l
	require.InEpsilon(t, m*stayed, muster.Lines[0].Mean, 1e-3)
	require.InEpsilon(t, m*stayed, muster.Lines[0].ByCause.Mishap, 1e-3)
}

// The mishap rate is not known: over all pieces together it is Gamma, so their
// number is nearly negative binomial, with variance m + m^2/count.
func TestAnUnknownMishapRateWidensWhatAllNeed(t *testing.T) {
	const people, weeks, count = 60, 26, 10.0
	in := lasting(t, people, 1, 1, wear.Gamma{Count: count, Exposure: count / 0.5}, wear.Certain(1e-12))
	m := people * 0.5 * weeks * 7 / 365.2425
	total := in.Muster(weeks).Total
	require.InEpsilon(t, m, total.Mean, 0.01)
	require.InEpsilon(t, math.Sqrt(m+m*m/count), total.SD, 0.02)
}

// People with kits of six leave or stay: lines and garments alone do not know
// that all six pieces of a person stop together.
func TestWhoLeavesTakesTheWholeKitAlong(t *testing.T) {
	const people, m, l, weeks = 12, 2.0, 2.5, 26
	in := lasting(t, people, 1, 1, wear.Certain(m), wear.Certain(l))
	shop, client := in.Shop, in.Client
	shop.Garments = append(shop.Garments, shop.Garments[0])
	shop.Garments[1].Code = "polo"
	client.Roles[0].Kit = []programme.KitLine{{Garment: "tee", Each: 3, WearsAWeek: 3},
		{Garment: "polo", Each: 3, WearsAWeek: 3}}
	in.History.InService = nil
	for i := range 6 * people {
		k := programme.SKU{Garment: []string{"tee", "polo"}[i%2], Size: "OS"}
		in.History.InService = append(in.History.InService, programme.Piece{StaffID: strconv.Itoa(i / 6), SKU: k,
			Issued: asOf - 100, Washes: 10})
	}
	var err error
	in.Book, err = wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	in.Learnt = in.Book.Learn(wear.History{}, asOf)
	for _, k := range in.Learnt {
		k.Mishap = wear.Certain(m)
		k.Cloth = wear.Posterior{Unit: 1e9, Nodes: []wear.ShapeNode{{Shape: 1, Weight: 1, Rate: wear.Certain(1)}}}
	}
	// Given the years T until leaving or the horizon, needs are Poisson with
	// mean 6 m T: variance = 6 m E[T] + (6 m)^2 Var[T].
	h := weeks * 7 / 365.2425
	e1 := -math.Expm1(-l*h) / l
	e2 := 2 * (-math.Expm1(-l*h)/(l*l) - h*math.Exp(-l*h)/l)
	total := in.Muster(weeks).Total
	require.InEpsilon(t, people*6*m*e1, total.Mean, 0.01)
	require.InEpsilon(t, math.Sqrt(people*(6*m*e1+36*m*m*(e2-e1*e1))), total.SD, 0.03)
}

// With a piece more than the kit, the first ending is no need, and what is
// expected by cause and week says the same as the distribution.
func TestSurplusPiecesAreNotReplaced(t *testing.T) {
	const m, weeks = 0.8, 10
	in := lasting(t, 1, 2, 3, wear.Certain(m), wear.Certain(1e-12))
	mean := 3 * m * weeks * 7 / 365.2425
	want := mean - 1 + math.Exp(-mean) // E[max(0, N-1)], N Poisson
	muster := in.Muster(weeks)
	require.InEpsilon(t, want, muster.Lines[0].Mean, 2e-3)
	require.Zero(t, muster.Lines[0].Owed)
}

func TestWhatSomebodyIsShortOfIsOwed(t *testing.T) {
	in := lasting(t, 2, 3, 2, wear.Certain(0.1), wear.Certain(1e-12))
	in.History.InService = in.History.InService[:3] // the second person holds one of three
	require.Equal(t, 3, in.Muster(4).Lines[0].Owed)
	tee := programme.SKU{Garment: "tee", Size: "OS"}
	require.Equal(t, []demand.Short{{StaffID: "0", SKU: tee, Pieces: 1}, {StaffID: "1", SKU: tee, Pieces: 2}},
		in.Short())
}

// Rates of joining and leaving from a roster, counted by hand: records begin two years
// ago, so that 2 + 1 + 0.5 person-years of three were seen, and those of eight more who
// came one by one.
func TestStaffingIsLearntFromTheRoster(t *testing.T) {
	in := lasting(t, 0, 1, 0, wear.Certain(0.1), wear.Certain(1))
	year := 365.2425
	start := asOf.Add(-int(math.Round(2 * year)))
	in.Client.RecordsStart = start
	in.Client.Leavers = programme.Leavers{PerYear: 0.3, Strength: 10}
	in.Client.Intake = programme.Intake{PerYear: 3, Strength: 2}
	in.Client.Roles = append(in.Client.Roles, programme.Role{Code: "other"})
	size := func(s string) map[string]string { return map[string]string{"one": s} }
	staff := []programme.Person{
		{StaffID: "a", Role: "all", Start: start - 500, Sizes: size("OS")},
		{StaffID: "b", Role: "all", Start: start - 200, End: start.Add(365), Sizes: size("OS")},
		{StaffID: "c", Role: "other", Start: asOf.Add(-183), Sizes: size("OS")},
	}
	for i := range 8 {
		staff = append(staff, programme.Person{StaffID: strconv.Itoa(i), Role: "other", Start: asOf.Add(-30 * (i + 1)),
			Sizes: size("OS")})
	}
	s := demand.LearnStaffing(in.Shop, in.Client, staff, asOf)
	require.InDelta(t, 0.3*10+1, s.Leaving.Count, 1e-9)
	require.InDelta(t, 10+(730+365+183+30*36)/year, s.Leaving.Exposure, 0.01)
	require.InDelta(t, 3*2+9, s.Joining.Count, 1e-9)
	require.InDelta(t, 2+2, s.Joining.Exposure, 0.01)
	require.InDelta(t, 1.5/11, s.RoleShare["all"], 1e-9) // each role half a head more: 1.5 and 9.5
	// Of one size the eleven who are known do not tell what the mix is worth: 5, 20, 80 or 320
	// people, whose part of the share is 5/16, 20/31, 80/91 or 320/331.
	part := (5./16 + 20./31 + 80./91 + 320./331) / 4
	require.InDelta(t, 11+11*part/(1-part), s.Sizes["one"][0].Share, 1e-9)

	since := func(days int) demand.Staffing {
		in.Client.RecordsStart = asOf.Add(-days)
		return demand.LearnStaffing(in.Shop, in.Client,
			[]programme.Person{{StaffID: "a", Role: "all", Start: asOf.Add(-5000)}}, asOf)
	}
	s = since(5 * 365)
	require.Equal(t, since(1096), s, "no more than three years teach")
	require.NotEqual(t, since(1095), s)
	require.InDelta(t, 1.5/2, s.RoleShare["all"], 1e-9)
}

// A piece counted 20 weeks ago is on the books still; two endings in five stay
// off them. Either it has gone already, or it may go in the weeks to come; one
// that replaces it may go as well.
func TestWhatHasGoneUnknownToTheBooksIsNeededNow(t *testing.T) {
	const m, weeks, since, hidden = 1.2, 6, 20, 0.4
	in := lasting(t, 1, 1, 1, wear.Certain(m), wear.Certain(1e-12))
	in.History.Hidden, in.History.Counts = hidden, true
	p := &in.History.InService[0]
	p.Washes, p.FromWashes, p.UnseenDays = 60, 0, 7*since
	lasted := math.Exp(-m * since * 7 / 365.2425)
	gone := hidden * (1 - lasted) / (lasted + hidden*(1-lasted))
	ahead := m * weeks * 7 / 365.2425
	muster := in.Muster(weeks)
	require.InEpsilon(t, gone+ahead, muster.Lines[0].Mean, 1e-3)
	require.InEpsilon(t, (1-gone)*math.Exp(-ahead), muster.Lines[0].PMF[0], 1e-3)
	require.InEpsilon(t, gone+(1-gone)*-math.Expm1(-ahead), muster.Pieces[0].PEnd, 1e-3)
	require.InEpsilon(t, gone+ahead/weeks, muster.Lines[0].Weekly[0], 0.01)
	require.Equal(t, in.AsOf, muster.Pieces[0].D10, "more than one in ten have gone")
	// Half of such pieces have gone when (1-gone) exp(-m t) is a half.
	require.InDelta(t, math.Log(2*(1-gone))/m*365.2425, float64(muster.Pieces[0].D50.Sub(in.AsOf)), 2)

	p.UnseenDays = 0 // counted today
	require.InEpsilon(t, ahead, in.Muster(weeks).Lines[0].Mean, 1e-3)
}

// Where one of two may have gone, the other has had more of the washes.
func TestCompanionsOfWhatMayHaveGoneAreWashedMore(t *testing.T) {
	need := func(held int, hidden float64) float64 {
		in := lasting(t, 1, held, held, wear.Certain(1.2), wear.Certain(1e-12))
		for _, k := range in.Learnt {
			k.Cloth = wear.Posterior{Unit: 60, Nodes: []wear.ShapeNode{{Shape: 3, Weight: 1, Rate: wear.Certain(1)}}}
		}
		in.History.Hidden, in.History.Counts = hidden, true
		for i := range in.History.InService {
			p := &in.History.InService[i]
			p.Washes, p.FromWashes, p.UnseenDays = 50, 10, 7*20
		}
		return in.Muster(4).Lines[0].Mean / float64(held)
	}
	require.Greater(t, need(4, 0.4)-need(4, 0), need(1, 0.4)-need(1, 0))
}

// By hand for one, two and four pieces: each was seen after 10 washes and has had 50 by
// the books. With a hazard of (w/60)^3 and two endings in five off the books a piece is gone
// with a chance of G; half that on an average day makes the others worn as often as the mean
// of n/(1+B), B of n - 1 there, which is summed up here from the binomial distribution.
func TestAgesOfCompanionsByHand(t *testing.T) {
	const hidden, from, books = 0.4, 10.0, 50.0
	for _, n := range []int{1, 2, 4} {
		in := lasting(t, 1, n, n, wear.Certain(1e-12), wear.Certain(1e-12))
		for _, k := range in.Learnt {
			k.Cloth = wear.Posterior{Unit: 60, Nodes: []wear.ShapeNode{{Shape: 3, Weight: 1, Rate: wear.Certain(1)}}}
		}
		in.History.Hidden, in.History.Counts = hidden, true
		for i := range in.History.InService {
			p := &in.History.InService[i]
			p.Washes, p.FromWashes, p.UnseenDays = books, from, 7*20
		}
		hazard := func(age float64) float64 { return age * age * age / (60 * 60 * 60) }
		gone := func(age float64) float64 {
			lasted := math.Exp(hazard(from) - hazard(age))
			return hidden * (1 - lasted) / (lasted + hidden*(1-lasted))
		}
		age := books
		for range 2 {
			g, often, choose := gone(age)/2, 0.0, 1.0
			for b := range n {
				often += choose * math.Pow(1-g, float64(b)) * math.Pow(g, float64(n-1-b)) * float64(n) / float64(1+b)
				choose *= float64(n-1-b) / float64(b+1)
			}
			age = from + (books-from)*often
		}
		const week = 1
		pace := 3 / float64(n) // three wears a week over the pieces, washed after each
		ahead := hazard(age+week*pace) - hazard(age)
		want := gone(age) + (1-gone(age))*-math.Expm1(-ahead)
		require.InEpsilon(t, want, in.Muster(week).Pieces[0].PEnd, 2e-3, "%d pieces", n)
	}
}

// Few lifetimes stand for all that is not known of a class, yet old and young pieces
// each end with their own exact chance: in few weeks nothing is replaced twice,
// so the needs of a line are the sum of its pieces' chances.
func TestOldAndYoungPiecesEachHaveTheirOwnChance(t *testing.T) {
	in := lasting(t, 8, 1, 1, wear.Gamma{Count: 3, Exposure: 20}, wear.Certain(1e-12))
	in.Shop.Garments[0].Sizes = []programme.GarmentSize{{Code: "M"}, {Code: "L"}}
	for _, k := range in.Learnt {
		k.Cloth = wear.Posterior{Unit: 60}
		for i, shape := range []float64{1.5, 2, 2.5, 3.1, 4} {
			k.Cloth.Nodes = append(k.Cloth.Nodes, wear.ShapeNode{Shape: shape,
				Weight: []float64{0.1, 0.2, 0.4, 0.2, 0.1}[i], Rate: wear.Gamma{Count: 3, Exposure: 3}})
		}
	}
	for i := range in.History.InService {
		p := &in.History.InService[i]
		p.SKU.Size, p.Washes = "M", 5
		if i%2 == 1 {
			p.SKU.Size, p.Washes = "L", 70
		}
		in.Staff[i].Sizes = map[string]string{"one": p.SKU.Size}
	}
	in.Staffing = demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf)
	in.Staffing.Leaving, in.Staffing.Joining, in.Staffing.Resizing = wear.Certain(1e-12), wear.Certain(1e-12),
		wear.Gamma{}
	muster := in.Muster(2)
	sum := map[string]float64{}
	for _, p := range muster.Pieces {
		sum[p.Size] += p.PEnd
	}
	for _, l := range muster.Lines {
		require.InEpsilon(t, sum[l.Size], l.Mean, 0.02, l.Size)
	}
}

// A stated 0 says that hardly anybody leaves or comes, however much or little
// the statement weighs: what so many years without anybody teach.
func TestAStatedNobodyIsNotTheUsualRate(t *testing.T) {
	in := lasting(t, 3, 1, 0, wear.Certain(0.1), wear.Certain(1))
	learn := func() demand.Staffing { return demand.LearnStaffing(in.Shop, in.Client, in.Staff, asOf) }
	in.Client.Leavers = programme.Leavers{Strength: 1000}
	require.InDelta(t, in.Shop.Baselines.LeaversPerYear, learn().Leaving.Mean(), 1e-9,
		"nothing is said: as the industry")
	in.Client.Leavers = programme.Leavers{Nobody: true, Strength: 1000}
	require.InDelta(t, 0.0005, learn().Leaving.Mean(), 1e-9)
	in.Client.Leavers.Strength = 0
	require.InDelta(t, 0.5/in.Shop.Baselines.LeaversPersonYears, learn().Leaving.Mean(), 1e-9)
	in.Client.Intake = programme.Intake{Strength: 4}
	in.Client.Leavers = programme.Leavers{PerYear: 0.4, Strength: 10}
	require.InDelta(t, 3*0.4, learn().Joining.Mean(), 1e-9, "nothing is said: whoever leaves is replaced")
	in.Client.Intake.Nobody = true
	require.InDelta(t, 0.5/4, learn().Joining.Mean(), 1e-9)
}
