package record_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// heldVests is the small shop with aprons that protect, of which some wait.
func heldVests(t *testing.T) (*books.Books, []reorder.Hold) {
	t.Helper()
	b := reissuing(t, "0")
	g, ok := b.Shop.Garment("apron")
	require.True(t, ok)
	g.Protective, g.LabelWashes = programme.OtherPPE, 30
	return b, []reorder.Hold{
		{SKU: apron, Pieces: 5, Protective: programme.OtherPPE, LabelWashes: 30,
			Named: []reorder.Named{{StaffID: "0001", SKU: apron, Pieces: 2, Why: programme.CauseOwed, PEnd: 1}}},
		{SKU: bookstest.PoloM, Pieces: 3, Protective: programme.HighVisibility},
	}
}

func TestAYesToHeldClothingIsAnOrder(t *testing.T) {
	ctx := context.Background()
	b, holds := heldVests(t)
	before := whole(t, b)
	h := record.HeldAnswer{Options: on(bookstest.Summer), Yes: true, Holds: holds,
		Lines: []record.Handed{{Garment: "apron", Pieces: 4}}}
	h.Try = true
	_, err := record.AnswerHeld(ctx, b, h)
	require.NoError(t, err)
	require.Equal(t, before, whole(t, b))
	h.Try = false
	out, err := record.AnswerHeld(ctx, b, h)
	require.NoError(t, err)
	p, err := b.Store.Proposal(ctx, out.Proposal.Number)
	require.NoError(t, err)
	require.Equal(t, reorder.Accepted, p.State, "orders to suppliers have it")
	require.Equal(t, 4, p.Pieces())
	require.Equal(t, 2, p.Named[0].Pieces)
	require.Equal(t, []reorder.Pool{{SKU: apron, Spare: 2}}, p.Pool)
	require.NotEmpty(t, out.Papers)
	said, err := b.Store.HeldAnswers(ctx, "harbour")
	require.NoError(t, err)
	require.Len(t, said, 1)
	require.True(t, said[0].Yes)
	require.Equal(t, 4, said[0].Pieces)

	h.Yes, h.Lines = false, nil
	_, err = record.AnswerHeld(ctx, b, h)
	require.NoError(t, err)
	said, err = b.Store.HeldAnswers(ctx, "harbour")
	require.NoError(t, err)
	require.Len(t, said, 2)
	require.False(t, said[0].Yes)
	for range 2 {
		_, err = record.Undo(ctx, b, "harbour", false)
		require.NoError(t, err)
	}
	require.Equal(t, before, whole(t, b))
	for says, lines := range map[string][]record.Handed{
		"trouser does not wait for a yes": {{Garment: "trouser", Pieces: -1}},
		"is named twice":                  {{Garment: "apron", Pieces: -1}, {Garment: "apron", Pieces: 1}},
		"a yes to no piece is a no":       {{Garment: "apron", Pieces: 0}},
	} {
		_, err := record.AnswerHeld(ctx, b, record.HeldAnswer{Options: on(bookstest.Summer), Yes: true, Holds: holds,
			Lines: lines})
		require.ErrorContains(t, err, says)
	}
	_, err = record.AnswerHeld(ctx, b, record.HeldAnswer{Options: on(bookstest.Summer), Yes: true})
	require.ErrorContains(t, err, "nothing of Harbour Bakeries waits")
}
