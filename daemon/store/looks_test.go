package store_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Four letters: one waits with one of two, one was refused, one given up, one came back after all.
func TestTheOutboxIsCountedHurriedAndCleared(t *testing.T) {
	ctx := t.Context()
	start := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	now := start
	s := openAt(t, &now)
	letter := func(id string, way outbox.Way, to ...string) outbox.Letter {
		return outbox.Letter{MessageID: id, Way: way, Kind: "reorder", Client: "bakery", Subject: "about " + id,
			From: "a@shop.example", To: to, Bytes: []byte("text of " + id), Proposal: 9}
	}
	within(t, s, func(tx *store.Tx) error {
		return tx.EnqueueAll([]outbox.Letter{
			letter("one", "", "b@x.example", "c@x.example"), letter("two", "", "b@x.example"),
			letter("three", "", "B@x.example"), letter("draft", outbox.Draft, "b@x.example"),
		})
	})
	settle := func(id int64, to string, state outbox.State, at time.Time) {
		within(t, s, func(tx *store.Tx) error {
			return tx.Settle(id, outbox.Delivery{Recipient: to, State: state, Attempts: 3, NextTry: at, FirstTry: start,
				LastTry: at, Settled: at, Code: 550, Answer: "no"})
		})
	}
	counts := func(way outbox.Way) map[outbox.State]int {
		n, err := s.OutboxCount(ctx, way)
		require.NoError(t, err)
		return n
	}
	now = start.Add(time.Hour)
	settle(1, "b@x.example", outbox.Accepted, now)
	settle(2, "b@x.example", outbox.Refused, now)
	settle(3, "B@x.example", outbox.GivenUp, now.Add(time.Minute))
	require.Equal(t, map[outbox.State]int{outbox.Accepted: 1, outbox.Waiting: 1, outbox.Refused: 1, outbox.GivenUp: 1},
		counts(outbox.Post))
	require.Equal(t, map[outbox.State]int{outbox.Waiting: 1}, counts(outbox.Draft))
	for since, want := range map[time.Time]int{start: 2, now.Add(-time.Nanosecond): 2, now: 1,
		now.Add(time.Minute): 0} {
		n, err := s.LostSince(ctx, since)
		require.NoError(t, err)
		require.Equal(t, want, n)
	}
	for before, want := range map[time.Time]int{start: 0, start.Add(time.Second): 2} {
		n, err := s.WaitingSince(ctx, before)
		require.NoError(t, err)
		require.Equal(t, want, n)
	}
	open, err := s.Postings(ctx, true, 10)
	require.NoError(t, err)
	require.Len(t, open, 2)
	all, err := s.Postings(ctx, false, 3)
	require.NoError(t, err)
	require.Len(t, all, 3, "no more than asked for")
	require.Equal(t, "draft", all[0].MessageID, "the newest first")

	// All that wait are due at once, and whatever stopped a way is forgotten.
	stopped := outbox.Channel{Failures: 4, FailingSince: start, NextTry: now.Add(time.Hour), Stopped: now,
		Answer: "bad password"}
	within(t, s, func(tx *store.Tx) error { return tx.SetChannel("smtp", stopped) })
	got, err := s.Channel(ctx, "smtp")
	require.NoError(t, err)
	require.Equal(t, stopped, got)
	within(t, s, func(tx *store.Tx) error { return tx.SetChannel("smtp", outbox.Channel{Failures: 1, NextTry: now}) })
	got, err = s.Channel(ctx, "smtp")
	require.NoError(t, err)
	require.Equal(t, outbox.Channel{Failures: 1, NextTry: now}, got)
	now = now.Add(time.Hour)
	waiting, err := s.TryNow(ctx)
	require.NoError(t, err)
	require.Equal(t, 2, waiting)
	got, err = s.Channel(ctx, "smtp")
	require.NoError(t, err)
	require.Equal(t, outbox.Channel{}, got)
	due, err := s.DuePostings(ctx, outbox.Post, now, 10)
	require.NoError(t, err)
	require.Len(t, due, 1)
	require.Equal(t, now, due[0].NextTry)

	again, err := s.Again(ctx, 2)
	require.NoError(t, err)
	require.Equal(t, 1, again)
	due, err = s.DuePostings(ctx, outbox.Post, now, 10)
	require.NoError(t, err)
	require.Len(t, due, 2)
	require.Zero(t, due[1].Attempts)
	again, err = s.Again(ctx, 1)
	require.NoError(t, err)
	require.Zero(t, again, "what waits or was accepted is not sent twice")
	dropped, err := s.Drop(ctx, 1)
	require.NoError(t, err)
	require.Equal(t, 1, dropped, "the one who had it keeps it")
	require.Equal(t, map[outbox.State]int{outbox.Accepted: 1, outbox.Dropped: 1, outbox.Waiting: 1, outbox.GivenUp: 1},
		counts(outbox.Post))

	// A mail of ours came back: of those named the ones that did not know it yet, whatever their case.
	var failed []string
	within(t, s, func(tx *store.Tx) (err error) {
		subject, client, names, err := tx.RefuseDelivery("one", []string{"B@X.example"}, "no such user")
		require.Equal(t, [2]string{"about one", "bakery"}, [2]string{subject, client})
		failed = names
		return err
	})
	require.Equal(t, []string{"b@x.example"}, failed)
	within(t, s, func(tx *store.Tx) (err error) {
		_, _, failed, err = tx.RefuseDelivery("one", nil, "no such user")
		return err
	})
	require.Equal(t, []string{"c@x.example"}, failed, "to all of them where none is named")
	within(t, s, func(tx *store.Tx) (err error) {
		_, _, failed, err = tx.RefuseDelivery("one", nil, "no such user")
		return err
	})
	require.Empty(t, failed)
	for since, want := range map[time.Time]bool{start: true, start.Add(time.Second): false} {
		within(t, s, func(tx *store.Tx) error {
			yes, err := tx.ConfirmedSince("reorder", "b@X.example", since)
			require.Equal(t, want, yes)
			return err
		})
	}

	// Letters that wait for nothing, and which file in a folder is whose.
	settled, err := s.SettledLetters(ctx)
	require.NoError(t, err)
	require.Len(t, settled, 2)
	require.Equal(t, []string{"one", "three"}, []string{settled[0].MessageID, settled[1].MessageID})
	require.True(t, settled[0].HasText)
	within(t, s, func(tx *store.Tx) error { return tx.DropTexts([]int64{1}) })
	settled, err = s.SettledLetters(ctx)
	require.NoError(t, err)
	require.False(t, settled[0].HasText)
	require.NoError(t, s.Compact(ctx))
	settle(4, "b@x.example", outbox.Accepted, now)
	drafts, err := s.Drafts(ctx)
	require.NoError(t, err)
	require.Len(t, drafts, 1)
	require.Equal(t, "draft", drafts[0].MessageID)
	require.Empty(t, drafts[0].State)
}

