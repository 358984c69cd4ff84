package reorder_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// reached is a proposal of Monday that comes on the next one and was meant to last for those days; an order
// after it takes a week.
func reached(days int, lines ...reorder.Line) *reorder.Proposal {
	return &reorder.Proposal{AsOf: monday, Arrives: monday + 7, LeadDays: 7, CoverUntil: monday.Add(days), Lines: lines}
}

// part is a line of which Poisson many pieces are needed until the proposal's CoverUntil, with so many suggested and
// agreed.
func part(k programme.SKU, mean float64, onHand, suggested, agreed int) reorder.Line {
	l := reorder.Line{SKU: k, Expected: mean, Demand: poissonPMF(mean), OnHand: onHand, AtTarget: onHand + suggested,
		Wanted: suggested, Order: agreed, Offered: suggested, Changed: agreed != suggested}
	l.Worn = mean
	return l
}

// The needs of d days of an even Poisson stream are Poisson by themselves. Of such a number with mean m a stock of
// s leaves m P(X >= s) - s P(X >= s + 1) unmet (partial expectation of the Poisson distribution, in every textbook on
// stocks). The product thins the whole distribution instead.
func TestFewerPiecesLastUntilTheyWouldMeetLessThanWasPromised(t *testing.T) {
	type line struct {
		mean                      float64
		onHand, suggested, agreed int
	}
	for name, c := range map[string]struct {
		days  int
		lines []line
	}{
		"a third of one line":          {112, []line{{40, 3, 43, 14}}},
		"half of one line":             {112, []line{{40, 3, 43, 22}}},
		"one piece fewer":              {112, []line{{40, 3, 43, 42}}},
		"a third of two":               {70, []line{{30, 4, 32, 11}, {9, 1, 12, 4}}},
		"a third of one of two":        {70, []line{{30, 4, 32, 11}, {9, 1, 12, 12}}},
		"less of one, more of another": {70, []line{{30, 4, 32, 16}, {9, 1, 12, 40}}},
		"nothing on the shelf":         {364, []line{{25, 0, 29, 8}, {60, 0, 64, 20}, {4, 0, 7, 2}}},
	} {
		met := func(d int, stock func(line) int) float64 {
			short, needed := 0.0, 0.0
			for _, l := range c.lines {
				m, s := l.mean*float64(d)/float64(c.days), stock(l)
				atLeast := func(n int) float64 {
					sum := 1.0
					for i, p := range poissonPMF(m) {
						if i < n {
							sum -= p
						}
					}
					return sum
				}
				short += m*atLeast(s) - float64(s)*atLeast(s+1)
				needed += m
			}
			return 1 - short/needed
		}
		enough := met(c.days, func(l line) int { return l.onHand + l.suggested })
		want := 0
		for d := 1; d <= c.days && met(d, func(l line) int { return l.onHand + l.agreed }) >= enough-1e-9; d++ {
			want = d
		}
		p := reached(c.days)
		for i, l := range c.lines {
			p.Lines = append(p.Lines, part(sku("tee", []string{"S", "M", "L"}[i]), l.mean, l.onHand, l.suggested, l.agreed))
		}
		require.Greater(t, want, 14, name)
		require.Less(t, want, c.days, name)
		require.Equal(t, want, p.Lasts().Sub(monday), name)
	}
}

// The same, counted: futures of a demand that is wider than Poisson, each piece needed on a day of its own.
func TestFewerPiecesLastAsLongInInventedFutures(t *testing.T) {
	const days, futures = 100, 20000
	pmf := make([]float64, 61)
	for _, mean := range []float64{12, 24} { // slow wear or fast, nobody knows which
		for n, p := range poissonPMF(mean)[:len(pmf)] {
			pmf[n] += p / 2
		}
	}
	l := part(sku("tee", "M"), 18, 2, 22, 9)
	l.Demand = pmf
	rng := rand.New(rand.NewPCG(4, 11))
	need := make([][]int, futures)
	for i := range need {
		u, n := rng.Float64(), 0
		for sum := pmf[0]; sum < u && n < len(pmf)-1; sum += pmf[n] {
			n++
		}
		for range n {
			need[i] = append(need[i], 1+rng.IntN(days))
		}
	}
	met := func(until, stock int) float64 {
		short, needed := 0, 0
		for _, pieces := range need {
			n := 0
			for _, day := range pieces {
				if day <= until {
					n++
				}
			}
			needed, short = needed+n, short+max(0, n-stock)
		}
		return 1 - float64(short)/float64(needed)
	}
	enough, want := met(days, 24), days
	for met(want, 11) < enough {
		want--
	}
	require.InDelta(t, want, reached(days, l).Lasts().Sub(monday), 2)
}

