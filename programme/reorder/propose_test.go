package reorder_test

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func bakery() reorder.Input {
	in := anInput(
		stocked(sku("tee", "S"), 0.3, 1),
		stocked(sku("tee", "M"), 0.8, 2),
		stocked(sku("tee", "L"), 0.6, 0),
		stocked(sku("tee", "2XL"), 0.1, 0),
		stocked(sku("apron", "one"), 0.4, 9),
		stocked(sku("vest", "L"), 0.3, 0),
	)
	in.Lines[2].Owed = 1
	in.Owed = []reorder.Owed{{StaffID: "s3", SKU: sku("tee", "L"), Pieces: 1}}
	for i, p := range []float64{0.9, 0.7, 0.85, 0.2} {
		in.Outlooks = append(in.Outlooks, demand.Outlook{
			StaffID: []string{"s1", "s2", "s1", "s4"}[i], SKU: sku("tee", "M"), Issued: monday.Add(-300 - i),
			Washes: 40 - float64(i), PEnd: p, D50: monday.Add(20 + i), Cause: programme.CauseWorn,
		})
	}
	return in
}

func TestAClientWhoseStockRunsOutIsProposedTo(t *testing.T) {
	p, d := reorder.Propose(bakery())
	require.True(t, d.Due)
	require.NotNil(t, p)
	require.Less(t, p.FillNow, 0.95)
	require.Greater(t, p.FillAfter, p.FillNow+0.2)
	got, err := json.MarshalIndent(struct {
		Proposal *reorder.Proposal
		Decision reorder.Decision
	}{withoutDemand(p), d}, "", " ")
	require.NoError(t, err)
	goldentest.Equal(t, "bakery.json", append(got, '\n'))
}

func withoutDemand(p *reorder.Proposal) *reorder.Proposal {
	for i := range p.Lines {
		p.Lines[i].Demand = nil
	}
	return p
}

func TestAFullShelfIsNotDueAndSaysWhenItWillBe(t *testing.T) {
	p, d := reorder.Propose(anInput(stocked(sku("tee", "M"), 1, 14)))
	require.Nil(t, p)
	require.False(t, d.Due)
	require.Equal(t, reorder.AboveTarget, d.Reasons[0].Kind)
	require.Greater(t, d.NextDue, monday.Add(6*7))
	require.Less(t, d.NextDue, monday.Add(14*7))
	require.Equal(t, monday.Weekday(), d.NextDue.Weekday(), "a round day")
}

func TestNobodyNeedsAnything(t *testing.T) {
	p, d := reorder.Propose(anInput())
	require.Nil(t, p)
	require.False(t, d.Due)
	require.InDelta(t, 1.0, d.Fill, 0)
	require.True(t, d.NextDue.IsZero())
}

func TestPiecesOwedAreOrderedFirstAndNamed(t *testing.T) {
	in := anInput(stocked(sku("apron", "one"), 0.01, 0))
	in.Lines[0].Owed = 2
	in.Owed = []reorder.Owed{{StaffID: "b", SKU: sku("apron", "one"), Pieces: 1},
		{StaffID: "a", SKU: sku("apron", "one"), Pieces: 1}}
	p, d := reorder.Propose(in)
	require.True(t, d.Due)
	require.Equal(t, reorder.OwedNow, d.Reasons[1].Kind)
	require.GreaterOrEqual(t, p.Lines[0].Order, 2)
	require.Equal(t, []string{"a", "b"}, []string{p.Named[0].StaffID, p.Named[1].StaffID})
	require.Equal(t, programme.CauseOwed, p.Named[0].Why)
}

func TestOwedPiecesThatLieOnTheShelfNeedNoOrder(t *testing.T) {
	in := anInput(stocked(sku("apron", "one"), 0.01, 3))
	in.Lines[0].Owed = 2
	_, d := reorder.Propose(in)
	require.False(t, d.Due, "the shelf serves them today")
	require.Contains(t, d.Reasons, reorder.Reason{Kind: reorder.HandOut, SKU: sku("apron", "one"), Pieces: 2})
}

func TestProtectiveClothingIsHeldAndNeverOrdered(t *testing.T) {
	p, d := reorder.Propose(anInput(stocked(sku("vest", "M"), 1, 0)))
	require.Nil(t, p)
	require.False(t, d.Due)
	require.Len(t, d.Holds, 1)
	require.Positive(t, d.Holds[0].Pieces)
	require.Equal(t, programme.HighVisibility, d.Holds[0].Protective)
	require.InDelta(t, 25.0, d.Holds[0].LabelWashes, 0)

	p, _ = reorder.Propose(bakery())
	for _, l := range p.Lines {
		require.NotEqual(t, "vest", l.Garment)
	}

	// One that lies there is one fewer to ask for, and a size of which enough are there is not asked about.
	ask := func(there int) []reorder.Hold {
		_, d := reorder.Propose(anInput(stocked(sku("vest", "M"), 1, there), stocked(sku("vest", "L"), 1, 0)))
		return d.Holds
	}
	both := ask(0)
	require.Equal(t, []string{"M", "L"}, []string{both[0].Size, both[1].Size})
	for there := 1; there < both[0].Pieces; there++ {
		require.Equal(t, both[0].Pieces-there, ask(there)[0].Pieces, "%d there", there)
	}
	require.Equal(t, both[1:], ask(both[0].Pieces))
}

