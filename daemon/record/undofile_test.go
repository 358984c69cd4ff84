package record_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func takePieces(t *testing.T, b *books.Books, file, day string) {
	t.Helper()
	list := "date,movement,staff_id,garment,colour,size,pieces\n" + day + ",issued,0001,polo,navy,M,3\n" + day +
		",issued,0003,apron,black,one,2\n"
	report, err := handover.Ledger(context.Background(), b, "harbour", file, []byte(list),
		handover.Options{AsOf: bookstest.Autumn})
	require.NoError(t, err)
	require.Equal(t, 2, report.New)
}

func TestALedgerFileIsTakenBackWhileNothingWasBuiltOnIt(t *testing.T) {
	ctx := context.Background()
	b := bookstest.New(t)
	before := bookstest.Of(t, b)
	takePieces(t, b, "pieces.csv", "2025-06-02")
	done, err := record.UndoFile(ctx, b, "harbour", false)
	require.NoError(t, err)
	require.Equal(t, "taken back: pieces.csv, with the 2 rows that it had brought", done.Text)
	require.Equal(t, before, bookstest.Of(t, b), "to the last row")
	_, err = record.UndoFile(ctx, b, "quay", false)
	require.ErrorIs(t, err, record.ErrNoFile)
}

func TestALedgerFileStaysOnceSomethingWasBuiltOnIt(t *testing.T) {
	ctx := context.Background()
	later := map[string]struct {
		do   func(t *testing.T, b *books.Books)
		says string
	}{
		"an entry by hand": {func(t *testing.T, b *books.Books) {
			_, err := record.Enter(ctx, b, record.Move{Client: "harbour", Person: "0001", Kind: programme.Ended,
				Garment: "polo", Pieces: 1, On: bookstest.Summer})
			require.NoError(t, err)
		}, "'kitmuster undo harbour' takes that back first"},
		"a list of staff": {func(t *testing.T, b *books.Books) {
			list := "staff_id,name,role,start_date,size_top\n0011,Jory Kettlesing,barista,2025-06-02,L\n"
			_, err := handover.Roster(ctx, b, "harbour", "staff.csv", []byte(list),
				handover.Options{AsOf: bookstest.Autumn})
			require.NoError(t, err)
		}, "the roster staff.csv was taken in after it"},
		"a proposal": {func(t *testing.T, b *books.Books) {
			require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
				if err := tx.AddRound(store.Round{ID: 1, AsOf: bookstest.Autumn, Summary: []byte("{}")}); err != nil {
					return err
				}
				p := &reorder.Proposal{Number: 7, Client: "harbour", AsOf: bookstest.Autumn, State: reorder.Drafted,
					OrderBy: bookstest.Autumn}
				return tx.AddProposal(1, p)
			}))
		}, "proposal 7 was made from it"},
	}
	for name, c := range later {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			takePieces(t, b, "pieces.csv", "2025-06-02")
			c.do(t, b)
			before := bookstest.Of(t, b)
			_, err := record.UndoFile(ctx, b, "harbour", false)
			require.ErrorContains(t, err, "cannot take pieces.csv back")
			require.ErrorContains(t, err, c.says)
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}
