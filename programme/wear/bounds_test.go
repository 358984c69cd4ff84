package wear_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// A delivery is what was handed out from its first day on and before the day after its
// last, of its garment; a changed laundry has all pieces.
func TestASuspectedGroupIsCountedFromItsFirstDayToBeforeItsLast(t *testing.T) {
	from := programme.NewDate(2026, 1, 5)
	to := from.Add(28)
	var h wear.History
	for i, on := range []programme.Date{from - 1, from, to - 1, to, from + 3, from + 4} {
		garment := "tee"
		if i == 4 {
			garment = "apron"
		}
		h.InService = append(h.InService, programme.Piece{StaffID: []string{"a", "b", "c", "d", "e", "b"}[i],
			SKU: programme.SKU{Garment: garment}, Issued: on})
	}
	for name, c := range map[string]struct {
		group         wear.Suspicion
		inUse, people int
	}{
		"tees of four weeks":       {wear.Suspicion{Delivery: true, Garment: "tee", From: from, To: to}, 3, 2},
		"all garments":             {wear.Suspicion{Delivery: true, From: from, To: to}, 4, 3},
		"whenever they were given": {wear.Suspicion{From: from}, 6, 5},
	} {
		c.group.Find(&h)
		require.Equal(t, [2]int{c.inUse, c.people}, [2]int{c.group.InUse, c.group.People}, name)
	}
}

// Delays teach from the first day of entries on, for 400 days, up to a quarter.
func TestWhichDelaysTeach(t *testing.T) {
	asOf := programme.NewDate(2026, 3, 2)
	row := func(date, entered programme.Date) *programme.Movement {
		return &programme.Movement{Kind: programme.Ended, Date: date, Entered: entered, Reason: programme.Worn}
	}
	old := row(asOf-2000, asOf-600) // books begin to be kept 600 days ago
	for name, c := range map[string]struct {
		first, row *programme.Movement
		teaches    bool
	}{
		"entered on its day":             {old, row(asOf-50, asOf-50), true},
		"entered before its day":         {old, row(asOf-50, asOf-51), false},
		"91 days late":                   {old, row(asOf-200, asOf-109), true},
		"a quarter late":                 {old, row(asOf-200, asOf-108), false},
		"399 days ago":                   {old, row(asOf-399, asOf-390), true},
		"400 days ago":                   {old, row(asOf-400, asOf-390), false},
		"on the first day of entries":    {row(asOf-900, asOf-30), row(asOf-30, asOf-29), true},
		"before the first day of them":   {row(asOf-900, asOf-30), row(asOf-31, asOf-29), false},
		"nobody knows when it was noted": {old, row(asOf-50, 0), false},
		"still good": {old, &programme.Movement{Kind: programme.Ended, Date: asOf - 50,
			Entered: asOf - 50, Reason: programme.LeftReason}, false},
	} {
		got := wear.DelaysOf([]*programme.Movement{c.first, c.row}, asOf)
		if c.teaches {
			require.Equal(t, []*programme.Movement{c.row}, got, name)
		} else {
			require.Empty(t, got, name)
		}
	}
	require.True(t, (&wear.Late{Days: 14, Share: 0.5}).Behind(), "a week on average")
	require.False(t, (&wear.Late{Days: 13, Share: 0.5}).Behind())
	require.False(t, (&wear.Late{Days: 40, Share: 0.1}).Behind())
}

// With one constant hazard an ending that nobody saw lies in each tenth of its interval
// with the chance of an exponential distribution cut to that interval; all add up to it.
func TestAnUnseenEndingIsSpreadByItsChances(t *testing.T) {
	const perYear, pace, from, to = 40.0, 0.4, 5.0, 45.0
	rate := perYear / 365.2425 / pace // per wash
	parts := wear.SpreadUnseen(wear.Certain(perYear), from, to, pace)
	require.Len(t, parts, 10)
	sum, whole := 0.0, math.Exp(-rate*from)-math.Exp(-rate*to)
	for i, o := range parts {
		a, b := from+4*float64(i), from+4*float64(i+1)
		require.InDelta(t, (math.Exp(-rate*a)-math.Exp(-rate*b))/whole, o.Count, 1e-9)
		require.InDelta(t, (a+b)/2, o.Exit, 1e-9)
		sum += o.Count
	}
	require.InDelta(t, 1, sum, 1e-9)
}
