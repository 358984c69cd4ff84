package wear_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// One piece worn and washed seven times a week, issued on day 0. Its holder is
// away on days 15 to 28 and wears three days of seven on days 36 to 42. By hand:
//
//	days    1-7  8-14  15-21  22-28  29-35  36-42  43-49
//	washes  7    7     0      0      7      3      7
//	sum     7    14    14     14     21     24     31
func TestAPieceIsNotWashedWhileItsHolderIsAway(t *testing.T) {
	const first = programme.Date(20000)
	shop, client := oneTee(7)
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	staff := []programme.Person{{StaffID: "a", Role: "all", Start: first - 10, Spells: []programme.Spell{
		{From: first + 15, Until: first + 28}, {From: first + 36, Until: first + 42, Share: 3.0 / 7},
	}}}
	moves := []programme.Movement{{Date: first, Kind: programme.Issued, StaffID: "a",
		SKU: programme.SKU{Garment: "tee", Size: "OS"}, Pieces: 1}}
	for week, sum := range []float64{0, 7, 14, 14, 14, 21, 24, 31} {
		h := book.Trace(staff, moves, first.Add(7*week))
		require.Len(t, h.InService, 1)
		require.InDelta(t, sum, h.InService[0].Washes, 1e-9, "after week %d", week)
	}
	h := book.Trace(staff, moves, first+20)
	require.InDelta(t, 14, h.InService[0].Washes, 1e-9)
	require.InDelta(t, 6, h.InService[0].AwayDays, 1e-9)
	require.InDelta(t, 14, h.InService[0].UnseenDays, 1e-9, "nothing is lost while it hangs in a cupboard")

	// What was packed before the first day is not worn before it.
	staff[0].Start = first + 30
	h = book.Trace(staff, moves, first+20)
	require.Zero(t, h.InService[0].Washes)
}

// Whatever times away, shares, first days and seasons of a line come together, a stretch of
// time is worn as much as its days are, counted one by one, and whoever wears less has so
// many days there.
func TestAStretchIsWornAsItsDaysAre(t *testing.T) {
	const first = programme.Date(20000)
	edges := []programme.Date{0, programme.NewDate(2025, 4, 30), programme.NewDate(2025, 5, 1),
		programme.NewDate(2025, 8, 31), programme.NewDate(2025, 9, 1)}
	for _, months := range []programme.Months{{}, {4: true, 5: true, 6: true, 7: true}} {
		shop, client := oneTee(7)
		client.Work.WearByMonth = [12]float64{1, 1, 1, 1, 1.5, 2, 2, 1.5, 1, 0.5, 1, 1}
		client.Roles[0].Kit[0].Months = months
		book, err := wear.NewBook(shop, client, nil)
		require.NoError(t, err)
		use, ok := book.Use("all", "tee", "")
		require.True(t, ok)
		rapid.Check(t, func(t *rapid.T) {
			p := &programme.Person{StaffID: "a", Role: "all",
				Start: first.Add(rapid.IntRange(-60, 60).Draw(t, "start"))}
			day := first.Add(rapid.IntRange(-40, 40).Draw(t, "begin"))
			for n := rapid.IntRange(0, 9).Draw(t, "spells"); n > 0; n-- {
				last := day.Add(rapid.IntRange(0, 30).Draw(t, "days"))
				if edge := rapid.SampledFrom(edges).Draw(t, "edge"); edge >= day {
					last = edge
				}
				p.Spells = append(p.Spells, programme.Spell{From: day, Until: last,
					Share: rapid.SampledFrom([]float64{0, 0.4}).Draw(t, "share")})
				day = last.Add(rapid.IntRange(1, 40).Draw(t, "between"))
			}
			if n := len(p.Spells); n > 0 && rapid.Bool().Draw(t, "until further notice") {
				p.Spells[n-1].Until = 0
			}
			asOf := first.Add(rapid.IntRange(-70, 70).Draw(t, "as of"))
			from := first.Add(rapid.IntRange(-30, 300).Draw(t, "from"))
			to := from.Add(rapid.IntRange(0, 200).Draw(t, "to"))
			var worn, usual float64
			there := 0
			for d := from + 1; d <= to; d++ {
				share := p.ShareOn(d)
				if p.Start > asOf && d < p.Start {
					share = 0
				}
				usual += share * book.Wearing(d-1, d)
				if months.Has(d) {
					worn += share * book.Wearing(d-1, d)
				}
				if share > 0 && months.Has(d) {
					there++
				}
			}
			require.InDelta(t, usual, wear.AbsenceOf(p, asOf).Wearing(book, from, to), 1e-9)
			require.InDelta(t, worn, use.AbsenceOf(p, asOf).Wearing(book, from, to), 1e-9)
			require.Equal(t, there, use.AbsenceOf(p, asOf).There(from, to))
		})
	}
}

// Half of the wear until 1 September, from which day on the line is put away: of the week
// to 3 September three days are worn by half, and on none of the others is anything.
func TestTheLastDayOfATimeMayBeTheFirstOutOfSeason(t *testing.T) {
	shop, client := oneTee(7)
	client.Roles[0].Kit[0].Months = programme.Months{4: true, 5: true, 6: true, 7: true}
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	use, _ := book.Use("all", "tee", "")
	p := &programme.Person{StaffID: "a", Role: "all",
		Spells: []programme.Spell{{From: programme.NewDate(2025, 8, 29), Until: programme.NewDate(2025, 9, 1),
			Share: 0.5}}}
	away := use.AbsenceOf(p, programme.NewDate(2025, 9, 30))
	require.InDelta(t, 1.5, away.Wearing(book, programme.NewDate(2025, 8, 28), programme.NewDate(2025, 9, 3)), 1e-9)
	require.Equal(t, 3, away.There(programme.NewDate(2025, 8, 28), programme.NewDate(2025, 9, 3)))
}

// oneTee is a programme of one tee a head, worn and washed so often a week.
func oneTee(wears float64) (*programme.Shop, *programme.Client) {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "one",
			Sizes: []programme.GarmentSize{{Code: "OS"}}, WearsPerWash: 1}},
	}
	return shop, &programme.Client{
		Code: "one", Laundering: programme.Laundering{Regime: "home-low"}, Work: programme.Work{Duty: programme.Medium},
		Roles: []programme.Role{{Code: "all", Kit: []programme.KitLine{{Garment: "tee", Each: 1, WearsAWeek: wears}}}},
	}
}
