package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// What a report says of a class: lives in washes and months, curves from new to beyond the
// longest, and each cause by itself. All lives are known, so that it is the hazards' own.
func TestAReportSaysWhatTheHazardsSay(t *testing.T) {
	k := three(1)
	k.Mishap = Certain(1)
	k.lives = []life{{from: 500, to: 500, pace: 0.5, count: 2, ended: true, known: true, cause: programme.CauseWorn},
		{from: 30, to: 30, pace: 0.5, count: 1}}
	const pace = 3.5
	perWash := 1 / 365.2425 * 2
	survival := func(x float64) float64 { h := cumulative(x); return math.Exp(-h[0] - h[1] - h[2] - perWash*x) }
	r := k.Report(pace)
	require.InDelta(t, 0.5, survival(r.Piece.Washes.Median), 1e-6)
	require.InDelta(t, r.Piece.Washes.Median/pace/(365.2425/84), r.Piece.Months.Median, 1e-9)
	require.InDelta(t, r.Piece.Washes.Low/pace/(365.2425/84), r.Piece.Months.Low, 1e-9)
	require.InDelta(t, r.Piece.Washes.High/pace/(365.2425/84), r.Piece.Months.High, 1e-9)
	require.InDelta(t, 0.5, survival(r.Piece.Baseline), 1e-6, "the catalogue has the same lives")
	require.Len(t, r.Picture.After, 81)
	for i, p := range r.Picture.After {
		require.InDelta(t, 500*float64(i)/80, p.Washes, 1e-9, "to the last ending")
		require.InDelta(t, survival(p.Washes), p.Survival, 1e-9)
		require.InDelta(t, p.Survival, p.Lower, 1e-9)
		require.InDelta(t, p.Survival, p.Upper, 1e-9)
	}
	k.lives = nil
	r = k.Report(pace)
	require.InDelta(t, 1.8*r.Piece.Washes.High, r.Picture.Before[80].Washes, 1e-6)
	require.Len(t, r.Causes, 3)
	for i, want := range []float64{60 * math.Sqrt(math.Ln2), 80 * math.Cbrt(math.Ln2),
		100 * math.Pow(math.Ln2, 1/1.5)} {
		c := r.Causes[i]
		require.InDelta(t, want, c.Washes.Median, 1e-3*want)
		require.InDelta(t, want, c.Baseline, 1e-6)
		require.InDelta(t, c.Washes.Median/pace/(365.2425/84), c.Months.Median, 1e-9)
	}
	require.Equal(t, [3]programme.Cause{programme.CauseWorn, programme.CausePrint, programme.CausePrint},
		[3]programme.Cause{r.Causes[0].Cause, r.Causes[1].Cause, r.Causes[2].Cause})
	require.InDelta(t, 1, r.First.Sum(), 1e-5)
	require.Equal(t, Estimate{4, 2, 6}, Estimate{2, 1, 3}.times(2))
}