func TestHowLongWhatWasAgreedLasts(t *testing.T) {
	tee := func(agreed int) reorder.Line { return part(sku("tee", "M"), 40, 3, 43, agreed) }
	apron := func(agreed int) reorder.Line { return part(sku("apron", "one"), 20, 0, 24, agreed) }
	third := reached(112, tee(14)).Lasts()
	soonest := monday.Add(7 + 7)
	with := func(l reorder.Line, change func(*reorder.Line)) reorder.Line {
		change(&l)
		return l
	}
	for name, c := range map[string]struct {
		p    *reorder.Proposal
		want programme.Date
	}{
		"all of it":                  {reached(112, tee(43), apron(24)), monday + 112},
		"more than was suggested":    {reached(112, tee(90), apron(24)), monday + 112},
		"one line struck off":        {reached(112, tee(43), apron(0)), monday + 112},
		"a third, one struck off":    {reached(112, tee(14), apron(0)), third},
		"next to nothing":            {reached(112, tee(1), apron(1)), soonest},
		"not before the suggestion":  {reached(10, tee(1)), monday + 10},
		"what packs had added":       {reached(112, with(tee(43), func(l *reorder.Line) { l.Changed, l.Offered = true, 72 })), monday + 112},
		"a third of that":            {reached(112, with(tee(14), func(l *reorder.Line) { l.Offered = 72 })), third},
		"what was short and refused": {reached(112, with(tee(14), func(l *reorder.Line) { l.OnHand, l.OnOrder = 0, 3 })), third},
		"given up by the supplier":   {reached(112, with(tee(43), func(l *reorder.Line) { l.GivenUp = 29 })), third},
		"pieces added for somebody":  {reached(112, tee(14), reorder.Line{SKU: sku("tee", "L"), Order: 5, Changed: true}), third},
		"no lines":                   {reached(112), monday + 112},
		"no time":                    {reached(0, tee(14)), monday},
	} {
		require.Equal(t, c.want, c.p.Lasts(), name)
	}

	// Of five that are missing today and forty that will be needed three are agreed: the two others are a no, but
	// nothing is left for what ends.
	owed := func(agreed int) *reorder.Proposal {
		l := part(sku("tee", "M"), 40, 0, 48, agreed)
		l.Owed, l.AtTarget = 5, 43
		return reached(112, l)
	}
	require.Equal(t, soonest, owed(3).Lasts())
	require.Equal(t, reached(112, part(sku("tee", "M"), 40, 0, 43, 20)).Lasts(), owed(25).Lasts(),
		"five for those who are short, twenty for later")
}

// No piece makes an order last less long, and none makes it last longer than what was suggested.
func TestEveryPieceMakesAnOrderLastLonger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lines []reorder.Line
		for _, size := range []string{"S", "M", "L"} {
			mean := rapid.Float64Range(0.01, 30).Draw(t, "mean")
			suggested := rapid.IntRange(0, 40).Draw(t, "suggested")
			l := part(sku("tee", size), mean, rapid.IntRange(0, 5).Draw(t, "on hand"), suggested,
				rapid.IntRange(0, 50).Draw(t, "agreed"))
			l.Owed = rapid.IntRange(0, 5).Draw(t, "owed")
			l.AtTarget, l.Changed = max(0, l.AtTarget-l.Owed), true
			lines = append(lines, l)
		}
		p := reached(rapid.IntRange(1, 200).Draw(t, "days"), lines...)
		lasts := p.Lasts()
		require.LessOrEqual(t, lasts, p.CoverUntil)
		require.GreaterOrEqual(t, lasts, min(p.CoverUntil, p.Arrives.Add(p.LeadDays)))
		for i := range p.Lines {
			if p.Lines[i].Order == 0 {
				continue // one of a line that was struck off is no longer a no
			}
			p.Lines[i].Order++
			require.GreaterOrEqual(t, p.Lasts(), lasts)
			p.Lines[i].Order--
		}
	})
}