// Of letters of one name the youngest that has its text owns the file.
func TestALetterOfTheSameNameIsReplaced(t *testing.T) {
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	within(t, s, func(tx *store.Tx) error {
		for _, id := range []string{"a", "b", "c"} {
			n, err := tx.Enqueue(outbox.Letter{MessageID: id, Name: "form", Kind: "reorder", From: "a@shop.example",
				Subject: "s", Way: outbox.Draft, To: []string{"x"}, Bytes: []byte(id)})
			require.NoError(t, err)
			require.NoError(t, tx.Settle(n, outbox.Delivery{Recipient: "x", State: outbox.Accepted, NextTry: now,
				Settled: now}))
		}
		return tx.DropTexts([]int64{3})
	})
	settled, err := s.SettledLetters(t.Context())
	require.NoError(t, err)
	require.Equal(t, []bool{true, false, false}, []bool{settled[0].Replaced, settled[1].Replaced, settled[2].Replaced})
}

// People of all clients by parts of their names, without case and marks; and those who start
// and have nothing yet.
func TestPeopleAreFoundOverAllClients(t *testing.T) {
	s, now := twoClients(t)
	ctx := t.Context()
	person := func(id, name string, start, end programme.Date) programme.Person {
		return programme.Person{StaffID: id, Name: name, Role: "floor", Start: start, End: end,
			Sizes: map[string]string{"top": "M"}}
	}
	within(t, s, func(tx *store.Tx) error {
		require.NoError(t, tx.PutPeople("bakery", []programme.Person{
			person("b1", "Zoë Brandt", march-90, 0), person("b2", "Anna Brandt", march+5, 0),
			person("b3", "Adam Brandt", march-90, march-9), person("b4", "Nina Orr", march+6, march+60),
		}))
		require.NoError(t, tx.PutPeople("cafe", []programme.Person{person("c1", "Ben Zoellner", march+5, 0),
			person("c2", "Brandt Late", march+9, 0), person("c3", "Early", march+4, 0)}))
		_, _, err := tx.AddMovements("cafe", []programme.Movement{{Date: march, Kind: programme.Issued, StaffID: "c3",
			SKU: programme.SKU{Garment: "tee"}, Pieces: 1, Ref: "r"}}, 1)
		return err
	})
	find := func(words string, most int) (ids []string) {
		found, err := s.FindPeople(ctx, words, most)
		require.NoError(t, err)
		for _, f := range found {
			ids = append(ids, f.Client+" "+f.StaffID)
		}
		return ids
	}
	require.Equal(t, []string{"bakery b2", "cafe c2", "bakery b1", "bakery b3"}, find("BRANDT", 9),
		"those who are there first, by name")
	require.Equal(t, []string{"bakery b2", "cafe c2"}, find("brandt", 2))
	require.Equal(t, []string{"bakery b1"}, find("zoe brandt", 9), "every word")
	require.Equal(t, []string{"bakery b1"}, find("b1", 9), "the number, too")
	require.Empty(t, find("nobody", 9))

	starters := func(from, until programme.Date, most int) (ids []string) {
		found, err := s.Starters(ctx, from, until, most)
		require.NoError(t, err)
		for _, f := range found {
			ids = append(ids, f.StaffID)
		}
		return ids
	}
	require.Equal(t, []string{"b2", "c1", "c2"}, starters(march, march+9, 9), "who leaves and who has a piece apart")
	require.Equal(t, []string{"b2", "c1"}, starters(march+5, march+8, 9))
	require.Equal(t, []string{"b2"}, starters(march, march+9, 1))

	// A leaver may be named until the day is over everywhere, or until it was entered.
	leavers, err := s.Leavers(ctx, "bakery", march, "")
	require.NoError(t, err)
	require.Len(t, leavers, 1)
	require.Equal(t, store.Leaver{StaffID: "b3", Name: "Adam Brandt", NamedUntil: *now}, leavers[0])
	leavers, err = s.Leavers(ctx, "bakery", march+60, "")
	require.NoError(t, err)
	require.Equal(t, (march + 62).Time(), leavers[1].NamedUntil)
	within(t, s, func(tx *store.Tx) error {
		n, err := tx.ForgetLeavers("bakery", march-9, "")
		require.Equal(t, 1, n)
		return err
	})
	leavers, err = s.Leavers(ctx, "bakery", march, "")
	require.NoError(t, err)
	require.Empty(t, leavers[0].Name)
	require.True(t, leavers[0].Forgotten)

	within(t, s, func(tx *store.Tx) error { return tx.RemovePerson("bakery", "b2") })
	people, err := s.People(ctx, "bakery")
	require.NoError(t, err)
	require.False(t, slices.ContainsFunc(people, func(p programme.Person) bool { return p.StaffID == "b2" }))
	require.Len(t, people, 3)
}

