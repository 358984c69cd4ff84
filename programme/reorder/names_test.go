package reorder_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Whoever holds what: every piece ordered has one use, nobody gets more than
// they hold or are owed, and nobody is passed over for a likelier piece.
func TestNaming(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anInput()
		held, owed := map[string]int{}, map[string]int{}
		for _, s := range []string{"M", "L"} {
			l := stocked(sku("tee", s), rapid.Float64Range(0.05, 1.5).Draw(t, "rate"),
				rapid.IntRange(0, 4).Draw(t, "on hand"))
			for i := range rapid.IntRange(0, 6).Draw(t, "staff") {
				id := fmt.Sprint(s, i)
				if n := rapid.IntRange(0, 1).Draw(t, "owed"); n > 0 {
					in.Owed = append(in.Owed, reorder.Owed{StaffID: id, SKU: sku("tee", s), Pieces: n})
					l.Owed += n
					owed[id] = n
				}
				for range rapid.IntRange(0, 4).Draw(t, "pieces") {
					p := float64(rapid.IntRange(0, 10).Draw(t, "p")) / 10
					in.Outlooks = append(in.Outlooks, demand.Outlook{StaffID: id, SKU: sku("tee", s), PEnd: p,
						Cause: programme.CauseWorn})
					held[id]++
				}
			}
			in.Lines = append(in.Lines, l)
		}
		p, d := reorder.Propose(in)
		if !d.Due {
			return
		}
		used := map[programme.SKU]int{}
		for _, n := range p.Named {
			used[n.SKU] += n.Pieces
			require.Positive(t, n.Pieces)
			require.Positive(t, n.PEnd, "a piece that will not end needs no replacement")
			if n.Why == programme.CauseOwed {
				require.LessOrEqual(t, n.Pieces, owed[n.StaffID])
			} else {
				require.LessOrEqual(t, n.Pieces, held[n.StaffID])
			}
		}
		for _, n := range p.Pool {
			used[n.SKU] += n.ForStarters + n.Spare
			require.Positive(t, n.ForStarters+n.Spare, "no pool of nothing")
		}
		for _, l := range p.Lines {
			require.Equal(t, l.Order, used[l.SKU])
		}
	})
}

func TestPiecesOwedComeBeforePiecesThatMayEnd(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	in.Lines[0].Owed = 1
	in.Owed = []reorder.Owed{{StaffID: "z", SKU: sku("tee", "M"), Pieces: 1}}
	in.Outlooks = []demand.Outlook{{StaffID: "a", SKU: sku("tee", "M"), PEnd: 1, Cause: programme.CausePrint}}
	p, _ := reorder.Propose(in)
	require.Equal(t, "z", p.Named[0].StaffID)
	require.Equal(t, "a", p.Named[1].StaffID)
	require.Equal(t, programme.CausePrint, p.Named[1].Why)
}

func TestHiresAndSpareArePooled(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	p, _ := reorder.Propose(in)
	require.Empty(t, p.Named, "nobody is known to hold any")
	require.Equal(t, []reorder.Pool{{SKU: sku("tee", "M"), ForStarters: 1, Spare: 6}}, p.Pool,
		"0.7 expected hires' pieces, the rest for surprises")
}

// Whose pieces are named depends on the pieces, not on the order in which they are
// listed; one that cannot end before the cover does is nobody's reason.
func TestNamesDoNotDependOnTheOrderOfTheList(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.8, 0))
	for i, chance := range []float64{0.8, 0.8, 0.8, 0, 0.8} {
		in.Outlooks = append(in.Outlooks, demand.Outlook{
			StaffID: []string{"s1", "s1", "s1", "s0", "s2"}[i], SKU: sku("tee", "M"), Issued: monday.Add(-300 + i/2),
			Washes: 40 + float64(i), PEnd: chance, D50: monday.Add(20 + i), Cause: programme.CauseWorn,
		})
	}
	want, _ := reorder.ProposeAnyway(in)
	require.NotEmpty(t, want.Named)
	slices.Reverse(in.Outlooks)
	got, _ := reorder.ProposeAnyway(in)
	require.Equal(t, want.Named, got.Named)
	for _, n := range got.Named {
		require.NotEqual(t, "s0", n.StaffID, "it cannot end")
	}
}

// Dates are worked out where pieces are named, and not for clients that need nothing.
func TestOnlyWhoeverIsDueIsDated(t *testing.T) {
	for stock, due := range map[int]bool{0: true, 500: false} {
		in := anInput(stocked(sku("tee", "M"), 0.8, stock))
		in.Outlooks = []demand.Outlook{{StaffID: "a", SKU: sku("tee", "M"), PEnd: 0.8, Cause: programme.CauseWorn}}
		dated := 0
		in.Date = func() { dated, in.Outlooks[0].D50 = dated+1, monday.Add(20) }
		c := reorder.Consider(in, reorder.PullTerms{})
		require.Equal(t, c.Wanted(), due)
		p, d := reorder.Propose(in)
		require.Equal(t, due, d.Due)
		if !due {
			require.Zero(t, dated)
			continue
		}
		require.Equal(t, 2, dated, "once when it was considered, once for the proposal")
		require.Equal(t, monday.Add(20), p.Named[0].By)
	}
}
