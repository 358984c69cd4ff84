package round_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// accept says yes to a proposal.
func accept(t *testing.T, b *books.Books, number int64) {
	t.Helper()
	p, err := b.Store.Proposal(t.Context(), number)
	require.NoError(t, err)
	c, err := b.Client(t.Context(), p.Client)
	require.NoError(t, err)
	require.NoError(t, b.Store.InTx(t.Context(), func(tx *store.Tx) error {
		_, err := answer.Record(tx, b.Shop, c, answer.Answer{Number: number, Event: reorder.Accept, Day: asOf}, 0, nil)
		return err
	}))
}

// A customer says yes while a round computes. Its need is covered then, and
// must not be proposed a second time.
func TestAYesDuringARoundIsSeen(t *testing.T) {
	w := smallWorld(3)
	b := worldBooks(t, &w)
	first := runOnce(t, b, round.Options{})
	open, err := b.Store.Proposals(t.Context(), "", reorder.Drafted)
	require.NoError(t, err)
	require.NotEmpty(t, open)
	yes := open[0]

	composed := 0
	second := runOnce(t, b, round.Options{Reached: func(s round.Stage) {
		if s == round.Composed {
			if composed++; composed == 1 {
				accept(t, b, yes.Number)
			}
		}
	}})
	require.Equal(t, 2, composed, "computed anew, once")
	for i := range second.Plan.Entries {
		e := &second.Plan.Entries[i]
		if e.Client.Code == yes.Client && e.Proposal != nil {
			require.Less(t, e.Proposal.Pieces(), yes.Pieces(), "the same need once more")
		}
	}
	again, err := b.Store.Proposals(t.Context(), yes.Client, reorder.Drafted, reorder.Sent, reorder.Accepted)
	require.NoError(t, err)
	pieces := 0
	for i := range again {
		pieces += again[i].Pieces()
	}
	require.Less(t, pieces, 2*yes.Pieces())
	require.Equal(t, first.Number+2, second.Number, "each try has numbers of its own, used or not")
}

// Somebody enters something during every try. The round ends all the same, and
// what it did not see is there for the next.
func TestEntriesWithoutEndDoNotHoldARoundUp(t *testing.T) {
	w := smallWorld(3)
	b := worldBooks(t, &w)
	c := &w.Cases[0].Client
	composed := 0
	res, err := round.Run(context.Background(), b,
		round.Options{AsOf: asOf, Now: asOf.Time(), Clients: []string{c.Code}, Reached: func(s round.Stage) {
			if s != round.Composed {
				return
			}
			composed++
			_, err := record.Hire(t.Context(), b, record.Starter{Client: c.Code, Name: fmt.Sprint("Starter ", composed),
				Role: c.Roles[0].Code, Start: asOf})
			require.NoError(t, err)
		}})
	require.NoError(t, err)
	require.Equal(t, 4, composed)
	require.Positive(t, res.Number)
}

// Every kind of change that a round must see moves the mark of its client, and
// what a round need not see moves none.
func TestMarksFollowWhatARoundReads(t *testing.T) {
	w := smallWorld(3)
	b := worldBooks(t, &w)
	runOnce(t, b, round.Options{})
	code := w.Cases[0].Client.Code
	mark := func() store.Marks {
		m, err := b.Store.Marks(t.Context())
		require.NoError(t, err)
		return m
	}
	before := mark()
	require.NoError(t, b.Store.AddEvent(t.Context(),
		store.Event{Kind: programme.OtherTrouble, What: "a mail was refused"}))
	_, ok := mark().Changed(before, false)
	require.False(t, ok)

	_, err := record.Hire(t.Context(), b, record.Starter{Client: code, Name: "Kezia Larkfield",
		Role: w.Cases[0].Client.Roles[0].Code, Start: asOf})
	require.NoError(t, err)
	hired := mark()
	who, ok := hired.Changed(before, false)
	require.True(t, ok)
	require.Equal(t, code, who)
	_, ok = hired.Changed(before, true)
	require.False(t, ok, "nothing was agreed")
	_, ok = hired.Changed(before, false, w.Cases[1].Client.Code)
	require.False(t, ok, "another client")

	_, err = record.Undo(t.Context(), b, code, false)
	require.NoError(t, err)
	_, err = record.Hire(t.Context(), b, record.Starter{Client: code, Name: "Bodhi Cresswater",
		Role: w.Cases[0].Client.Roles[0].Code, Start: asOf})
	require.NoError(t, err)
	_, ok = mark().Changed(hired, false)
	require.True(t, ok, "taken back and entered anew under the same number")
}