// Slots that were left in good order, that were never meant to run, and the schedules of jobs.
func TestSlotsThatWereLeftOrPassed(t *testing.T) {
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	ctx := t.Context()
	early, late := store.Slot{Job: "round", Key: "a", Due: now},
		store.Slot{Job: "round", Key: "b", Due: now.Add(time.Hour)}
	within(t, s, func(tx *store.Tx) error {
		require.NoError(t, tx.PassSlot(late))
		require.NoError(t, tx.PassSlot(late), "once")
		require.NoError(t, tx.PassSlot(store.Slot{Job: "backup", Key: "a", Due: now}))
		_, err := tx.BeginSlot(early)
		return err
	})
	unfinished := func() int {
		slot, ok, err := s.LastRun(ctx, "round", now.Add(2*time.Hour))
		require.NoError(t, err)
		require.True(t, ok)
		require.Equal(t, "a", slot.Key, "the other never ran")
		return slot.Unfinished
	}
	last, ok, err := s.LastSlot(ctx, "round", now.Add(time.Hour))
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, "b", last.Key)
	begun := unfinished()
	within(t, s, func(tx *store.Tx) error { return tx.LeaveSlot(early) })
	require.Equal(t, max(0, begun-1), unfinished())
	within(t, s, func(tx *store.Tx) error { return tx.LeaveSlot(early) })
	require.Zero(t, unfinished(), "never less than none")
	_, ok, err = s.LastRun(ctx, "backup", now.Add(2*time.Hour))
	require.NoError(t, err)
	require.False(t, ok)
	jobs, err := s.Jobs(ctx)
	require.NoError(t, err)
	require.Equal(t, []string{"backup", "round"}, jobs)

	schedule := func() string {
		got, known, err := s.JobSchedule(ctx, "round")
		require.NoError(t, err)
		require.Equal(t, got != "", known)
		return got
	}
	require.Empty(t, schedule())
	for _, text := range []string{"0 6 * * 1", "30 7 * * *"} {
		within(t, s, func(tx *store.Tx) error { return tx.PutJobSchedule("round", text) })
		require.Equal(t, text, schedule())
	}
}

