package orderlist_test

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/orderlist"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func options() orderlist.Options {
	sizes := []programme.GarmentSize{{Code: "S"}, {Code: "M"}, {Code: "L"}, {Code: "2XL"}}
	people := []programme.Person{{StaffID: "0001"}, {StaffID: "0002"}, {StaffID: "b7"}}
	return orderlist.Options{
		Proposal: 17,
		Catalogue: ledger.NewCatalogue([]programme.Garment{
			{Code: "polo", Name: "Pique polo", SizeFamily: "top", Colours: []string{"navy", "white"}, Sizes: sizes},
			{Code: "apron", Name: "Bib apron", SizeFamily: "one", Colours: []string{"black"},
				Sizes: []programme.GarmentSize{{Code: "one"}}},
		}),
		Staff: match.ChoicesOf(people, func(p *programme.Person) (string, string) { return p.StaffID, "" }),
	}
}

func polo(size string) programme.SKU {
	return programme.SKU{Garment: "polo", Colour: "navy", Size: size}
}

var apron = programme.SKU{Garment: "apron", Colour: "black", Size: "one"}

// What comes back has been through a customer's spreadsheet.
func TestListsComeBackInManyShapes(t *testing.T) {
	want := []reorder.Listed{{SKU: polo("M"), StaffID: "0001", Pieces: 4}, {SKU: apron, StaffID: "0002", Pieces: 0},
		{SKU: polo("L"), Pieces: 2}}
	for name, text := range map[string]string{
		"as it went out":              "proposal,staff_id,name,site,item,colour,size,pieces,reason\n17,0001,Ada,Harbour,Pique polo,navy,M,4,worn out\n17,0002,Bo,Harbour,Bib apron,black,one,0,lost\n17,,,,Pique polo,navy,L,2,starters and spares\n",
		"semicolons, other order":     "size;pieces;staff_id;item;colour\nM;4;0001;Pique polo;navy\none;0;0002;Bib apron;black\nL;2;;Pique polo;navy\n",
		"marked as text by Excel":     "\ufeffproposal\tstaff_id\titem\tcolour\tsize\tpieces\r\n17\t0001\tpolo\tnavy\tm\t4\r\n17\t0002\tapron\t\t\t0\r\n17\t\tpolo\tNavy\tlarge\t2\r\n",
		"a title and empty lines":     "Uniform reorder\n\nproposal,staff_id,item,colour,size,pieces\n17,0001,polo,navy,M,4\n\n17,0002,apron,black,one,0\n17,,polo,navy,L,2\n",
		"a piece split over rows":     "staff_id,item,colour,size,pieces\n0001,polo,navy,M,3\n0002,apron,black,one,0\n,polo,navy,L,2\n0001,polo,navy,M,1\n",
		"zeros lost in a spreadsheet": "staff_id,item,colour,size,pieces\n1,polo,navy,M,4\n2,apron,black,one,0\n,polo,navy,L,2\n",
	} {
		t.Run(name, func(t *testing.T) {
			got, err := orderlist.Read("back.csv", []byte(text), options())
			require.NoError(t, err)
			require.ElementsMatch(t, want, got)
		})
	}
}

// Their own headings are named for the one file.
func TestOtherHeadingsAreMapped(t *testing.T) {
	opt := options()
	opt.Headings = map[string]string{"Wie viele": "pieces", "Was": "item"}
	opt.Stated = opt.Headings
	got, err := orderlist.Read("back.csv", []byte("Was;colour;size;Wie viele\npolo;navy;M;3\n"), opt)
	require.NoError(t, err)
	require.Equal(t, []reorder.Listed{{SKU: polo("M"), Pieces: 3}}, got)
}

// With one bad row nothing is taken, and every bad row is told with its place.
func TestEveryFaultIsTold(t *testing.T) {
	const head = "proposal,staff_id,item,colour,size,pieces\n"
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"another proposal's list": {head + "18,0001,polo,navy,M,4\n",
			[]string{"line 2", "proposal", `"18"`, "this list is taken for proposal 17"}},
		"an unknown person":        {head + "17,0009,polo,navy,M,4\n", []string{"line 2", "staff_id", `"0009"`}},
		"an unknown garment":       {head + "17,0001,pollo,navy,M,4\n", []string{"line 2", "item", `"pollo"`}},
		"a size it is not made in": {head + "17,0001,polo,navy,9XL,4\n", []string{"line 2", "size", `"9XL"`}},
		"no number":                {head + "17,0001,polo,navy,M,\n", []string{"line 2", "pieces"}},
		"half a piece":             {head + "17,0001,polo,navy,M,1.5\n", []string{"line 2", "pieces", `"1.5"`}},
		"fewer than none":          {head + "17,0001,polo,navy,M,-1\n", []string{"line 2", "pieces", `"-1"`}},
		"two of them": {head + "17,0001,polo,navy,M,x\n17,0002,polo,navy,M,2\n17,b7,pollo,navy,M,1\n",
			[]string{"line 2", "line 4"}},
		"no row":           {head, []string{"no row below the heading"}},
		"no pieces column": {"staff_id,item\n0001,polo\n", []string{"pieces"}},
	} {
		t.Run(name, func(t *testing.T) {
			rows, err := orderlist.Read("back.csv", []byte(c.text), options())
			require.Nil(t, rows)
			require.Error(t, err)
			for _, w := range c.want {
				require.ErrorContains(t, err, w)
			}
		})
	}
}

