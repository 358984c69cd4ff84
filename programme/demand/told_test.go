package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// teeM is the size of which most of these tests ask.
var teeM = programme.SKU{Garment: "tee", Size: "M"}

// wearers adds people in size M with so many new tees each.
func wearers(in *Input, people, each int) {
	for i := range people {
		id := string(rune('a' + i))
		in.Staff = append(in.Staff, programme.Person{StaffID: id, Role: "floor", Start: in.AsOf - 400,
			Sizes: map[string]string{"top": "M"}})
		for range each {
			in.History.InService = append(in.History.InService,
				programme.Piece{StaffID: id, SKU: teeM, Issued: in.AsOf})
		}
	}
}

// lineOf returns the line of a garment in its colour and size.
func lineOf(t *testing.T, m *Muster, k programme.SKU) *Line {
	t.Helper()
	for i := range m.Lines {
		if m.Lines[i].SKU == k {
			return &m.Lines[i]
		}
	}
	require.Fail(t, "no such line", "%+v", k)
	return nil
}

// What lies there for the client and what comes by the end of the weeks, line by line: each
// row of the stock is let in, or left out, for a reason.
func TestWhatLiesThereAndWhatComes(t *testing.T) {
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) { c.ReissueLifeLeft = 0.5 })
	life := in.Learnt[in.Book.Classes()[0].Class].MedianLife(2)
	goods := programme.FinishedGoods("one", teeM)
	others := goods
	others.Client = "two"
	for _, c := range []struct {
		name            string
		row             programme.StockLine
		onHand, onOrder int
	}{
		{"on the shelf", programme.StockLine{Goods: goods, Pieces: 3}, 3, 0},
		{"on order for the last day", programme.StockLine{Goods: goods, Pieces: 4, Expected: in.AsOf + 42}, 0, 4},
		{"on order for later", programme.StockLine{Goods: goods, Pieces: 5, Expected: in.AsOf + 43}, 0, 0},
		{"of another client", programme.StockLine{Goods: others, Pieces: 6}, 0, 0},
		{"undecorated", programme.StockLine{Goods: programme.BlankGoods(teeM), Pieces: 7}, 0, 0},
		{"worn a little", programme.StockLine{Goods: goods, Pieces: 8, Washes: int(0.3 * life)}, 8, 0},
		{"worn too much", programme.StockLine{Goods: goods, Pieces: 9, Washes: int(0.7 * life)}, 0, 0},
	} {
		in.Stock = []programme.StockLine{c.row}
		m := in.Muster(6)
		l := lineOf(t, &m, teeM)
		require.Equal(t, [2]int{c.onHand, c.onOrder}, [2]int{l.OnHand, l.OnOrder}, c.name)
		other := lineOf(t, &m, programme.SKU{Garment: "tee", Size: "L"})
		require.Equal(t, [2]int{}, [2]int{other.OnHand, other.OnOrder}, c.name)
	}
	in.Stock = []programme.StockLine{{Goods: goods, Pieces: 3}, {Goods: goods, Pieces: 4, Expected: in.AsOf + 2},
		{Goods: goods, Pieces: 2, Washes: 1}}
	in.History.Ended = []programme.Piece{{SKU: teeM, Reason: programme.LeftReason, Ended: in.AsOf - 9,
		Washes: 3, Part: 8}}
	m := in.Muster(6)
	l := lineOf(t, &m, teeM)
	require.Equal(t, [3]int{8, 4, 5}, [3]int{l.OnHand, l.OnOrder, l.Reissuable},
		"of eight that came back five lie there; two of those five were worn")
}

// Nearer weeks are forecast alike, whatever weeks lie beyond them: a hard season ahead
// does not wear what is worn before it, nor do days after somebody's last one.
func TestANearHorizonKnowsNothingOfALaterSeason(t *testing.T) {
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
		c.Work.WearByMonth = [12]float64{1, 1, 1, 3, 3, 3, 1, 1, 1, 0.2, 0.2, 0.2}
	})
	in.AsOf = programme.NewDate(2026, 3, 1)
	in.ExpectNoStarters()
	wearers(in, 6, 2)
	in.Staff[1].End = in.AsOf + 14
	in.Staff[2].End = in.AsOf + 40
	alone := in.Forecast(28)[0]
	beside := in.Forecast(28, 98)
	a, b := lineOf(t, &alone, teeM), lineOf(t, &beside[0], teeM)
	require.InEpsilon(t, a.Mean, b.Mean, 0.05)
	require.InEpsilon(t, a.SD, b.SD, 0.05)
	require.Greater(t, lineOf(t, &beside[1], teeM).Mean, 7*a.Mean, "the season is there")
}