// The catalogue states lives by garment where it does, multiplied by duty and laundering within bounds.
func TestThePriorOfAClass(t *testing.T) {
	shop, client := catalogueOfOne()
	fabric, _ := shop.Baselines.Fabric("cotton-tee-carded")
	median := func(change func()) (Source, *Terms) {
		t.Helper()
		change()
		b, err := NewBook(shop, client, nil)
		require.NoError(t, err)
		return b.Classes()[0].Cloth, b.Classes()[0]
	}
	usual, terms := median(func() {})
	require.Equal(t, "cotton-tee-carded", usual.Code)
	require.InDelta(t, fabric.Median*usual.Factor, usual.Baseline.Median(), 1e-9)
	require.InDelta(t, fabric.Shape, usual.Baseline.Shape, 0)
	require.InDelta(t, shop.Baselines.PriorEndings, usual.Strength, 0)
	require.InDelta(t, shop.Baselines.MishapPerYear, terms.Mishap.Mean(), 1e-12)
	require.InDelta(t, shop.Baselines.PriorEndings, terms.Mishap.Count, 0)
	own, _ := median(func() { shop.Garments[0].Median = 90 })
	require.Equal(t, "tee", own.Code)
	require.InDelta(t, 90*usual.Factor, own.Baseline.Median(), 1e-9)
	require.InDelta(t, fabric.Shape, own.Baseline.Shape, 0)
	own, _ = median(func() { shop.Garments[0].Median, shop.Garments[0].Shape = 0, 4 })
	require.Equal(t, "tee", own.Code)
	require.InDelta(t, fabric.Median*usual.Factor, own.Baseline.Median(), 1e-9)
	require.InDelta(t, 4, own.Baseline.Shape, 0)

	shop.Garments[0].Shape = 0
	base := &shop.Baselines
	for duty, factor := range map[programme.Duty]float64{programme.Light: base.Light, programme.Medium: base.Medium,
		programme.Heavy: base.Heavy, programme.Dirty: base.Dirty, "": 1} {
		got, _ := median(func() { client.Work.Duty = duty })
		require.InDelta(t, usual.Factor/base.Medium*factor, got.Factor, 1e-9, "%q", duty)
	}
	client.Work.Duty = programme.Medium
	harsh, _ := median(func() { client.Laundering.Chlorine, client.Work.StrongSun = true, true })
	require.InDelta(t, max(0.25, usual.Factor*base.ChlorineCotton*base.StrongSun), harsh.Factor, 1e-9)
	require.Equal(t, "home-low+chlorine", harsh.Regime)
	least, _ := median(func() { base.ChlorineCotton = 0.01 })
	require.InDelta(t, 0.25, least.Factor, 0)
	most, _ := median(func() { base.ChlorineCotton = 50 })
	require.InDelta(t, 1.4, most.Factor, 0)
	food, terms := median(func() { client.Work.Food = true })
	require.InDelta(t, base.MishapPerYearFood, terms.Mishap.Mean(), 1e-12)
	require.NotZero(t, food.Factor)
	_, terms = median(func() { base.MishapPerYearFood = 0 })
	require.True(t, terms.Mishap.IsCertain())
	require.InDelta(t, 1e-12, terms.Mishap.Mean(), 1e-18)
	weak, terms := median(func() { base.PriorEndings, base.MishapPerYearFood = 0, 0.2 })
	require.InDelta(t, 0.5, weak.Strength, 0)
	require.InDelta(t, 0.5, terms.Mishap.Count, 0)
	known, terms := median(func() { client.Known = true })
	require.True(t, known.Known)
	require.True(t, terms.Mishap.IsCertain())
	require.InDelta(t, 0.2, terms.Mishap.Mean(), 1e-12)
	require.InDelta(t, usual.Factor*50*base.StrongSun, known.Factor, 1e-9, "what is known has no bounds")

	// A print by its decoration, softener and pre-press; one that outlives all garments is none.
	client.Known, client.Laundering.Chlorine = false, false
	d, _ := base.Decoration("plastisol")
	prints := func(change func()) []PrintTerms {
		change()
		b, err := NewBook(shop, client, nil)
		require.NoError(t, err)
		return b.Classes()[0].Prints
	}
	p := prints(func() {})
	require.Len(t, p, 1)
	require.InDelta(t, d.Median, p[0].Baseline.Median(), 1e-9)
	p = prints(func() { client.Laundering.Softener, client.Laundering.NoPrePress = true, true })
	require.InDelta(t, d.Median*base.Softener*base.NoPrePress, p[0].Baseline.Median(), 1e-9)
	require.Equal(t, "home-low+softener", p[0].Regime)
	for i := range base.Decorations {
		base.Decorations[i].Median = 0
	}
	require.Empty(t, prints(func() {}))
}

// How endings came to be known: those that a count found and those that were written down up to it.
func TestTheShareThatCountsFind(t *testing.T) {
	day := programme.NewDate(2026, 1, 5)
	shop, client := catalogueOfOne()
	client.Roles[0].Kit[0].Each = 9
	b, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	move := func(after int, kind programme.MovementKind, n int, why programme.Reason) programme.Movement {
		return programme.Movement{Date: day.Add(after), Kind: kind, Pieces: n, Reason: why, StaffID: "a",
			SKU: programme.SKU{Garment: "tee"}}
	}
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: day - 9}}
	hidden := func(moves ...programme.Movement) [3]int {
		h := b.Trace(staff, moves, day.Add(300))
		require.Equal(t, h.counted, h.Counts)
		want := 0.0
		if h.counted || h.found > 0 {
			want = float64(1+h.found) / float64(10+h.written+h.found)
		}
		require.InDelta(t, want, h.Hidden, 1e-12)
		return [3]int{h.written, h.found, len(h.Ended)}
	}
	issued := move(0, programme.Issued, 9, "")
	require.Equal(t, [3]int{0, 0, 1}, hidden(issued, move(50, programme.Ended, 1, programme.Worn)), "nobody counts")
	require.Equal(t, [3]int{1, 2, 3}, hidden(issued, move(50, programme.Ended, 1, programme.Worn),
		move(100, programme.Counted, 6, "")))
	require.Equal(t, [3]int{1, 0, 2}, hidden(issued, move(100, programme.Ended, 1, programme.Worn),
		move(100, programme.Counted, 8, ""), move(150, programme.Ended, 1,
			programme.Worn)), "up to the count, its day with it")
	require.Equal(t, [3]int{0, 0, 1}, hidden(issued, move(50, programme.Ended, 1, programme.SizeChange),
		move(100, programme.Counted, 8, "")), "what was still good is no ending")
	staff[0].End = day.Add(200)
	require.Equal(t, [3]int{0, 3, 9}, hidden(issued, move(200, programme.Ended, 6, programme.LeftReason)),
		"three of nine did not come back")
	client.CountEveryWeeks = 26
	h := b.Trace(staff, nil, day)
	require.InDelta(t, 0.1, h.Hidden, 1e-12, "one in ten before the first count")
}

