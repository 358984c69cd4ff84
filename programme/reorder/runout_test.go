package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// runsOut is the bakery whose burgundy aprons run out; so many of them lie there.
func runsOut(perWeek float64, owed, shelf int) reorder.Input {
	old := programme.SKU{Garment: "apron", Colour: "burgundy", Size: "one"}
	in := anInput(stocked(old, 0, shelf), stocked(sku("apron", "one"), perWeek, 0))
	client := *in.Client
	kit := append([]programme.KitLine(nil), client.Roles[0].Kit...)
	kit[1].From, kit[1].InsteadOf, kit[1].Change = monday-10, programme.Former{Garment: "apron", Colour: "burgundy"},
		programme.RunOut
	client.Roles = []programme.Role{{Code: "counter", Kit: kit}}
	in.Client = &client
	if owed > 0 {
		in.Owed = []reorder.Owed{{StaffID: "a", SKU: sku("apron", "one"), Pieces: owed}}
		in.Lines[1].Owed, in.Lines[1].Trigger.Owed, in.Lines[1].Quantity.Owed = owed, owed, owed
	}
	return in
}

// What is there of the old meets the first of the need, whatever that turns out to be:
// the two distributions are those of min(D, there) and of what is beyond it.
func TestWhatRunsOutMeetsTheFirstOfTheNeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		perWeek := rapid.Float64Range(0.1, 1.5).Draw(t, "a week")
		owed, shelf, blanks := rapid.IntRange(0, 4).Draw(t, "owed"), rapid.IntRange(0, 6).Draw(t, "shelf"),
			rapid.IntRange(0, 6).Draw(t, "blanks")
		in := runsOut(perWeek, owed, shelf)
		old, before := in.Lines[0].Quantity.SKU, in.Lines[1].Quantity
		left := map[programme.SKU]int{old: blanks}
		reorder.RunOut(&in, left)
		there := max(0, shelf+blanks-owed)
		low, high := 0.0, 0.0
		for n, p := range before.PMF {
			low += p * float64(min(n, there))
			high += p * float64(max(0, n-there))
		}
		if shelf+blanks == 0 {
			low, high = 0, before.Mean
		}
		require.InDelta(t, low, in.Lines[0].Quantity.Mean, 1e-6)
		require.InDelta(t, high, in.Lines[1].Quantity.Mean, 1e-6)
		require.Equal(t, min(owed, shelf+blanks), in.Lines[0].Owed)
		require.Equal(t, owed, in.Lines[0].Owed+in.Lines[1].Owed)
		require.GreaterOrEqual(t, left[old], 0)
	})
}

func TestOldBlanksArePressedBeforeNewOnesAreBought(t *testing.T) {
	in := runsOut(1, 3, 1)
	old := in.Lines[0].Quantity.SKU
	blanks := map[programme.SKU]int{old: 5}
	left := map[programme.SKU]int{old: 5}
	reorder.RunOut(&in, left)
	settled := reorder.Pull([]*reorder.Candidate{reorder.Consider(in, reorder.PullTermsOf(in.Shop))}, blanks,
		reorder.PullTermsOf(in.Shop))
	p := settled[0].Proposal
	require.NotNil(t, p)
	burgundy, black := p.Line(old), p.Line(sku("apron", "one"))
	require.NotNil(t, burgundy)
	require.Zero(t, burgundy.Buy, "nothing that is to run out is bought")
	require.Equal(t, burgundy.Order, burgundy.BlanksOnShelf)
	require.Equal(t, 5, burgundy.Order)
	require.NotNil(t, black)
	require.Equal(t, black.Order, black.Buy)
	require.Equal(t, "burgundy", p.Named[0].Colour)
	require.Equal(t, programme.CauseOwed, p.Named[0].Why)
}