// What starters' pieces wear by in a hard season is that of the same pieces in wear as
// often in all the year.
func TestStartersPiecesWearByTheSeason(t *testing.T) {
	const days = 70
	at := programme.NewDate(2026, 4, 1)
	of := func(wears float64, months [12]float64) (*starterEnds, float64) {
		in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
			c.Work.WearByMonth, c.Roles[0].Kit[0].WearsAWeek = months, wears
		})
		in.AsOf = at
		f := newForecast(in, days, &room{})
		return f.starterEnds(), f.hardness(days)
	}
	seasonal, hard := of(4, [12]float64{1, 1, 1, 3, 3, 3, 1, 1, 1, 0.2, 0.2, 0.2})
	require.Greater(t, hard, 1.5)
	even, usual := of(4*hard, [12]float64{})
	require.InDelta(t, 1, usual, 1e-12)
	for _, weeks := range []float64{0.3, 4, 9} {
		require.InEpsilon(t, even.after("tee", "", weeks), seasonal.after("tee", "", weeks), 1e-9)
	}
}

// Until the rest of a kit follows the fewer pieces are worn as often as the whole kit
// would be: the wears of all of them together stay the same.
func TestFewPiecesAreWornOftenerUntilTheRestComes(t *testing.T) {
	for held, each := range map[int]float64{1: 5, 3: 5.0 / 3, 5: 1, 7: 1} {
		in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
			l := &c.Roles[0].Kit[0]
			l.Each, l.First, l.RestAfterWeeks = 5, 3, 10
		})
		wearers(in, 1, held)
		in.Staff[0].Start = in.AsOf - 28 // six weeks before the rest
		f := newForecast(in, 140, &room{})
		require.InDelta(t, (42*each+98)/140, f.hardnessOf(&f.holders[0], 140), 1e-12, "%d pieces", held)
		require.InDelta(t, each, f.hardnessOf(&f.holders[0], 30), 1e-12, "%d pieces", held)
		in.Staff[0].Start = in.AsOf - 71
		require.InDelta(t, 1, newForecast(in, 140, &room{}).holders[0].fewer(in.AsOf, 140), 0, "it was due yesterday")
	}
}

// Somebody whose size nobody has entered gets the size of what they hold, of whatever
// colour; somebody who holds nothing waits for it.
func TestWhoseSizeIsNotEnteredKeepsWhatTheyHold(t *testing.T) {
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) { c.Roles[0].Kit[0].Colour = "black" })
	p := &programme.Person{StaffID: "a", Role: "floor"}
	line := &in.Client.Roles[0].Kit[0]
	s := &scene{in: in}
	white := func(size string) *programme.Piece {
		return &programme.Piece{SKU: programme.SKU{Garment: "tee", Colour: "white", Size: size}}
	}
	black := func(size string) *programme.Piece {
		return &programme.Piece{SKU: programme.SKU{Garment: "tee", Colour: "black", Size: size}}
	}
	for _, c := range []struct {
		name   string
		pieces []*programme.Piece
		size   string
		known  bool
	}{
		{"nothing held", nil, "", false},
		{"the colour before, the newest last", []*programme.Piece{white("L"), white("M")}, "M", true},
		{"of the kit's colour, older than others", []*programme.Piece{black("L"), white("M")}, "L", true},
		{"a size that the garment has no more", []*programme.Piece{white("5XL")}, "5XL", false},
	} {
		k, known := s.skuFor(p, line, c.pieces)
		require.Equal(t, c.known, known, c.name)
		require.Equal(t, programme.SKU{Garment: "tee", Colour: "black", Size: c.size}, k, c.name)
	}
	p.Sizes = map[string]string{"top": "L"}
	k, known := s.skuFor(p, line, []*programme.Piece{black("M")})
	require.True(t, known)
	require.Equal(t, "L", k.Size, "the roster says it")
}

