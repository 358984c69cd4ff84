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

func TestPastOrdersWithGermanHeadings(t *testing.T) {
	const file = "Datum;Artikel;Farbe;Größe;Anzahl;Rechnungs-Nr.\n24.05.2024;polo;navy;M;4;77\n"
	_, err := ledger.ReadOrders("bestellungen.csv", []byte(file), options())
	require.ErrorContains(t, err, `add --map "Datum=date" --map "Artikel=garment" --map "Farbe=colour" --map "Größe=size" --map "Anzahl=pieces" --map "Rechnungs-Nr.=ref"`)
	opt := options()
	opt.Headings = map[string]string{"Datum": "date", "Artikel": "garment", "Farbe": "colour", "Größe": "size",
		"Anzahl": "pieces", "Rechnungs-Nr.": "ref"}
	orders, err := ledger.ReadOrders("bestellungen.csv", []byte(file), opt)
	require.NoError(t, err)
	require.Equal(t, 4, orders.Rows[0].Pieces)
}

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

func TestPastOrdersBecomeTheStockThatPeopleAreAssumedToHold(t *testing.T) {
	const file = "date,garment,colour,size,qty,order no\n2024-05-01,polo,navy,M,4,77\n2024-11-01,polo,navy,M,1,78\n2024-11-01,polo,white,L,2,78\n"
	opt := options()
	opt.Headings = map[string]string{"qty": "pieces", "order no": "ref"}
	orders, err := ledger.ReadOrders("orders.csv", []byte(file), opt)
	require.NoError(t, err)
	got := ledger.Assume(orders.Rows, crew(), cafe, garments, nil, today)
	navy := programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}
	may, nov, started := programme.NewDate(2024, time.May, 1), programme.NewDate(2024, time.November, 1),
		programme.NewDate(2025, time.January, 1)
	issued := func(d programme.Date, staff, ref string) programme.Movement {
		return programme.Movement{Date: d, Kind: programme.Issued, StaffID: staff, SKU: navy, Pieces: 1, Ref: ref,
			Assumed: true}
	}
	require.Equal(t, []programme.Movement{ // the starter of January wears what had been bought before
		issued(may, "0002", "order 2024-05-01 polo/navy/M 77 #1"),
		issued(may, "0001", "order 2024-05-01 polo/navy/M 77 #2"),
		issued(may, "0002", "order 2024-05-01 polo/navy/M 77 #3"),
		issued(nov, "0001", "order 2024-11-01 polo/navy/M 78 #1"),
		issued(started, "0003", "order 2024-05-01 polo/navy/M 77 #4"),
	}, got.Movements)
	require.Len(t, got.Unplaced, 1)
	require.Equal(t, 2, got.Unplaced[0].Pieces)
	require.Zero(t, got.UsedUp)

	again := ledger.Assume(orders.Rows, crew(), cafe, garments, got.Movements, today)
	require.Empty(t, again.Movements)
	require.Equal(t, 5, again.Known)
	worn := append(got.Movements, programme.Movement{Date: today, Kind: programme.Ended, StaffID: "0001", SKU: navy,
		Pieces: 1, Reason: programme.Worn})
	require.Empty(t, ledger.Assume(orders.Rows, crew(), cafe, garments, worn, today).Movements,
		"an old order does not make good what was worn out since")
}

// Every piece of an order is with somebody who is there, wears that size and has
// it in the kit, or is used up, or is reported as unplaced; nobody holds more
// than the kit says, and no ending is invented.
func TestAssumedStockLosesAndInventsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var orders []programme.Movement
		ordered := 0
		for range rapid.IntRange(1, 8).Draw(t, "orders") {
			o := programme.Movement{
				Date: programme.NewDate(2022, 6, 1).Add(rapid.IntRange(0, 1200).Draw(t, "day")),
				SKU: programme.SKU{Garment: "polo", Colour: rapid.SampledFrom([]string{"navy", "white"}).Draw(t,
					"colour"), Size: rapid.SampledFrom([]string{"M", "L", "S"}).Draw(t, "size")},
				Pieces: rapid.IntRange(1, 9).Draw(t, "pieces"),
			}
			ordered += o.Pieces
			orders = append(orders, o)
		}
		staff := crew()
		staff[0].End = programme.NewDate(2024, 6, rapid.IntRange(1, 30).Draw(t, "leaves"))
		got := ledger.Assume(orders, staff, cafe, garments, nil, today)
		people := map[string]programme.Person{}
		for _, p := range staff {
			people[p.StaffID] = p
		}
		held, refs := map[string]int{}, map[string]bool{}
		for _, m := range got.Movements {
			p := people[m.StaffID]
			require.True(t, m.Assumed)
			require.Equal(t, programme.Issued, m.Kind)
			require.True(t, p.ActiveOn(m.Date) && p.ActiveOn(today))
			require.Equal(t, p.Sizes["top"], m.SKU.Size)
			require.False(t, refs[m.Ref], m.Ref)
			refs[m.Ref] = true
			held[m.StaffID]++
			require.LessOrEqual(t, held[m.StaffID], 2)
		}
		left := got.UsedUp
		for _, u := range got.Unplaced {
			left += u.Pieces
		}
		require.Equal(t, ordered, len(got.Movements)+left)
	})
}
