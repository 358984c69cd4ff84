package stock_test

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/stock"
	"github.com/kitmuster/kitmuster/programme/table"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

func options() stock.Options {
	return stock.Options{
		Catalogue: ledger.NewCatalogue([]programme.Garment{{Code: "polo", Colours: []string{"navy", "white"},
			Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}, {Code: "2XL"}}}}),
		Artworks: match.NewChoices("harbour-mark", "mill-mark"),
		Clients:  match.NewChoices("harbour", "mill"),
		Options:  table.Options{Latest: programme.NewDate(2026, time.March, 9)},
	}
}

func TestReadTellsTheShelfFromWhatIsOnOrder(t *testing.T) {
	const file = "as_of,kind,code,colour,size,pieces,expected_on,client,made_on\n" +
		"2 Mar 2026,Blank,polo,Navy,XXL,12,,,\n" +
		"2 Mar 2026,blank,polo,navy,2XL,24,20 Mar 2026,,\n" +
		"2 Mar 2026,finished,polo,navy,m,0,,Harbour,\n" +
		"2 Mar 2026,transfer,harbour mark,,,60,,,14 Jan 2026\n"
	list, err := stock.Read("stock.csv", []byte(file), options())
	require.NoError(t, err)
	day := programme.NewDate(2026, time.March, 2)
	require.Equal(t, []programme.StockLine{
		{AsOf: day, Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "2XL"},
			Pieces: 12},
		{AsOf: day, Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "2XL"},
			Pieces: 24, Expected: day.Add(18)},
		{AsOf: day, Goods: programme.Goods{Kind: programme.Finished, Client: "harbour", Code: "polo", Colour: "navy",
			Size: "M"}},
		{AsOf: day, Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-mark"}, Pieces: 60,
			Made: programme.NewDate(2026, time.January, 14)},
	}, list.Rows)
}

// The command knows the day, so a list need not repeat it in every row.
func TestAListWithoutDatesIsThatOfTheDayOfTheCommand(t *testing.T) {
	list, err := stock.Read("stock.csv", []byte("kind,code,colour,size,pieces\nblank,polo,navy,M,12\n"), options())
	require.NoError(t, err)
	require.Len(t, list.Rows, 1)
	require.Equal(t, options().Latest, list.Rows[0].AsOf)
	require.False(t, list.Rows[0].AsOf.IsZero())
}

// Everywhere else a piece is written with slashes; a list may do so too.
func TestOneCellMaySayGarmentColourAndSize(t *testing.T) {
	list, err := stock.Read("stock.csv", []byte("kind,code,pieces\nblank,polo/Navy/XXL,12\nblank,polo/white/m,3\n"),
		options())
	require.NoError(t, err)
	require.Equal(t, programme.SKU{Garment: "polo", Colour: "navy", Size: "2XL"}, list.Rows[0].SKU())
	require.Equal(t, 3, list.Rows[1].Pieces)
	_, err = stock.Read("stock.csv", []byte("kind,code,pieces\nblank,polo/navy,12\n"), options())
	require.EqualError(t, err,
		`stock.csv line 2, column code: read "polo/navy", the size is missing; polo comes in M, L, 2XL.`)
}

func TestMalformedFilesGetOneClearError(t *testing.T) {
	tabletest.Malformed(t, "../../testdata/malformed/stock", func(file string, data []byte) error {
		_, err := stock.Read(file, data, options())
		return err
	})
}

func TestStockThatWasWrittenIsReadAsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := programme.NewDate(2025, 1, 1)
		var want []programme.StockLine
		for i := range rapid.IntRange(1, 8).Draw(t, "lines") {
			l := programme.StockLine{AsOf: day, Pieces: rapid.IntRange(0, 500).Draw(t, "pieces"),
				Expected: day.Add(1 + i)}
			l.Kind = rapid.SampledFrom([]programme.StockKind{programme.Blank, programme.Finished,
				programme.Transfer}).Draw(t, "kind")
			if l.Kind == programme.Transfer {
				l.Code, l.Made = "mill-mark", day.Add(-rapid.IntRange(1, 90).Draw(t, "age"))
			} else {
				l.Code, l.Colour, l.Size = "polo", "white", rapid.SampledFrom([]string{"M", "2XL"}).Draw(t, "size")
			}
			if l.Kind == programme.Finished {
				l.Client = "mill"
			}
			want = append(want, l)
		}
		var b bytes.Buffer
		require.NoError(t, stock.Write(&b, want))
		got, err := stock.Read("stock.csv", b.Bytes(), options())
		require.NoError(t, err, fmt.Sprint(b.String()))
		require.Equal(t, want, got.Rows)
	})
}

func FuzzRead(f *testing.F) {
	goldentest.Seeds(f, "../../testdata/malformed/stock/*")
	f.Add([]byte("as_of,kind,code,colour,size,pieces,expected_on,client\n2026-03-02,finished,polo,navy,M,3,2026-04-01,mill\n"))
	f.Add([]byte("as_of;kind;code;pieces;made_on\n2.3.2026;transfer;mill-mark;30;31.1.2026\n"))
	opt := options()
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		list, err := stock.Read("stock.csv", data, opt)
		if err != nil {
			return
		}
		var b bytes.Buffer
		require.NoError(t, stock.Write(&b, list.Rows))
		again, err := stock.Read("again.csv", b.Bytes(), opt)
		require.NoError(t, err)
		require.Equal(t, list.Rows, again.Rows)
	})
}
