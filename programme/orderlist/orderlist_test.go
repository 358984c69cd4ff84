package orderlist_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/orderlist"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func options() orderlist.Options {
	return orderlist.Options{Proposal: 12, Staff: match.NewChoices("0001", "0002"),
		Catalogue: ledger.NewCatalogue([]programme.Garment{{Code: "polo", Name: "Cotton polo", Colours: []string{"navy"}, Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}}})}
}

func TestRowsThatSayTheSameThingAddUp(t *testing.T) {
	const file = "proposal,staff_id,item,colour,size,pieces\n12,0001,polo,navy,M,2\n12,,Cotton Polo,,L,3\n,0001,polo,navy,M,1\n12,0002,polo,navy,M,0\n"
	got, err := orderlist.Read("list.csv", []byte(file), options())
	require.NoError(t, err)
	sku := func(size string) programme.SKU { return programme.SKU{Garment: "polo", Colour: "navy", Size: size} }
	require.Equal(t, []reorder.Listed{{StaffID: "0001", SKU: sku("M"), Pieces: 3}, {SKU: sku("L"), Pieces: 3}, {StaffID: "0002", SKU: sku("M")}}, got)
}

func TestEveryFaultOfAListIsReportedAndNothingTaken(t *testing.T) {
	const file = "proposal,staff_id,item,size,pieces\n13,0001,polo,M,2\n12,0009,polo,M,1\n12,0001,vest,M,1\n12,0001,polo,XL,1\n12,0001,polo,M,\n12,0001,polo,M,10001\n"
	got, err := orderlist.Read("list.csv", []byte(file), options())
	require.Nil(t, got)
	require.EqualError(t, err, `list.csv line 2, column proposal: read "13", but this list is taken for proposal 12; see whether it is the right file.
list.csv line 3, column staff_id: read "0009", but there is no such staff number in the roster; write one of 0001, 0002.
list.csv line 4, column item: read "vest", but there is no such garment in the shop's catalogue; write one of polo.
list.csv line 5, column size: read "XL", but the sizes are M, L (polo).
list.csv line 6, column pieces: the number of pieces is missing.
list.csv line 7, column pieces: read "10001", which is more than 10000 pieces in one row; check the number.`)
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("proposal,staff_id,item,colour,size,pieces\n12,0001,polo,navy,M,2\n,,polo,navy,L,1\n"))
	f.Add([]byte("item;size;qty\npolo;M;1\n"))
	opt := options()
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, err := orderlist.Read("list.csv", data, opt)
		if err != nil {
			return
		}
		seen := map[reorder.Listed]bool{}
		for _, r := range rows {
			require.GreaterOrEqual(t, r.Pieces, 0)
			r.Pieces = 0
			require.False(t, seen[r], "rows that say the same add up")
			seen[r] = true
		}
	})
}
