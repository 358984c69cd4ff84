package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestEveryReasonIsASentence(t *testing.T) {
	name := func(k programme.SKU) string { return "tee, black, " + k.Size }
	for kind, want := range map[reorder.ReasonKind]string{
		reorder.OwedNow:      "3 pieces of tee, black, M missing from somebody's kit today, with none on the shelf.",
		reorder.HandOut:      "3 pieces of tee, black, M missing from somebody's kit today, and on the shelf: hand them out.",
		reorder.ShortestLine: "About 3 pieces of tee, black, M would be short by then.",
		reorder.ComesTooLate: "3 pieces of tee, black, M on order, but they come too late.",
		reorder.WaitsForAYes: "3 pieces of tee, black, M needed; protective clothing waits for a person's yes.",
	} {
		require.Equal(t, want, reorder.Reason{Kind: kind, SKU: sku("tee", "M"), Pieces: 3}.Words(name))
	}
	for _, kind := range []reorder.ReasonKind{
		reorder.BelowTarget, reorder.AboveTarget, reorder.NothingToBuy, reorder.NoDemand, reorder.PulledForward,
	} {
		require.Regexp(t, `^[A-Z].*\.$`, reorder.Reason{Kind: kind}.Words(name))
	}
	require.Equal(t, "About 0.4 pieces of tee, black, M would be short by then.",
		reorder.Reason{Kind: reorder.ShortestLine, SKU: sku("tee", "M"), Pieces: 0.4}.Words(name))
	require.Contains(t, reorder.Reason{Kind: reorder.OwedNow, SKU: sku("tee", "M"), Pieces: 1}.Words(name),
		"1 piece of")
}

func TestWhatHoldsAnOrderBackIsASentence(t *testing.T) {
	name := func(k programme.SKU) string { return "tee, black, " + k.Size }
	for want, r := range map[string]reorder.Reason{
		"An order of 5 pieces is below the smallest one that the programme allows, and nobody is short of a piece.": {Kind: reorder.OrderTooSmall, Pieces: 5},
		"The last order was meant to last longer, and nothing has happened since that it was not made for.":         {Kind: reorder.JustOrdered},
		"The last order was meant to last longer; of what is missing, 1 piece were struck off it by the client, and nothing else has happened since that it was not made for.": {
			Kind: reorder.JustOrdered, Pieces: 1,
		},
		"About 1.9 pieces of tee, black, M would be short by then.": {Kind: reorder.ShortestLine, SKU: sku("tee", "M"),
			Pieces: 1.9},
		"About 2 pieces of tee, black, M would be short by then.": {Kind: reorder.ShortestLine,
			SKU: sku("tee", "M"), Pieces: 2},
		"of another version": {Kind: "of another version"},
	} {
		require.Equal(t, want, r.Words(name))
	}
}

func TestWhatHappenedSinceTheLastOrderIsASentence(t *testing.T) {
	name := func(id string) string { return "Ms " + id }
	what := func(k programme.SKU) string { return "tees " + k.Size }
	tee := sku("tee", "M")
	joined := func(staff ...string) reorder.Occurrence {
		return reorder.Occurrence{Kind: reorder.PeopleJoined, Staff: staff, Number: 7, On: monday}
	}
	since := "since the order of 2026-03-02 (proposal 7)"
	for want, o := range map[string]reorder.Occurrence{
		"New " + since + ": Ms A.":                              joined("A"),
		"New " + since + ": Ms A, Ms B, Ms C, Ms D.":            joined("A", "B", "C", "D"),
		"New " + since + ": Ms A, Ms B, Ms C, Ms D and 1 more.": joined("A", "B", "C", "D", "E"),
		"New " + since + ": Ms A, Ms B, Ms C, Ms D and 2 more.": joined("A", "B", "C", "D", "E", "F"),
		"1 piece missing from people's kits today, which nothing on the shelf or on its way will serve, " + since +
			".": {Kind: reorder.KitsShort, Pieces: 1, Number: 7, On: monday},
		"9 pieces came to an end " + since + ", where about 4 were expected.": {Kind: reorder.MoreEnded,
			Pieces: 9, Expected: 4.2, Number: 7, On: monday},
		"9 pieces of tees M came to an end " + since +
			", where about 2 were expected.": {Kind: reorder.MoreEnded, Pieces: 9, Expected: 1.5, SKU: &tee, Number: 7,
			On: monday},
		"3 pieces of tees M came to an end " + since +
			", where hardly one was expected.": {Kind: reorder.MoreEnded, Pieces: 3, Expected: 1.4, SKU: &tee,
			Number: 7, On: monday},
		"of another version": {Kind: "of another version"},
	} {
		require.Equal(t, want, o.Words(name, programme.Date.String, what))
	}
}

func TestSavingsDifferencesAndPlansAreNamed(t *testing.T) {
	money := func(m programme.Money) string { return "$" + m.Decimal() }
	require.Empty(t, (&reorder.Pulled{Kept: 120}).Words(money))
	require.Equal(t, ", after $1.20 for keeping the goods until then at 30% of their cost a year",
		(&reorder.Pulled{Kept: 120, KeptPerYear: 0.3}).Words(money))

	name := func(k programme.SKU) string { return k.Size }
	for want, d := range map[string]reorder.Difference{
		"M: 4 instead of 6": {Kind: reorder.OtherPieces, SKU: sku("tee", "M"),
			Was: 6, Is: 4},
		"14 pieces instead of 16":                      {Kind: reorder.OtherTotal, Was: 16, Is: 14},
		"in hands on 2026-03-09 instead of 2026-03-02": {Kind: reorder.OtherArrival, WasDay: monday, IsDay: monday + 7},
		"price $3.00 instead of $2.00":                 {Kind: reorder.OtherPrice, WasCost: 200, IsCost: 300},
		"of another version":                           {Kind: "of another version"},
	} {
		require.Equal(t, want, d.Words(programme.Date.String, money, name))
	}
	for kind, want := range map[reorder.ChoiceKind]string{
		reorder.MustBe: "what must be", reorder.Suggested: "suggested", reorder.LastsLonger: "lasts longer",
		reorder.WithinMoney: "for that money", "of another version": "of another version",
	} {
		require.Equal(t, want, kind.Words())
	}
}
