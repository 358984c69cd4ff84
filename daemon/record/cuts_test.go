package record_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
)

// inTwoCuts is the small shop, where harbour's baristas wear the polo in a ladies' cut too,
// and pieces that come back go out again.
func inTwoCuts(t testing.TB) *books.Books {
	t.Helper()
	return bookstest.NewInTwoCuts(t, "reissue_life_left: 0.1\n")
}

var ladiesS = programme.SKU{Garment: "polo-ladies", Colour: "navy", Size: "S"}

// 0001 holds three polos M and wears the ladies' S from now on; two of it lie on the shelf.
func TestAnotherCutIsAnExchange(t *testing.T) {
	ctx := context.Background()
	b := inTwoCuts(t)
	lie(t, b, programme.Lot{SKU: ladiesS, Pieces: 2})
	before := whole(t, b)
	out, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
		Sizes: map[string]string{"ladies-top": "S"}})
	require.NoError(t, err)
	k := out.Kits[0]
	require.Equal(t, []programme.Lot{{SKU: ladiesS, Pieces: 2}}, k.Picked)
	require.Equal(t, []programme.Lot{{SKU: ladiesS, Pieces: 1}}, k.Waiting)
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloM, Pieces: 1}}, k.Kept)
	require.Equal(t, 2, total(k.Shelved))
	require.Equal(t, map[programme.SKU]int{ladiesS: 2, bookstest.PoloM: 1}, held(t, b, "0001", bookstest.Summer))

	// Back again: the one that is still held fits, and so do the two on the shelf.
	out, err = record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer + 1), Person: "0001",
		Sizes: map[string]string{"ladies-top": "none"}})
	require.NoError(t, err)
	require.Equal(t, 2, total(out.Kits[0].Picked))
	require.Equal(t, map[programme.SKU]int{bookstest.PoloM: 3}, held(t, b, "0001", bookstest.Summer+1))
	for range 2 {
		_, err = record.Undo(ctx, b, "harbour", false)
		require.NoError(t, err)
	}
	require.Equal(t, before, whole(t, b))
}

func TestAStarterOfNoKnownCutIsAskedFor(t *testing.T) {
	b := inTwoCuts(t)
	out, err := record.Start(context.Background(), b,
		record.Starters{Options: on(bookstest.Summer),
			People: []record.Starter{{Name: "Kezia Larkfield", Role: "barista", Start: bookstest.Summer + 3}}})
	require.NoError(t, err)
	require.Equal(t, []string{"3 × Cotton polo: no size of top or ladies-top is known, so nor which cut"},
		out.Kits[0].Unsized)
	require.Contains(t, strings.Join(hint.Commands(out.Notes), "\n"),
		"when cut and size are known: kitmuster starter harbour "+out.Kits[0].StaffID+" ladies-top=SIZE top=SIZE")
}

// A size of the cut that somebody does not wear changes nothing they are given: it is said,
// and how the other cut is entered.
func TestASizeOfTheOtherCutAloneIsNoChangeOfCut(t *testing.T) {
	ctx, b := t.Context(), inTwoCuts(t)
	_, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
		Sizes: map[string]string{"ladies-top": "S"}})
	require.NoError(t, err)
	const says = "has size ladies-top S and so wears Ladies' polo; for the other cut give '--size ladies-top=none' as well"
	_, err = record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
		Sizes: map[string]string{"top": "L"}})
	require.ErrorContains(t, err, says)
	done, err := record.Alter(ctx, b, record.Alteration{Client: "harbour", Person: "0001",
		Sizes: map[string]string{"top": "L"}})
	require.NoError(t, err)
	require.Len(t, done.Notes, 1)
	require.Contains(t, done.Notes[0].Command, says)
	_, err = record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
		Sizes: map[string]string{"top": "M", "ladies-top": programme.NoSize}})
	require.NoError(t, err)
}
