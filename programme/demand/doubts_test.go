package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

func TestGapsInTheRecordsAreToldWhereTheyMatter(t *testing.T) {
	in := &demand.Input{Learnt: map[wear.Class]*wear.Learnt{{Cloth: "tee"}: {Evidence: wear.Evidence{Endings: programme.Endings[int]{Worn: 40}}}}}
	require.Empty(t, in.Doubts())
	in.History.Implied = 3
	require.Empty(t, in.Doubts(), "fewer than one in ten")
	in.History.Implied = 4
	require.Len(t, in.Doubts(), 1)
	require.Contains(t, in.Doubts()[0], "4 pieces were handed out beyond the kits")
	in.History.Implied, in.History.Received = 9, 6
	require.Empty(t, in.Doubts(), "six were said to be gone when their proposal was received")
	in.History.Received = 5
	require.Contains(t, in.Doubts()[0], "4 pieces were handed out beyond the kits", "the others were said to be gone")
	in.History.Unmatched, in.History.Surplus, in.History.Hidden = 5, 2, 0.4
	require.Len(t, in.Doubts(), 4)
	in.History.Counts = true
	require.Len(t, in.Doubts(), 3, "counts tell")
	in.History.Counts = false
	for hidden, told := range map[float64]int{0.2: 4, 0.199: 3} {
		in.History.Hidden = hidden
		require.Len(t, in.Doubts(), told, "%g of the endings", hidden)
	}
	in.History.Hidden, in.History.InService = 0, make([]programme.Piece, 20)
	require.Len(t, in.Doubts(), 3, "two of twenty pieces are one in ten")
	in.History.InService = make([]programme.Piece, 21)
	require.Len(t, in.Doubts(), 2)
}

// A client that enters endings five weeks late is told of those to come, in words.
func TestEndingsStillToBeEnteredAreTold(t *testing.T) {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "top",
			Sizes: []programme.GarmentSize{{Code: "M"}}, WearsPerWash: 1}},
	}
	client := &programme.Client{
		Code: "inn", Laundering: programme.Laundering{Regime: "home-low"}, Work: programme.Work{Duty: programme.Medium},
		Roles: []programme.Role{{Code: "bar", Kit: []programme.KitLine{{Garment: "tee", Each: 1, WearsAWeek: 3}}}},
	}
	first := programme.NewDate(2025, 1, 6)
	sku := programme.SKU{Garment: "tee", Size: "M"}
	var staff []programme.Person
	var ledger []programme.Movement
	for i := range 30 {
		who := programme.Person{StaffID: string(rune('A' + i)), Role: "bar", Start: first,
			Sizes: map[string]string{"top": "M"}}
		staff = append(staff, who)
		for day := 3 * i; day < 330; day += 95 + 35 {
			in := programme.Movement{Date: first.Add(day), Entered: first.Add(day), Kind: programme.Issued,
				StaffID: who.StaffID, SKU: sku, Pieces: 1}
			ledger = append(ledger, in)
			out := in
			out.Date, out.Entered, out.Kind, out.Reason = first.Add(day+95), first.Add(day+95+35), programme.Ended,
				programme.Worn
			if out.Entered <= first.Add(330) {
				ledger = append(ledger, out)
			}
		}
	}
	in, err := demand.Prepare(shop, client, staff, ledger, nil, nil, first.Add(330))
	require.NoError(t, err)
	doubts := in.Doubts()
	require.Len(t, doubts, 1)
	require.Regexp(t, `^Endings come into the books late, nine in ten of them within 5 weeks\. Some ([5-9]|1[0-9]) of that time are probably not entered yet; the forecast counts them as needed now\.$`, doubts[0])
	late := in.Muster(6).Weekly[0].Endings.Sum()
	for i := range ledger {
		ledger[i].Entered = 0
	}
	in, err = demand.Prepare(shop, client, staff, ledger, nil, nil, first.Add(330))
	require.NoError(t, err)
	require.Empty(t, in.Doubts())
	require.Greater(t, late, in.Muster(6).Weekly[0].Endings.Sum()+2, "they are needed at once")
}

func TestALearntSeasonIsToldInWords(t *testing.T) {
	c := &programme.Client{}
	c.Work.WearByMonth = [12]float64{1, 1.1, 1.2, 1.3, 1.2, 1.1, 1, 0.9, 0.8, 0.7, 0.8, 0.9}
	in := &demand.Input{Client: c, SeasonLearnt: true}
	require.Len(t, in.Doubts(), 1)
	require.Contains(t, in.Doubts()[0], "hardest in April (1.3 times the usual) and least in October (0.7)")
}