// What rounds have told since a day, and which round was the last.
func TestWhatRoundsHaveTold(t *testing.T) {
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	ctx := t.Context()
	none, err := s.LastRound(ctx)
	require.NoError(t, err)
	require.Zero(t, none)
	_, ok, err := s.NewestRound(ctx)
	require.NoError(t, err)
	require.False(t, ok)
	within(t, s, func(tx *store.Tx) error {
		for i, day := range []programme.Date{march, march + 7} {
			require.NoError(t, tx.AddRound(store.Round{ID: int64(i + 1), AsOf: day, Summary: []byte("{}")}))
			require.NoError(t, tx.AddTold(store.Event{Kind: programme.OtherTrouble, Client: "bakery",
				What: "told on " + day.String()}, int64(i+1)))
		}
		require.NoError(t, tx.AddTold(store.Event{Kind: programme.OtherTrouble, Client: "cafe", What: "another"}, 2))
		return tx.AddTold(store.Event{Kind: programme.ImportRefused, Client: "bakery", What: "of another kind"}, 2)
	})
	for since, want := range map[programme.Date][]string{march: {"told on 2026-03-02", "told on 2026-03-09"},
		march + 1: {"told on 2026-03-09"}, march + 8: nil} {
		got, err := s.ToldOf(ctx, programme.OtherTrouble, "bakery", since)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	last, err := s.LastRound(ctx)
	require.NoError(t, err)
	require.EqualValues(t, 2, last)
	round, ok, err := s.NewestRound(ctx)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, march+7, round.AsOf)
	untold, err := s.UntoldEvents(ctx)
	require.NoError(t, err)
	require.Empty(t, untold)
}