// twoPeople is a shop of one garment and a client of two people.
func twoPeople() orderlist.Options {
	return orderlist.Options{Proposal: 12, Staff: match.NewChoices("0001", "0002"),
		Catalogue: ledger.NewCatalogue([]programme.Garment{{Code: "polo", Name: "Cotton polo",
			Colours: []string{"navy"}, Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}}})}
}

func TestRowsThatSayTheSameThingAddUp(t *testing.T) {
	const file = "proposal,staff_id,item,colour,size,pieces\n12,0001,polo,navy,M,2\n12,,Cotton Polo,,L,3\n,0001,polo,navy,M,1\n12,0002,polo,navy,M,0\n"
	got, err := orderlist.Read("list.csv", []byte(file), twoPeople())
	require.NoError(t, err)
	sku := func(size string) programme.SKU { return programme.SKU{Garment: "polo", Colour: "navy", Size: size} }
	require.Equal(t, []reorder.Listed{{StaffID: "0001", SKU: sku("M"), Pieces: 3}, {SKU: sku("L"), Pieces: 3},
		{StaffID: "0002", SKU: sku("M")}}, got)
}

func TestEveryFaultOfAListIsReportedAndNothingTaken(t *testing.T) {
	const file = "proposal,staff_id,item,size,pieces\n13,0001,polo,M,2\n12,0009,polo,M,1\n12,0001,vest,M,1\n12,0001,polo,XL,1\n12,0001,polo,M,\n12,0001,polo,M,10001\n"
	got, err := orderlist.Read("list.csv", []byte(file), twoPeople())
	require.Nil(t, got)
	require.EqualError(t, err, `list.csv line 2, column proposal: read "13", but this list is taken for proposal 12; see whether it is the right file.
list.csv line 3, column staff_id: read "0009", but there is no such staff number in the roster; write one of 0001, 0002.
list.csv line 4, column item: read "vest", but there is no such garment in the shop's catalogue; write one of polo.
list.csv line 5, column size: read "XL", but the sizes are M, L (polo).
list.csv line 6, column pieces: the number of pieces is missing.
list.csv line 7, column pieces: read "10001", which is more than 10000 pieces in one row; check the number.`)
}

// write is the list of rows, with our headings.
func write(rows []reorder.Listed) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write([]string{"proposal", "staff_id", "item", "colour", "size", "pieces"})
	for _, r := range rows {
		_ = w.Write([]string{"17", r.StaffID, r.Garment, r.Colour, r.Size, strconv.Itoa(r.Pieces)})
	}
	w.Flush()
	return b.Bytes()
}

// Whatever is read, written and read again is the same.
func FuzzRead(f *testing.F) {
	goldentest.Seeds(f, "../../testdata/malformed/ledger/*")
	f.Add([]byte("proposal,staff_id,item,colour,size,pieces\n17,0001,polo,navy,M,4\n17,,apron,black,one,2\n"))
	f.Add([]byte("item;colour;size;pieces;staff_id\npolo;white;2XL;3;b7\npolo;white;2XL;1;b7\n"))
	f.Add([]byte("proposal,staff_id,item,colour,size,pieces\n12,0001,polo,navy,M,2\n,,polo,navy,L,1\n"))
	f.Add([]byte("item;size;qty\npolo;M;1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		rows, err := orderlist.Read("back.csv", data, options())
		if err != nil {
			require.Nil(t, rows)
			return
		}
		seen := map[reorder.Listed]bool{}
		for _, r := range rows {
			require.GreaterOrEqual(t, r.Pieces, 0)
			key := r
			key.Pieces = 0
			require.False(t, seen[key], "equal rows add up")
			seen[key] = true
		}
		again, err := orderlist.Read("again.csv", write(rows), options())
		require.NoError(t, err)
		require.Equal(t, rows, again)
	})
}