// Pieces that were handed out worn, went back to the shelf, or left with their holder.
func TestWhereAPieceCameFromAndWent(t *testing.T) {
	day := programme.NewDate(2026, 1, 5)
	shop, client := catalogueOfOne()
	client.RecordsStart = day
	b, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	move := func(after int, kind programme.MovementKind, washes float64, why programme.Reason) programme.Movement {
		return programme.Movement{Date: day.Add(after), Kind: kind, Pieces: 1, Reason: why, StaffID: "a",
			SKU: programme.SKU{Garment: "tee"}, Washes: washes}
	}
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: day - 9}}
	one := func(moves ...programme.Movement) programme.Piece {
		h := b.Trace(staff, moves, day.Add(40))
		all := append(h.InService, h.Ended...)
		require.Len(t, all, 1)
		return all[0]
	}
	worn := one(move(10, programme.Issued, 12, ""))
	require.True(t, worn.Reissued)
	require.InDelta(t, 12, worn.EntryWashes, 1e-9)
	require.InDelta(t, 42, worn.Washes, 1e-9, "a wash a day")
	require.False(t, one(move(10, programme.Issued, 0, "")).Reissued)
	require.False(t, one(move(0, programme.Issued, 12, "")).Reissued, "what was there when records began")
	back := one(move(10, programme.Issued, 0, ""), move(30, programme.Ended, 20, programme.SizeChange))
	require.True(t, back.Shelved)
	require.False(t, back.Kept)
	require.False(t, one(move(10, programme.Issued, 0, ""), move(30, programme.Ended, 0, programme.SizeChange)).Shelved)
	same := one(move(10, programme.Issued, 0, ""), move(10, programme.Ended, 0, programme.Worn))
	require.Equal(t, day.Add(10), same.Ended, "on the day it was handed out")
	require.Zero(t, same.Washes)
	staff[0].End = day.Add(25)
	kept := one(move(10, programme.Issued, 0, ""))
	require.Equal(t, [3]bool{true, false, true}, [3]bool{kept.Kept, kept.Shelved, kept.Reason.StillGood()})
	require.InDelta(t, 15, kept.Washes, 1e-9)
	require.InDelta(t, 15, kept.UnseenDays, 1e-9)
	late := one(move(30, programme.Issued, 0, ""))
	require.Equal(t, day.Add(30), late.Ended, "handed out after the last day")
}

// Pieces of past orders are observed once a count has found them, by a day.
func TestAssumedPiecesAreObservedFromACountOn(t *testing.T) {
	day := programme.NewDate(2026, 1, 5)
	shop, client := catalogueOfOne()
	b, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	move := func(after int, kind programme.MovementKind, n int) programme.Movement {
		return programme.Movement{Date: day.Add(after), Kind: kind, Pieces: n, StaffID: "a",
			SKU: programme.SKU{Garment: "tee"}, Assumed: kind == programme.Issued}
	}
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: day - 9}}
	trace := func(moves ...programme.Movement) History { return b.Trace(staff, moves, day.Add(100)) }
	unseen := trace(move(0, programme.Issued, 1)).InService[0]
	require.True(t, unseen.Assumed)
	seen := trace(move(0, programme.Issued, 1), move(40, programme.Counted, 1)).InService[0]
	require.False(t, seen.Assumed)
	require.Equal(t, day.Add(40), seen.Since)
	require.InDelta(t, 40, seen.EntryWashes, 1e-9)
	require.InDelta(t, 100, seen.Washes, 1e-9)
	today := trace(move(0, programme.Issued, 1), move(100, programme.Counted, 1)).InService[0]
	require.False(t, today.Assumed, "on the day itself")
	gone := trace(move(0, programme.Issued, 1), move(40, programme.Counted, 0))
	require.True(t, gone.Ended[0].Assumed, "the first count did not find it: nobody knows that it was there")
	require.Zero(t, gone.found)
	found := trace(move(40, programme.Counted, 1))
	require.Equal(t, 1, found.Surplus)
	require.True(t, found.InService[0].Assumed)
	classes := b.Classes()
	half := lifetime{risks: classes[0].risks()}
	require.InDelta(t, half.medianLife()/2, found.InService[0].EntryWashes, 1e-9, "half-way through a life")
}