// What ends is replaced by the line in force then: a week belongs to that of its middle, a
// piece to that of its day; where a later round will order it nobody does today.
func TestWhichLineReplacesByThen(t *testing.T) {
	black, red := programme.SKU{Garment: "tee", Colour: "black", Size: "M"},
		programme.SKU{Garment: "tee", Colour: "red", Size: "M"}
	l := &later{from: []float64{2.4, 5.5}, lines: []int{7, 8}, skus: []programme.SKU{black, red}}
	for week, line := range []int{3, 3, 7, 7, 7, 7, 8, 8} {
		require.Equal(t, line, l.lineIn(week, 3), "week %d", week)
	}
	for weeks, want := range map[float64]programme.SKU{0: teeM, 2.3: teeM, 2.5: black, 5.4: black, 5.6: red, 90: red} {
		require.Equal(t, want, l.on(weeks, teeM), "%g weeks", weeks)
	}
	waiting := &later{from: l.from, lines: l.lines, skus: l.skus, waits: true}
	for week, line := range []int{3, 3, -1, -1, -1, -1, -1} {
		require.Equal(t, line, waiting.lineIn(week, 3), "week %d", week)
	}
	require.Equal(t, teeM, waiting.on(90, teeM))
	require.Equal(t, teeM, (*later)(nil).on(90, teeM))
	require.Equal(t, 3, (*later)(nil).lineIn(90, 3))
}

// Once the kit changes colour, what ends on the day before is replaced in the old one and what
// ends on the day in the new one. The outlook of a piece names what replaces it, as far as the
// forecast looks.
func TestTheOutlookNamesWhatReplacesAPiece(t *testing.T) {
	change := programme.Date(20000 + 140)
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
		c.Roles[0].Kit[0].WearsAWeek = 1
		old := c.Roles[0].Kit[0]
		black := old
		black.Colour, black.From, black.InsteadOf, black.Change = "black", change, old.Former(), programme.AsWorn
		c.Roles[0].Kit = append(c.Roles[0].Kit, black)
	})
	in.ExpectNoStarters()
	wearers(in, 1, 2)
	black := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	s := newScene(in)
	on := func(day programme.Date) programme.SKU {
		return s.holders[0].later.on(float64(day-in.AsOf)/7, teeM)
	}
	require.Equal(t, teeM, on(change-1))
	require.Equal(t, black, on(change))
	near, far := in.Muster(19), in.Muster(60)
	require.Greater(t, near.Pieces[0].D50, in.AsOf+420, "they last beyond both")
	require.Zero(t, near.Pieces[0].Next, "within 19 weeks they would be replaced as they are")
	require.Equal(t, black, far.Pieces[0].Next)
}

// Replacements of replacements are of the line in force when they end: week by week, all
// pairs of a first ending and the one after it are gone through.
func TestRenewalsGoToTheLineOfTheirWeek(t *testing.T) {
	in := oneTee(t, func(*programme.Garment, *programme.Client) {})
	const weeks = 9
	f := newForecast(in, 7*weeks, &room{})
	f.weekly = [][]byCause{make([]byCause, weeks), make([]byCause, weeks)}
	class := in.Book.Classes()[0].Class
	rot := Rotation{Pace: 3}
	first := []float64{0.5, 0, 0.2, 0.9, 0, 0, 0.1, 0, 0}
	f.renew(renewing{class: class, rot: rot, line: 0, later: &later{from: []float64{4}, lines: []int{1},
		skus: []programme.SKU{{}}}}, first)
	again := f.predictors[class].renewedWeekly(rot)
	for w := range weeks {
		sum := 0.0
		for before := range w + 1 {
			sum += first[before] * again[w-before].sum()
		}
		line := 0
		if w >= 4 {
			line = 1
		}
		require.Greater(t, sum, 0.0)
		require.InDelta(t, sum, f.weekly[line][w].sum(), 1e-12, "week %d", w)
		require.Zero(t, f.weekly[1-line][w].sum(), "week %d", w)
	}
}

// That people leave who would have changed size lowers exchanges by the mean chance of
// being there, over the days.
func TestWhoLeavesExchangesNothing(t *testing.T) {
	in := oneTee(t, func(*programme.Garment, *programme.Client) {})
	in.ExpectNoStarters()
	wearers(in, 5, 2)
	in.Staffing.Resizing = wear.Gamma{Count: 40, Exposure: 80}
	exchanged := func(leaving float64) float64 {
		in.Staffing.Leaving = wear.Certain(leaving)
		m := in.Muster(26)
		return lineOf(t, &m, programme.SKU{Garment: "tee", Size: "L"}).ByCause.Resize
	}
	stays := exchanged(1e-12)
	require.Greater(t, stays, 1.0)
	for _, leaving := range []float64{0.3, 1, 2} {
		years := 26 * 7 / daysPerYear
		require.InEpsilon(t, stays*(1-math.Exp(-leaving*years))/(leaving*years), exchanged(leaving), 0.05,
			"%g a year", leaving)
	}
}

