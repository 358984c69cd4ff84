package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

var cafe = &programme.Client{Code: "harbour", Roles: []programme.Role{
	{Code: "barista", Kit: []programme.KitLine{{Garment: "polo", Colour: "navy", Each: 2}}},
	{Code: "clerk", Kit: []programme.KitLine{{Garment: "polo", Colour: "white", Each: 1}}},
}}

func crew() []programme.Person {
	m := map[string]string{"top": "M"}
	return []programme.Person{
		{StaffID: "0001", Role: "barista", Start: programme.NewDate(2023, 1, 1), Sizes: m},
		{StaffID: "0002", Role: "barista", Start: programme.NewDate(2023, 1, 1), Sizes: m},
		{StaffID: "0003", Role: "barista", Start: programme.NewDate(2025, 1, 1), Sizes: m},
		{StaffID: "0004", Role: "clerk", Start: programme.NewDate(2023, 1, 1), Sizes: m},
		{StaffID: "0005", Role: "barista", Start: programme.NewDate(2023, 1, 1), Sizes: map[string]string{"top": "L"}},
	}
}

func TestPastOrdersAreSpreadOverTheRosterOfThatDay(t *testing.T) {
	const file = "date,garment,colour,size,qty,order no\n2024-05-01,polo,navy,M,4,77\n2024-11-01,polo,navy,M,1,78\n2024-11-01,polo,white,L,2,78\n"
	opt := options()
	opt.Headings = map[string]string{"qty": "pieces", "order no": "ref"}
	orders, _, err := ledger.ReadOrders("orders.csv", []byte(file), opt)
	require.NoError(t, err)
	got, unplaced := ledger.Spread(orders, crew(), cafe, garments)
	navy := programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}
	may, nov := programme.NewDate(2024, time.May, 1), programme.NewDate(2024, time.November, 1)
	issued := func(d programme.Date, staff, ref string) programme.Movement {
		return programme.Movement{Date: d, Kind: programme.Issued, StaffID: staff, SKU: navy, Pieces: 1, Ref: ref, Assumed: true}
	}
	worn := issued(nov, "0001", "order 2024-11-01 polo/navy/M 78 #1 replaced")
	worn.Kind = programme.Ended
	require.Equal(t, []programme.Movement{
		issued(may, "0001", "order 2024-05-01 polo/navy/M 77 #1"),
		issued(may, "0002", "order 2024-05-01 polo/navy/M 77 #2"),
		issued(may, "0001", "order 2024-05-01 polo/navy/M 77 #3"),
		issued(may, "0002", "order 2024-05-01 polo/navy/M 77 #4"),
		worn,
		issued(nov, "0001", "order 2024-11-01 polo/navy/M 78 #1"),
	}, got)
	require.Len(t, unplaced, 1)
	require.Equal(t, 2, unplaced[0].Pieces)
}

// Every piece of an order is issued once to somebody who was there, wears that
// size and has it in the kit, or is reported as unplaced; nobody ever holds
// more than the kit says.
func TestSpreadLosesAndInventsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var orders []ledger.Order
		ordered := 0
		for range rapid.IntRange(1, 8).Draw(t, "orders") {
			o := ledger.Order{
				Date:   programme.NewDate(2022, 6, 1).Add(rapid.IntRange(0, 1200).Draw(t, "day")),
				SKU:    programme.SKU{Garment: "polo", Colour: rapid.SampledFrom([]string{"navy", "white"}).Draw(t, "colour"), Size: rapid.SampledFrom([]string{"M", "L", "S"}).Draw(t, "size")},
				Pieces: rapid.IntRange(1, 9).Draw(t, "pieces"),
			}
			ordered += o.Pieces
			orders = append(orders, o)
		}
		moves, unplaced := ledger.Spread(orders, crew(), cafe, garments)
		people := map[string]programme.Person{}
		for _, p := range crew() {
			people[p.StaffID] = p
		}
		held, refs, issued := map[string]int{}, map[string]bool{}, 0
		for _, m := range moves {
			p := people[m.StaffID]
			require.True(t, m.Assumed)
			require.True(t, p.ActiveOn(m.Date))
			require.Equal(t, p.Sizes["top"], m.SKU.Size)
			require.False(t, refs[m.Ref], m.Ref)
			refs[m.Ref] = true
			if m.Kind == programme.Issued {
				issued++
				held[m.StaffID]++
			} else {
				held[m.StaffID]--
			}
			require.LessOrEqual(t, held[m.StaffID], 2)
		}
		left := 0
		for _, u := range unplaced {
			left += u.Pieces
		}
		require.Equal(t, ordered, issued+left)
	})
}
