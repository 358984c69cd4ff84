package message_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// aPick is two starters, one of whom gets pieces worn before and waits for others.
func aPick() message.Pick {
	tee, apron, vest := programme.SKU{Garment: "tee", Colour: "black", Size: "M"},
		programme.SKU{Garment: "apron", Colour: "black", Size: "one"},
		programme.SKU{Garment: "vest", Colour: "yellow", Size: "L"}
	return message.Pick{
		Shop: aShop(), Client: bakery(), On: monday, Number: 31, Why: "starters", Proposal: 21, Arrives: monday + 14,
		People: []programme.Person{
			{StaffID: "901", Name: "Kezia Larkfield", Role: "baker", Site: "Mill Lane", Start: monday + 3},
			{StaffID: "902", Name: "Tove Ashlock", Role: "baker", Start: monday + 3},
		},
		Bags: []message.PickBag{
			{StaffID: "901", Start: monday + 3, Take: []programme.Lot{{SKU: tee, Pieces: 1, Washes: 12},
				{SKU: tee, Pieces: 2}, {SKU: apron, Pieces: 2},
				{SKU: vest, Pieces: 1}}, Back: []programme.Lot{{SKU: apron, Pieces: 1}}},
			{StaffID: "902", Start: monday + 3, Take: []programme.Lot{{SKU: apron, Pieces: 2}},
				Coming: []programme.Lot{{SKU: tee, Pieces: 3}}, Held: []programme.Lot{{SKU: vest, Pieces: 1}},
				Unsized: []string{"2 × Crew tee: no size of top is known"},
				Later:   []message.LaterLot{{Lot: programme.Lot{SKU: apron, Pieces: 1}, On: monday + 73}}},
		},
	}
}

func TestAPickListSaysWhatToFetchForWhomAndWhatFollows(t *testing.T) {
	m, err := message.ComposePick(aPick())
	require.NoError(t, err)
	require.Equal(t, message.KindPick, m.Kind)
	require.Len(t, m.Attachments, 2)
	require.Empty(t, m.Warnings)
	for _, want := range []string{
		"Pick list 31: 8 pieces for Copper Hearth Bakery", "Road vest is high-visibility clothing",
		"1 × Crew tee, black, M (worn before, 12 washes)", "2 × Crew tee, black, M",
		"Comes back", "Follows with proposal 21", "kitmuster held bakery",
		"Not picked: 2 × Crew tee: no size of top is known", "starts Thu 5 Mar 2026",
		"On Thu 14 May 2026 the rest of the kit follows, where the person is still there: 1 × Bib apron",
	} {
		require.Contains(t, strings.Join(strings.Fields(m.Subject+" "+m.Text), " "), want)
	}
	again, err := message.ComposePick(aPick())
	require.NoError(t, err)
	require.Equal(t, m, again, "the same entry gives the same papers")
}

// Where nothing is fetched, the subject and the paper speak of what comes back.
func TestAPickListOfWhatComesBackAlone(t *testing.T) {
	x := aPick()
	for i := range x.Bags {
		x.Bags[i].Take = nil
	}
	m, err := message.ComposePick(x)
	require.NoError(t, err)
	require.Equal(t, "Pick list 31: 1 piece back from Copper Hearth Bakery", m.Subject)
	require.Contains(t, m.Text, "Attached: pick list (PDF).")
	require.Len(t, m.Attachments, 1)
}
