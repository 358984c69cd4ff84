package store_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

func piecesOf(lines []programme.StockLine) (pieces int) {
	for _, l := range lines {
		pieces += l.Pieces
	}
	return pieces
}

// Worn pieces go out first, the most worn before others, and leave no empty line
// behind; an empty line of new ones stays, since a shelf is stated by them.
func TestWornPiecesGoFirstAndLeaveNoEmptyLine(t *testing.T) {
	s := open(t)
	day := programme.NewDate(2026, 3, 2)
	tee := programme.Goods{Kind: programme.Finished, Client: "bakery", Code: "tee", Colour: "black", Size: "M"}
	line := func(pieces, washes int) programme.StockLine {
		return programme.StockLine{AsOf: day, Goods: tee, Pieces: pieces, Washes: washes}
	}
	coming := line(9, 0)
	coming.Expected = day.Add(5)
	other := line(4, 12)
	other.Size = "L"
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
		return tx.AddStock([]programme.StockLine{line(2, 0), line(1, 8), line(3, 20), line(2, 40), coming, other})
	}))
	take := func(pieces int, want ...programme.StockLine) {
		t.Helper()
		require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
			got, err := tx.TakeWorn(tee, pieces, func(l programme.StockLine) bool { return l.Washes < 30 })
			require.Equal(t, want, got)
			return err
		}))
	}
	here := func(want ...programme.StockLine) {
		t.Helper()
		got, err := s.Stock(t.Context())
		require.NoError(t, err)
		require.ElementsMatch(t, want, got)
	}
	take(2, line(2, 20))
	here(line(2, 0), line(1, 8), line(1, 20), line(2, 40), coming, other)
	take(2, line(1, 20), line(1, 8))
	here(line(2, 0), line(2, 40), coming, other)
	take(5, line(2, 0))
	here(line(0, 0), line(2, 40), coming, other)
	take(1)
}

// Whatever is taken, in whatever order: what came out and what is left are what was
// there, nothing on order is touched and no line falls below nothing.
func TestNoPieceIsLostOrMadeByTaking(t *testing.T) {
	s := open(t)
	day := programme.NewDate(2026, 3, 2)
	rng := rand.New(rand.NewPCG(3, 14))
	goods := []programme.Goods{programme.TransferGoods("mark"), programme.TransferGoods("logo"),
		{Kind: programme.Finished, Client: "bakery", Code: "tee", Size: "M"}}
	var all []programme.StockLine
	for range 40 {
		l := programme.StockLine{AsOf: day, Goods: goods[rng.IntN(3)], Pieces: rng.IntN(6)}
		switch rng.IntN(4) {
		case 0:
			l.Expected = day.Add(rng.IntN(3))
		case 1:
			l.Made = day.Add(-rng.IntN(90))
		case 2:
			if l.Kind == programme.Finished {
				l.Washes = rng.IntN(4)
			}
		}
		all = append(all, l)
	}
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error { return tx.AddStock(all) }))
	here := map[programme.Goods]int{}
	ordered := 0
	for _, l := range all {
		if l.Expected.IsZero() {
			here[l.Goods] += l.Pieces
		} else {
			ordered += l.Pieces
		}
	}
	for range 60 {
		g, pieces := goods[rng.IntN(3)], rng.IntN(5)
		oldest := day.Add(-rng.IntN(60))
		require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
			var taken int
			var err error
			switch rng.IntN(3) {
			case 0:
				taken, err = tx.TakeStock(g, pieces)
				require.Equal(t, min(pieces, here[g]), taken)
			case 1:
				var lines []programme.StockLine
				lines, err = tx.TakeGood(g, pieces, oldest)
				for _, l := range lines {
					require.True(t, l.Made.IsZero() || l.Made >= oldest, "too old: %v", l)
				}
				taken = piecesOf(lines)
			default:
				var lines []programme.StockLine
				lines, err = tx.TakeWorn(g, pieces, nil)
				taken = piecesOf(lines)
				require.Equal(t, min(pieces, here[g]), taken)
			}
			require.LessOrEqual(t, taken, pieces)
			here[g] -= taken
			return err
		}))
		got, err := s.Stock(t.Context())
		require.NoError(t, err)
		left, coming := map[programme.Goods]int{}, 0
		for _, l := range got {
			require.GreaterOrEqual(t, l.Pieces, 0)
			if l.Expected.IsZero() {
				left[l.Goods] += l.Pieces
			} else {
				coming += l.Pieces
			}
		}
		for _, g := range goods {
			require.Equal(t, here[g], left[g], "%v", g)
		}
		require.Equal(t, ordered, coming)
	}
}