// Mails that came back by their states, and whether the same was said before.
func TestRepliesAreListedByState(t *testing.T) {
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	ctx := t.Context()
	for i, state := range []store.ReplyState{store.ReplyDone, store.ReplyIgnored, store.ReplyAsked, ""} {
		id, isNew, err := s.KeepReply(ctx, "box", []byte{byte(i)}, false)
		require.NoError(t, err)
		require.True(t, isNew)
		if state != "" {
			within(t, s, func(tx *store.Tx) error {
				ok, err := tx.SettleReply(&store.Reply{ID: id, State: state, Content: []byte{byte(i % 2)},
					Subject: "s"})
				require.True(t, ok)
				return err
			})
		}
	}
	list := func(most int, states ...store.ReplyState) (ids []int64) {
		got, err := s.Replies(ctx, most, states...)
		require.NoError(t, err)
		for _, r := range got {
			ids = append(ids, r.ID)
		}
		return ids
	}
	require.Equal(t, []int64{4, 3, 2, 1}, list(9), "the newest first")
	require.Equal(t, []int64{4, 3}, list(2))
	require.Equal(t, []int64{3, 1}, list(9, store.ReplyDone, store.ReplyAsked))
	require.Empty(t, list(9, store.ReplyQuarantined))
	before := func(id int64, content byte) (yes bool) {
		within(t, s, func(tx *store.Tx) (err error) {
			yes, err = tx.CameBefore(&store.Reply{ID: id, Content: []byte{content}})
			return err
		})
		return yes
	}
	require.True(t, before(4, 0))
	require.True(t, before(1, 0), "another of them is asked about")
	require.False(t, before(4, 1), "what was ignored was not acted on")
}

// Goods that are counted anew replace what was there of them, here and on order, and nothing else.
func TestOneKindOfGoodsIsReplaced(t *testing.T) {
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	line := func(code, size string, pieces int, expected programme.Date) programme.StockLine {
		return programme.StockLine{AsOf: march, Goods: programme.Goods{Kind: programme.Blank, Code: code,
			Colour: "black", Size: size}, Pieces: pieces, Expected: expected}
	}
	within(t, s, func(tx *store.Tx) error {
		require.NoError(t, tx.AddStock([]programme.StockLine{line("tee", "M", 3, 0), line("tee", "M", 4, march+9),
			line("tee", "L", 5, 0), line("tee", "M", 2, 0)}))
		again := line("tee", "M", 7, 0)
		return tx.ReplaceStockOf(programme.Goods{Kind: programme.Blank, Code: "tee", Colour: "black", Size: "M"},
			[]programme.StockLine{again})
	})
	got, err := s.Stock(t.Context())
	require.NoError(t, err)
	sum := map[string]int{}
	for _, l := range got {
		sum[l.Size] += l.Pieces
	}
	require.Equal(t, map[string]int{"M": 7, "L": 5}, sum)
}

// What the database holds is counted and read through, and its log made small.
func TestTheDatabaseIsReadThrough(t *testing.T) {
	s, _ := twoClients(t)
	ctx := t.Context()
	require.NoError(t, s.QuickCheck(ctx))
	rows, err := s.Rows(ctx)
	require.NoError(t, err)
	require.EqualValues(t, 2, rows["client"])
	require.EqualValues(t, 2, rows["proposal"])
	require.Zero(t, rows["delivery"])
	require.NoError(t, s.Tidy(ctx))
	list, err := s.Proposals(ctx, "bakery")
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.Equal(t, reorder.Drafted, list[0].State)
	require.ErrorIs(t, store.Gather(ctx, s.Path), store.ErrInUse)
}

// The newest hand-over of a kind is a client's own.
func TestTheNewestHandOverIsFound(t *testing.T) {
	s, _ := twoClients(t)
	ctx := t.Context()
	within(t, s, func(tx *store.Tx) error {
		for _, in := range []store.Import{{Kind: "roster", Client: "bakery", File: "old"},
			{Kind: "roster", Client: "bakery", File: "new"}, {Kind: "ledger", Client: "bakery", File: "other"},
			{Kind: "roster", Client: "cafe", File: "theirs"}} {
			_, err := tx.AddImport(in)
			require.NoError(t, err)
		}
		return nil
	})
	in, ok, err := s.LastImport(ctx, "roster", "bakery")
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, "new", in.File)
	_, ok, err = s.LastImport(ctx, "stock", "bakery")
	require.NoError(t, err)
	require.False(t, ok)
}
