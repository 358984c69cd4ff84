package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
)

func TestTaxIsAddedOrWithin(t *testing.T) {
	// The VAT fraction of a rate of 20 % is 1/6, of 5 % it is 1/21 (HM Revenue & Customs, VAT guide, Notice 700; from
	// memory).
	vat := []programme.Tax{{Code: "standard", Name: "VAT", Percent: 20}, {Code: "reduced", Name: "VAT", Percent: 5}}
	shop := &programme.Shop{Garments: []programme.Garment{{Code: "tee"}, {Code: "small", Tax: "reduced"}}}
	shop.Terms = programme.Terms{Taxes: vat, Delivery: 600}
	goods := []programme.Sold{{Garment: "tee", Amount: 10000}, {Garment: "small", Amount: 2000},
		{Garment: "tee", Amount: 2000}}

	added := shop.Sale(&programme.Client{}, goods)
	require.Equal(t, programme.Sale{Goods: 14000, Delivery: 600, Total: 14600 + 2520 + 100,
		Taxes: []programme.TaxDue{{Tax: vat[0], On: 12600, Amount: 2520}, {Tax: vat[1], On: 2000, Amount: 100}}}, added)

	shop.Terms.TaxIncluded = true
	within := shop.Sale(&programme.Client{}, goods)
	require.Equal(t, programme.Money(12600/6), within.Taxes[0].Amount)
	require.Equal(t, programme.Money(95), within.Taxes[1].Amount, "2000/21 = 95.2")
	require.Equal(t, programme.Money(14600), within.Total)

	free := shop.Sale(&programme.Client{TaxFree: true}, goods)
	require.Empty(t, free.Taxes)
	require.Equal(t, programme.Money(14600), free.Total)
}

// Taking the tax out of a price with tax and adding it again gives that price.
func TestTaxAddedToThePriceWithoutItGivesThePriceWithIt(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		rate := programme.Tax{Code: "x", Percent: float64(rapid.IntRange(0, 3000).Draw(r, "hundredths")) / 100}
		gross := programme.Money(rapid.IntRange(0, 10_000_000).Draw(r, "gross"))
		sold := []programme.Sold{{Amount: gross}}
		shop := &programme.Shop{Terms: programme.Terms{Taxes: []programme.Tax{rate}, TaxIncluded: true}}
		tax := programme.Money(0)
		if s := shop.Sale(&programme.Client{}, sold); len(s.Taxes) > 0 {
			tax = s.Taxes[0].Amount
		}
		shop.Terms.TaxIncluded = false
		again := shop.Sale(&programme.Client{}, []programme.Sold{{Amount: gross - tax}})
		require.InDelta(r, float64(gross), float64(again.Total), 1)
	})
}
