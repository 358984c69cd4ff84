package catalogue_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/catalogue"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/table"
)

func options(headings map[string]string) catalogue.Options {
	return catalogue.Options{
		Options: table.Options{Headings: headings, Stated: headings},
		Garments: ledger.NewCatalogue([]programme.Garment{
			{Code: "tee", Name: "Cotton tee", Style: "K-180", Colours: []string{"black", "navy"},
				Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "2XL"}}},
			{Code: "apron", Colours: []string{"black"}, Sizes: []programme.GarmentSize{{Code: "one"}}},
		}),
	}
}

func sku(garment, colour, size string) programme.SKU {
	return programme.SKU{Garment: garment, Colour: colour, Size: size}
}

func TestAPriceListOfASupplierIsReadAsItIs(t *testing.T) {
	const file = "Style No;Color;Size;SKU;EAN;Net price;Pack size;Status\n" +
		"K-180;Black;M;K180BLKM;4006381333931;€ 3,95;1;in stock\n" +
		"k180;NAVY;XXL;K180NVY2X;;5.10 EUR;12;Discontinued\n" +
		"K-180;Jet Black;M;K180JBM;;3.95;1;in stock\n" +
		"K-999;Black;M;K999BLKM;;9.99;1;in stock\n" +
		"apron;;;AP1;;1.007,50;6;0\n" +
		"K-180;navy;;K180NV;;3.80;1;\nK-180;;M;K180M;;3.90;1;\n" +
		"tee/black/2XL;;;K180BLK2X;;4.95;1;in stock\n"
	list, err := catalogue.Read("prices.csv", []byte(file), options(map[string]string{
		"Style No": "garment", "Color": "colour", "SKU": "item_number", "EAN": "gtin", "Net price": "cost",
		"Pack size": "pack", "Status": "availability",
	}))
	require.NoError(t, err)
	require.Equal(t, []programme.Item{
		{SKU: sku("tee", "black", "M"), Number: "K180BLKM", GTIN: "4006381333931", Cost: 395, Pack: 1,
			Supply: programme.InSupply},
		{SKU: sku("tee", "navy", "2XL"), Number: "K180NVY2X", Cost: 510, Pack: 12, Supply: programme.Discontinued},
		{SKU: sku("apron", "black", "one"), Number: "AP1", Cost: 100750, Pack: 6, Supply: programme.OutOfStock},
		{SKU: sku("tee", "black", "2XL"), Number: "K180BLK2X", Cost: 495, Pack: 1, Supply: programme.InSupply},
	}, list.Rows)
	require.Equal(t, 1, list.Others)
	require.Equal(t, catalogue.Passed{Rows: 1, Examples: []string{"line 4: K-180, Jet Black, M"}}, list.Unlisted)
	require.Equal(t, catalogue.Passed{Rows: 2, Examples: []string{"line 7: K-180, navy", "line 8: K-180, M"}}, list.Open,
		"a cost is that of one colour and size")
}

// 629104150021 takes 3 as its check digit: the worked example of GS1's General
// Specifications, 7.9 (from memory); 036000291452 is the usual example of a UPC
// (from memory).
func TestWrongCellsAreNamed(t *testing.T) {
	for _, c := range []struct{ head, cell, want string }{
		{"gtin", "6291041500213", ""},
		{"gtin", "036000291452", ""},
		{"gtin", "6291041500214", "a digit is wrong"},
		{"gtin", "62910415002", "has 8, 12, 13 or 14 digits and this has 11"},
		{"gtin", "6.29104E+12", "digits alone"},
		{"cost", "1,234.50", ""},
		{"cost", "CHF 12.00", ""},
		{"cost", "1,234", "write it as 4.10"}, // a thousand, or a little more than one?
		{"cost", "4.105", "write it as 4.10"},
		{"cost", "-2", "write it as 4.10"},
		{"cost", "free", "write it as 4.10"},
		{"pack", "0", "between 1 and"},
		{"pack", "72", ""},
		{"availability", "120", ""},
		{"availability", "soon", "available, out of stock or discontinued"},
	} {
		file := "garment,colour,size," + c.head + "\ntee,black,M,\"" + c.cell + "\"\n"
		_, err := catalogue.Read("prices.csv", []byte(file), options(nil))
		if c.want == "" {
			require.NoError(t, err, c.cell)
			continue
		}
		require.ErrorContains(t, err, c.want, c.cell)
		require.ErrorContains(t, err, "line 2", c.cell)
	}
}

func TestAnItemStandsOnce(t *testing.T) {
	_, err := catalogue.Read("prices.csv", []byte("garment,colour,size,cost\ntee,black,M,4.10\nK-180,black,m,4.20\n"),
		options(nil))
	require.ErrorContains(t, err, "line 2 is the same garment, colour and size already")
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("garment,colour,size,item_number,gtin,cost,pack,availability\ntee,black,M,A1,6291041500213,4.10,12,available\n"))
	f.Add([]byte("garment;colour;size;cost\nK-180;navy;XXL;\"1.234,50\"\n"))
	f.Add([]byte("garment\tsize\tcost\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		list, err := catalogue.Read("prices.csv", data, options(nil))
		if err != nil || len(list.Rows) == 0 {
			return
		}
		var b bytes.Buffer
		require.NoError(t, catalogue.Write(&b, list.Rows))
		again, err := catalogue.Read("again.csv", b.Bytes(), options(nil))
		require.NoError(t, err, strings.ToValidUTF8(b.String(), "?"))
		require.Equal(t, list.Rows, again.Rows)
	})
}
