package store_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

func openAt(t *testing.T, now *time.Time) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"),
		store.Options{Now: func() time.Time { return *now }})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestSlotIsBegunOnceAndAgainAfterACrash(t *testing.T) {
	ctx := context.Background()
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	slot := store.Slot{Job: "round", Key: "2026-03-09T06:30", Due: now, Missed: 2}
	begin := func() (n int, err error) {
		err = s.InTx(ctx, func(tx *store.Tx) error { n, err = tx.BeginSlot(slot); return err })
		return n, err
	}
	n, err := begin()
	require.NoError(t, err)
	require.Equal(t, 1, n)
	n, err = begin() // the process died and came back
	require.NoError(t, err)
	require.Equal(t, 2, n)

	broken := errors.New("the work failed")
	require.ErrorIs(t, s.InTx(ctx, func(tx *store.Tx) error {
		require.NoError(t, tx.SlotDone(slot.Name()))
		return broken
	}), broken)
	got, ok, err := s.LastSlot(ctx, "round", now)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, store.SlotRunning, got.State, "rolled back with the work")

	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.SlotDone(slot.Name()) }))
	_, err = begin()
	require.ErrorIs(t, err, store.ErrSlotTaken)
	got, _, err = s.LastSlot(ctx, "round", now)
	require.NoError(t, err)
	require.Equal(t, store.Slot{Job: "round", Key: slot.Key, Due: now, State: store.SlotDone, Attempts: 2, Missed: 2,
		Started: now, Finished: now}, got)
}

func TestSlotsArePrunedByJob(t *testing.T) {
	ctx := context.Background()
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
		for i := range 50 {
			due := now.Add(time.Duration(i) * time.Minute)
			if _, err := tx.BeginSlot(store.Slot{Job: "outbox", Key: due.Format("2006-01-02T15:04Z"),
				Due: due}); err != nil {
				return err
			}
		}
		_, err := tx.BeginSlot(store.Slot{Job: "round", Key: "2026-03-02T06:30", Due: now.AddDate(0, 0, -7)})
		return err
	}))
	require.NoError(t, s.PruneSlots(ctx, 10))
	for due, kept := now.Add(49*time.Minute), 0; ; kept++ {
		slot, found, err := s.LastSlot(ctx, "outbox", due)
		require.NoError(t, err)
		if !found {
			require.Equal(t, 10, kept, "the newest")
			break
		}
		require.Equal(t, due.Format("2006-01-02T15:04Z"), slot.Key)
		due = due.Add(-time.Minute)
	}
	_, ok, err := s.LastSlot(ctx, "round", now)
	require.NoError(t, err)
	require.True(t, ok)
}

func TestOutboxKeepsBytesAndTakesAMessageOnce(t *testing.T) {
	ctx := context.Background()
	now := time.Date(2026, 3, 9, 6, 30, 0, 500, time.UTC)
	s := openAt(t, &now)
	letter := outbox.Letter{MessageID: "proposal-17@shop.example", Kind: "reorder", Client: "bakery", Proposal: 17,
		Subject: "Reorder",
		From:    "owner@shop.example", To: []string{"anna@shop.example", "ben@shop.example"},
		Bytes: []byte("From: x\r\n\r\n.\r\n\x00\xff")}
	var first, second int64
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) (err error) {
		if first, err = tx.Enqueue(letter); err != nil {
			return err
		}
		second, err = tx.Enqueue(letter)
		return err
	}))
	require.Equal(t, first, second)
	got, ok, err := s.Letter(ctx, first)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, letter.Bytes, got.Bytes)

	due, err := s.DuePostings(ctx, outbox.Post, now, 10)
	require.NoError(t, err)
	require.Len(t, due, 2)
	now = now.Add(time.Second)
	d, _ := outbox.DefaultPolicy().After(due[0].Delivery, &outbox.Result{Outcome: outbox.Temporary, Code: 451,
		Says: "later"}, now, 0.5)
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.Settle(first, d) }))
	due, err = s.DuePostings(ctx, outbox.Post, now.Add(59*time.Second), 10)
	require.NoError(t, err)
	require.Len(t, due, 1)
	due, err = s.DuePostings(ctx, outbox.Post, now.Add(time.Minute), 10)
	require.NoError(t, err)
	require.Len(t, due, 2)
	require.Equal(t, d, due[1].Delivery)
	n, err := s.TriedBetween(ctx, outbox.Post, now.Add(-time.Minute), now)
	require.NoError(t, err)
	require.Equal(t, 1, n)
}

