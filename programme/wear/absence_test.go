package wear_test

import (
	"testing"

	"github.com/stretchr/testify/require"

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
	moves := []programme.Movement{{Date: first, Kind: programme.Issued, StaffID: "a", SKU: programme.SKU{Garment: "tee", Size: "OS"}, Pieces: 1}}
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

// oneTee is a programme of one tee a head, worn and washed so often a week.
func oneTee(wears float64) (*programme.Shop, *programme.Client) {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments:  []programme.Garment{{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "one", Sizes: []programme.GarmentSize{{Code: "OS"}}, WearsPerWash: 1}},
	}
	return shop, &programme.Client{
		Code: "one", Laundering: programme.Laundering{Regime: "home-low"}, Work: programme.Work{Duty: programme.Medium},
		Roles: []programme.Role{{Code: "all", Kit: []programme.KitLine{{Garment: "tee", Each: 1, WearsAWeek: wears}}}},
	}
}
