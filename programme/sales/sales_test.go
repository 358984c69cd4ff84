package sales_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sales"
)

var (
	march = programme.NewDate(2026, 3, 10)
	tee   = programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	apron = programme.SKU{Garment: "apron", Colour: "black", Size: "one"}
)

func theShop() *programme.Shop {
	return &programme.Shop{
		Garments: []programme.Garment{{Code: "tee"}, {Code: "apron", Tax: "low"}},
		Terms: programme.Terms{Delivery: 1200, Taxes: []programme.Tax{{Code: "full", Percent: 20},
			{Code: "low", Percent: 5}}},
	}
}

// Ten tees in two parts, of which two people at two sites got four, and six aprons.
func theClient() *sales.Client {
	p := reorder.Proposal{Number: 7, Client: "bakery", Lines: []reorder.Line{
		{SKU: tee, Order: 10, UnitPrice: 1450},
		{SKU: apron, Order: 6, UnitPrice: 1195},
	}}
	p.NoteCame([]reorder.Delivery{{SKU: tee, Came: 6}, {SKU: apron, Came: 6}}, march)
	p.NoteCame([]reorder.Delivery{{SKU: tee, Came: 3}}, march+7)
	p.NoteCame([]reorder.Delivery{{SKU: tee, Came: 1}}, march+7)
	return &sales.Client{
		Client: &programme.Client{Code: "bakery", Prices: []programme.Price{{Garment: "tee", Price: 1500},
			{Garment: "apron", Price: 1195}}},
		People:    programme.Roster{{StaffID: "1", Site: "High Street"}, {StaffID: "2", Site: "Station"}},
		Proposals: []reorder.Proposal{p},
		Movements: []programme.Movement{
			{Date: march, Kind: programme.Issued, StaffID: "1", SKU: tee, Pieces: 3, Proposal: 7},
			{Date: march, Kind: programme.Issued, StaffID: "2", SKU: tee, Pieces: 1, Proposal: 7},
			{Date: march + 20, Kind: programme.Issued, StaffID: "2", SKU: apron, Pieces: 1},
			{Date: march + 20, Kind: programme.Ended, StaffID: "2", SKU: apron, Pieces: 1},
		},
	}
}

type row struct {
	day    programme.Date
	site   string
	what   string
	pieces int
	amount programme.Money
	tax    string
}

func rows(lines []sales.Line) (out []row) {
	for _, l := range lines {
		out = append(out, row{l.Date, l.Site, l.Garment, l.Pieces, l.Amount, l.Tax.Code})
	}
	return out
}

func TestDeliveriesBySiteAndDay(t *testing.T) {
	got := rows(sales.Delivered(theShop(), theClient(), 0, march+30))
	require.Equal(t, []row{
		{march, "", "", 1, 1200, "full"}, // the delivery charge, once
		{march, "", "apron", 6, 7170, "low"},
		{march, "", "tee", 2, 2900, "full"},
		{march, "High Street", "tee", 3, 4350, "full"},
		{march, "Station", "tee", 1, 1450, "full"},
		{march + 7, "", "tee", 4, 5800, "full"},
	}, got)
	var sum programme.Money
	for _, r := range got {
		sum += r.amount
	}
	require.Equal(t, programme.Money(10*1450+6*1195+1200), sum, "what came, to the cent")
}

func TestWhatTheShopKeepsIsSoldWhenHandedOut(t *testing.T) {
	c := theClient()
	c.Client.PoolBelongsTo = programme.OwnedByShop
	require.Equal(t, []row{
		{march, "", "", 1, 1200, "full"},
		{march, "High Street", "tee", 3, 4350, "full"},
		{march, "Station", "tee", 1, 1450, "full"},
		{march + 20, "Station", "apron", 1, 1195, "low"},
	}, rows(sales.Delivered(theShop(), c, 0, march+30)))
}

func TestDaysOutsideAreLeftOutAndTaxFreeClientsBearNone(t *testing.T) {
	c := theClient()
	c.Client.TaxFree = true
	require.Equal(t, []row{{march + 7, "", "tee", 4, 5800, ""}}, rows(sales.Delivered(theShop(), c, march+1, march+7)))
}

// What came and has to be made again is sold when it first comes, and not once more with the new pieces; what is
// given up of it is not sold.
func TestPiecesMadeAgainAreSoldOnce(t *testing.T) {
	c := theClient()
	p := &c.Proposals[0]
	before := sales.Delivered(theShop(), c, 0, march+30)
	p.NoteCame([]reorder.Delivery{{SKU: tee, Came: 2}, {SKU: apron, Came: 1}}, march+14)
	require.Equal(t, before, sales.Delivered(theShop(), c, 0, march+30))
	p.Lines[1].GivenUp = 1
	got := rows(sales.Delivered(theShop(), c, 0, march+30))
	require.Contains(t, got, row{march, "", "apron", 5, 5 * 1195, "low"})
	require.Len(t, got, len(before))
}