// Less time, and in proportion fewer endings in it: how many are too many on a day is the same.
func TestFewerPiecesAreNoReasonToExpectFewerEndingsADay(t *testing.T) {
	p := reached(112, part(sku("tee", "M"), 40, 3, 43, 14), part(sku("apron", "one"), 20, 0, 24, 24))
	p.Ending = 70
	l := reorder.LastOf(p)
	require.Equal(t, p.Lasts(), l.CoverUntil)
	days := float64(l.CoverUntil.Sub(monday))
	require.Less(t, days, 112.0)
	require.InDelta(t, 70/112.0, l.Expected/days, 1e-12)
	require.InDelta(t, 40/112.0, l.ByLine[sku("tee", "M")]/days, 1e-12)
	require.InDelta(t, 20/112.0, l.ByLine[sku("apron", "one")]/days, 1e-12)
	require.Equal(t, map[programme.SKU]int{sku("tee", "M"): 29}, l.Struck)
}

// taken is a client whose order has come, of each line as much as was agreed; onDay makes it a later day, on which so
// much has been used as was expected.
func taken(t *testing.T, agreed func(offered int) int) (in *reorder.Input,
	p *reorder.Proposal, onDay func(programme.Date)) {
	t.Helper()
	client := anInput(stocked(sku("tee", "S"), 1.6, 0), stocked(sku("tee", "M"), 2.9, 0), stocked(sku("tee", "L"), 1.7, 0),
		stocked(sku("apron", "one"), 1.2, 0))
	in = &client
	p, _ = reorder.Propose(*in)
	require.NotNil(t, p)
	var list []reorder.LineChange
	for i := range p.Lines {
		list = append(list, reorder.LineChange{SKU: p.Lines[i].SKU, Pieces: agreed(p.Lines[i].Order)})
	}
	_, err := p.Change(in.Shop, in.Client, list)
	require.NoError(t, err)
	in.Last = reorder.LastOf(p)
	return in, p, func(day programme.Date) {
		in.AsOf = day
		for i := range in.Lines {
			l := &in.Lines[i]
			l.OnHand = p.Line(l.Quantity.SKU).Order - int(l.Quantity.Weekly[0]*float64(day.Sub(monday))/7+0.5)
		}
	}
}

// Whoever takes a third is left alone until that is nearly used up and not, as for the whole, for two months; whoever
// starts meanwhile is not left bare.
func TestAThirdOfAnOrderIsFollowedInTime(t *testing.T) {
	in, p, onDay := taken(t, func(offered int) int { return offered / 3 })
	lasts := p.Lasts()
	require.Less(t, lasts.Sub(monday), p.CoverUntil.Sub(monday)*2/3)
	mondays := 0
	for day := monday + 7; ; day += 7 {
		onDay(day)
		next, d := reorder.Propose(*in)
		if next != nil {
			require.Empty(t, d.Events)
			require.Less(t, day, p.CoverUntil.Add(-28))
			require.Less(t, next.Arrives, lasts+7, "in time, but for the days between two rounds")
			break
		}
		mondays++
		in.Last.Joined = []string{"n1"}
		in.Lines[1].Owed = 5
		in.Owed = []reorder.Owed{{StaffID: "n1", SKU: sku("tee", "M"), Pieces: 5}}
		next, d = reorder.Propose(*in)
		require.NotNil(t, next, "a starter")
		require.Equal(t, reorder.PeopleJoined, d.Events[0].Kind)
		in.Last.Joined, in.Owed, in.Lines[1].Owed = nil, nil, 0
	}
	require.Positive(t, mondays, "not in the next week")
}

// Twice as much needs no rule of its own: when the suggestion would have been used up, the policy sees the rest on the
// shelf and waits.
func TestMoreThanWasSuggestedIsUsedUpBeforeAnotherOrder(t *testing.T) {
	in, p, onDay := taken(t, func(offered int) int { return 2 * offered })
	require.Equal(t, p.CoverUntil, p.Lasts())
	require.Empty(t, in.Last.Struck)
	day := monday
	for next := (*reorder.Proposal)(nil); next == nil; next, _ = reorder.Propose(*in) {
		day += 7
		onDay(day)
	}
	require.Greater(t, day.Sub(monday), 12*7, "twice eight weeks, less the lead time")
	require.Greater(t, day, p.CoverUntil)
}