// Texts go with age, but never that of a mail that somebody still waits for.
func TestTextsOfOldMailsAreForgotten(t *testing.T) {
	ctx := context.Background()
	start := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	now := start
	s := openAt(t, &now)
	enqueue := func(id string, to ...string) (n int64) {
		require.NoError(t, s.InTx(ctx, func(tx *store.Tx) (err error) {
			n, err = tx.Enqueue(outbox.Letter{MessageID: id, Kind: "round", Subject: id, From: "a@shop.example", To: to,
				Bytes: []byte("text of " + id)})
			return err
		}))
		return n
	}
	settle := func(n int64, to string, state outbox.State) {
		require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
			return tx.Settle(n, outbox.Delivery{Recipient: to, State: state, NextTry: now, FirstTry: now, LastTry: now,
				Settled: now})
		}))
	}
	text := func(n int64) string {
		l, ok, err := s.Letter(ctx, n)
		require.NoError(t, err)
		require.True(t, ok)
		return string(l.Bytes)
	}
	sent, half, late := enqueue("sent", "b@shop.example"), enqueue("half", "b@shop.example", "c@shop.example"),
		enqueue("late", "b@shop.example")
	settle(sent, "b@shop.example", outbox.Accepted)
	settle(half, "b@shop.example", outbox.Refused)
	now = start.AddDate(0, 0, 50)
	settle(late, "b@shop.example", outbox.Accepted)
	young := enqueue("young", "b@shop.example")
	settle(young, "b@shop.example", outbox.Accepted)

	forget := func(days int) int {
		n, err := s.ForgetTexts(ctx, start.AddDate(0, 0, days))
		require.NoError(t, err)
		return n
	}
	require.Zero(t, forget(0), "nothing is older than its own moment")
	require.Equal(t, 1, forget(40))
	require.Empty(t, text(sent))
	require.Equal(t, "text of half", text(half), "one recipient still waits for it")
	require.Equal(t, "text of late", text(late), "it went out later than that")
	require.Equal(t, 2, forget(51))
	require.Empty(t, text(late))
	require.Empty(t, text(young))
	require.Equal(t, "text of half", text(half))
	require.Zero(t, forget(51), "once")
	list, err := s.Postings(ctx, false, 10)
	require.NoError(t, err)
	require.Len(t, list, 5, "who got what stays on record")
}

func TestEventsAreCountedUntilTold(t *testing.T) {
	ctx := context.Background()
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	e := store.Event{Kind: programme.ImportRefused, Client: "bakery", What: "roster--bakery.csv was not taken in."}
	require.NoError(t, s.AddEvent(ctx, e))
	now = now.Add(time.Hour)
	require.NoError(t, s.AddEvent(ctx, e))
	events, err := s.UntoldEvents(ctx)
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Equal(t, 2, events[0].Times)
	require.Equal(t, now, events[0].Last)

	require.NoError(t, s.AddEvent(ctx, e)) // while the round composes its mail
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.MarkTold(events, 1) }))
	events, err = s.UntoldEvents(ctx)
	require.NoError(t, err)
	require.Len(t, events, 1, "what happened meanwhile is told next time")
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.MarkTold(events, 2) }))
	require.NoError(t, s.AddEvent(ctx, e))
	events, err = s.UntoldEvents(ctx)
	require.NoError(t, err)
	require.Equal(t, 1, events[0].Times)
}