// How people come tells of how they go: every pair of sizes that groups of either may have is gone
// through, of which one in two is believed to be the same for both, by Bayes' theorem.
func TestComersAndGoersTellOfEachOther(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 20 {
		var come, goes sizings
		for i := range groupings {
			come.likelihood[i], goes.likelihood[i] = rng.Float64(), rng.Float64()*rng.Float64()
			come.rates[i] = wear.Gamma{Count: 1 + 9*rng.Float64(), Exposure: 2}
		}
		all, size, rate := 0.0, 0.0, 0.0
		for i, g := range groupings {
			for j, h := range groupings {
				p := (1 - inBoth) * g.Weight * h.Weight
				if i == j {
					p += inBoth * g.Weight
				}
				p *= come.likelihood[i] * goes.likelihood[j]
				all, size, rate = all+p, size+p*g.At, rate+p*come.rates[i].Mean()
			}
		}
		groups, learnt := come.learn(&goes)
		if size/all < aloneBelow {
			require.Nil(t, groups)
			require.Equal(t, come.rates[0], learnt, "one by one")
			continue
		}
		require.InEpsilon(t, size/all, groups.Size(), 1e-9)
		require.InEpsilon(t, rate/all, learnt.Mean(), 1e-9)
	}
}

// Where nobody knows somebody's pace, what is lost when all leave sooner is that of all paces
// together: by differences in the chance of staying at each of them.
func TestWhatIsLostByGoingAtSeveralPaces(t *testing.T) {
	const stay, slow, h = 0.6, 0.3, 1e-5
	paces := [2]float64{slow, 1 - slow}
	x := &tied{sum: []float64{7, 3, 2, 11, 6, 1}, moments: 3}
	for _, p := range paces {
		x.weights = append(x.weights, p*stay, p*0.3, p*0.1)
	}
	mean := func(stay float64) (sum float64) {
		for i, p := range paces {
			of := x.sum[3*i : 3*i+3]
			sum += p * (stay*of[0] + (1-stay)*(0.3*of[1]+0.1*of[2])/0.4)
		}
		return sum
	}
	require.InDelta(t, -(mean(math.Pow(stay, math.Exp(h)))-mean(math.Pow(stay, math.Exp(-h))))/(2*h),
		x.lostByGoing(), 1e-6)
}

// With a kit whose pieces are washed twice a week between them one gets by with those of two
// washes, and never with more than the kit.
func TestTheFewestPiecesToGetByWith(t *testing.T) {
	for wears, want := range map[float64]int{0.1: 1, 2: 1, 2.1: 2, 4: 2, 4.1: 3, 6: 3, 60: 4} {
		in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
			c.Roles[0].Kit[0].Each, c.Roles[0].Kit[0].WearsAWeek = 4, wears
		})
		s := &Splitting{In: in, Role: &in.Client.Roles[0]}
		require.Equal(t, want, s.Least(0), "%g wears, one wash each", wears)
	}
}

// A class is sampled evenly and by few enough pieces, of that class alone.
func TestAClassIsSampledEvenly(t *testing.T) {
	for _, people := range []int{1, 15, 16, 40, 100} {
		in := oneTee(t, func(*programme.Garment, *programme.Client) {})
		for i := range people {
			id := string(rune(1000 + i))
			in.Staff = append(in.Staff, programme.Person{StaffID: id, Role: "floor", Start: in.AsOf - 400,
				Sizes: map[string]string{"top": "M"}})
			for j := range 2 {
				in.History.InService = append(in.History.InService,
					programme.Piece{StaffID: id, SKU: teeM, Washes: float64(1 + 2*i + j)})
			}
		}
		f := newForecast(in, 70, &room{})
		pieces := 2 * people
		some := f.sample(in.Book.Classes()[0].Class)
		require.LessOrEqual(t, len(some), sampleSize)
		require.GreaterOrEqual(t, 2*len(some), min(pieces, sampleSize)-1)
		mean := 0.0
		for _, p := range some {
			mean += p.age / float64(len(some))
		}
		require.InEpsilon(t, float64(pieces+1)/2, mean, 0.15, "%d pieces", pieces)
		require.Empty(t, f.sample(wear.Class{Cloth: "another"}))
	}
}

// Whether pieces are too many to add up is what their steps say; that few pieces need no
// adding up of steps changes no answer.
func TestTooLongIsWhatTheStepsSay(t *testing.T) {
	for _, c := range []struct{ people, pieces int }{{20, 20}, {1, 23_000}, {5000, 23_000}, {15, 22_000},
		{15, 300_000}} {
		pieces := make([]programme.Piece, c.pieces)
		for i := range pieces {
			pieces[i].SKU, pieces[i].StaffID = teeM, string(rune(1000+i%c.people))
		}
		require.Equal(t, steps(pieces) > mostSteps, tooLong(pieces), "%+v", c)
	}
}