// A limit on how long an order may last that no order reaches changes nothing.
func TestALimitThatIsNotReachedChangesNothing(t *testing.T) {
	free, limited := bakery(), bakery()
	free.Client.CoverWeeks, limited.Client.CoverWeeks = 0, 1000
	want, _ := reorder.Propose(free)
	got, _ := reorder.Propose(limited)
	require.Equal(t, want, got)
}

// With pieces for more than two years there is no next order yet.
func TestWhatLastsForYearsHasNoNextOrder(t *testing.T) {
	for stock, some := range map[int]bool{30: true, 90: false, 400: false} {
		_, d := reorder.Propose(anInput(stocked(sku("tee", "M"), 0.5, stock)))
		require.False(t, d.Due)
		require.Equal(t, some, !d.NextDue.IsZero(), "%d pieces for 52 a two years: %s", stock, d.NextDue)
	}
}

// How likely a piece ends is told for the time of the order: all of those that end within weeks
// do, and none of those that end years later.
func TestChancesAreToldForTheTimeOfTheOrder(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.8, 0))
	in.Outlooks = []demand.Outlook{
		{StaffID: "soon", SKU: sku("tee", "M"), PEnd: 0.9, D10: monday + 5, D50: monday + 10, D90: monday + 20,
			Cause: programme.CauseWorn},
		{StaffID: "late", SKU: sku("tee", "M"), PEnd: 0.6, D10: monday + 69, D50: monday + 70, D90: monday + 71,
			Cause: programme.CauseWorn},
	}
	p, _ := reorder.Propose(in)
	require.Len(t, p.Named, 2)
	require.Less(t, p.CoverUntil, monday+69)
	require.InDelta(t, 0.9, p.Named[0].PEnd, 1e-3)
	require.InDelta(t, 0, p.Named[1].PEnd, 1e-2)
}

func TestNamedAndPoolTogetherAreTheOrder(t *testing.T) {
	p, _ := reorder.Propose(bakery())
	got := map[programme.SKU]int{}
	for _, n := range p.Named {
		got[n.SKU] += n.Pieces
	}
	for _, n := range p.Pool {
		got[n.SKU] += n.ForStarters + n.Spare
		require.Positive(t, n.ForStarters+n.Spare, "no pool of nothing")
	}
	for _, l := range p.Lines {
		require.Equal(t, l.Order, got[l.SKU], l.SKU)
		require.GreaterOrEqual(t, l.Order, l.Wanted)
		require.Equal(t, l.BlanksOnShelf+l.Buy, l.Order+l.StayBlank)
		require.LessOrEqual(t, l.ShortAfter, l.ShortBefore)
	}
}

func TestTheOrderOfTheInputDoesNotMatter(t *testing.T) {
	want, wantD := reorder.Propose(bakery())
	for seed := range uint64(20) {
		in := bakery()
		r := rand.New(rand.NewPCG(seed, 1))
		r.Shuffle(len(in.Lines), func(i, j int) { in.Lines[i], in.Lines[j] = in.Lines[j], in.Lines[i] })
		r.Shuffle(len(in.Outlooks), func(i, j int) { in.Outlooks[i], in.Outlooks[j] = in.Outlooks[j], in.Outlooks[i] })
		got, gotD := reorder.Propose(in)
		require.Equal(t, want, got)
		require.Equal(t, wantD, gotD)
	}
}

func TestSizesStandFromSmallToLarge(t *testing.T) {
	p, _ := reorder.Propose(bakery())
	var sizes []string
	for _, l := range p.Lines {
		if l.Garment == "tee" {
			sizes = append(sizes, l.Size)
		}
	}
	require.Equal(t, []string{"S", "M", "L", "2XL"}, sizes)
}

// A shop that looks every second week sees the next order on about the same day as one that
// looks every week, and always on one of its own rounds.
func TestAShopThatLooksSeldomSeesAsFarAhead(t *testing.T) {
	of := func(review int) *reorder.Proposal {
		in := bakery()
		in.Shop.ReviewDays, in.Client.CoverWeeks = review, 0
		p, _ := reorder.Propose(in)
		return p
	}
	weekly, seldom := of(7), of(14)
	for _, kind := range []reorder.ChoiceKind{reorder.Suggested, reorder.LastsLonger} {
		a, ok := weekly.Plan(kind)
		require.True(t, ok, "%s of those who look weekly", kind)
		b, ok := seldom.Plan(kind)
		require.True(t, ok, kind)
		require.Zero(t, b.NextOrder.Sub(monday)%14)
		require.InDelta(t, a.NextOrder.Sub(monday), b.NextOrder.Sub(monday), 28, "%s", kind)
	}
	require.InDelta(t, weekly.CoverUntil.Sub(monday), seldom.CoverUntil.Sub(monday), 28)
}
