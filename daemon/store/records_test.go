package store_test

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

var march = programme.NewDate(2026, 3, 2)

// twoClients is a store with two clients, a round and a proposal of each client, at a clock
// that the test moves.
func twoClients(t *testing.T) (*store.Store, *time.Time) {
	t.Helper()
	now := time.Date(2026, 3, 2, 6, 30, 0, 0, time.UTC)
	s := openAt(t, &now)
	within(t, s, func(tx *store.Tx) error {
		for i, code := range []string{"bakery", "cafe"} {
			require.NoError(t, tx.PutClient(code, []byte("x")))
			if i == 0 {
				require.NoError(t, tx.AddRound(store.Round{ID: 1, AsOf: march, Summary: []byte("{}")}))
			}
			p := reorder.Proposal{Number: int64(i + 1), Client: code, AsOf: march, OrderBy: march.Add(2),
				State: reorder.Drafted, Price: programme.Money(1000 * (i + 1)),
				Lines: []reorder.Line{{SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}, Order: 6,
					UnitPrice: 1400, Progress: reorder.Progress{Pressed: 2}}}}
			require.NoError(t, tx.AddProposal(1, &p))
		}
		return nil
	})
	return s, &now
}

func within(t *testing.T, s *store.Store, f func(*store.Tx) error) {
	t.Helper()
	require.NoError(t, s.InTx(context.Background(), f))
}

func TestOrdersToSuppliersComeBackByState(t *testing.T) {
	s, _ := twoClients(t)
	a := store.SupplierOrder{Number: 7, Supplier: "cloth", AsOf: march, State: store.OrderWritten,
		Body: json.RawMessage(`{"lines":[1]}`)}
	b := store.SupplierOrder{Number: 9, Supplier: "prints", AsOf: march.Add(1), State: store.OrderOrdered,
		Body: json.RawMessage(`{}`)}
	within(t, s, func(tx *store.Tx) error { return errors.Join(tx.AddSupplierOrder(b), tx.AddSupplierOrder(a)) })
	all, err := s.SupplierOrders(t.Context())
	require.NoError(t, err)
	require.Equal(t, []store.SupplierOrder{a, b}, all)
	a.State, a.Body = store.OrderArrived, json.RawMessage(`{"lines":[]}`)
	within(t, s, func(tx *store.Tx) error {
		require.NoError(t, tx.PutSupplierOrder(a))
		got, err := tx.SupplierOrder(7)
		require.Equal(t, a, got)
		_, none := tx.SupplierOrder(8)
		require.ErrorIs(t, none, store.ErrNoOrder)
		open, err2 := tx.SupplierOrders(store.OrderWritten, store.OrderOrdered)
		require.Equal(t, []store.SupplierOrder{b}, open)
		return errors.Join(err, err2)
	})
	require.NotEqual(t, store.OrderMark(&a), store.OrderMark(&b))
	require.Error(t, s.InTx(t.Context(), func(tx *store.Tx) error { return tx.AddSupplierOrder(a) }),
		"a number is used once")
}

// Planned sheets of a proposal that is taken off them are dropped once they serve nobody;
// undo links them again as they were.
func TestSheetsServeTheirProposals(t *testing.T) {
	s, _ := twoClients(t)
	states := func(tx *store.Tx, number int64) store.SheetLinks {
		links, err := tx.SheetLinks(number)
		require.NoError(t, err)
		return links
	}
	within(t, s, func(tx *store.Tx) error {
		shared, err := tx.AddSheetOrder(store.SheetOrder{RoundID: 1, Kind: "plastisol", State: sheet.Planned,
			Numbers: []int64{1, 2}})
		require.NoError(t, err)
		ordered, err := tx.AddSheetOrder(store.SheetOrder{RoundID: 1, Kind: "film", State: sheet.Ordered,
			Numbers: []int64{1}})
		require.NoError(t, err)
		list, err := tx.SheetOrdersOf(1)
		require.NoError(t, err)
		require.Len(t, list, 2)
		require.Equal(t, []int64{1, 2}, list[0].Numbers)
		before := states(tx, 1)
		require.Equal(t, store.SheetLinks{shared: sheet.Planned, ordered: sheet.Ordered}, before)

		require.NoError(t, tx.UnlinkSheets(1))
		require.Equal(t, store.SheetLinks{ordered: sheet.Ordered}, states(tx, 1))
		require.Equal(t, store.SheetLinks{shared: sheet.Planned}, states(tx, 2), "it still serves the other")
		require.NoError(t, tx.UnlinkSheets(2))
		require.Empty(t, states(tx, 2))
		require.NoError(t, tx.PutSheetLinks(1, before, nil))
		require.Equal(t, before, states(tx, 1))
		return nil
	})
}

// A proposal keeps each form as it went out, is restored with a word of its history, and
// when it is taken back leaves nothing but its number.
func TestAProposalIsRevisedRestoredAndTakenBack(t *testing.T) {
	s, now := twoClients(t)
	first, err := s.Proposal(t.Context(), 1)
	require.NoError(t, err)
	body, err := json.Marshal(first)
	require.NoError(t, err)
	*now = now.Add(time.Hour)
	within(t, s, func(tx *store.Tx) error {
		p := first
		p.Revision, p.AsOf, p.Price = 2, march.Add(7), 4711
		require.NoError(t, tx.AddRound(store.Round{ID: 2, AsOf: p.AsOf, Slot: "round/2", Summary: []byte("{}")}))
		require.NoError(t, tx.ReviseProposal(2, &p))
		for form, price := range map[int]programme.Money{1: 1000, 2: 4711} {
			got, err := tx.Form(1, form)
			require.NoError(t, err)
			require.Equal(t, price, got.Price)
		}
		_, err := tx.Form(1, 3)
		require.ErrorContains(t, err, "no form 3")
		id, err := tx.RoundOf(1)
		require.EqualValues(t, 2, id)
		require.NoError(t, tx.MoveProposal(1, reorder.Drafted, reorder.Accepted, "yes"))
		return errors.Join(err, tx.RestoreProposal(1, reorder.Drafted, body, "undone"))
	})
	got, err := s.Proposal(t.Context(), 1)
	require.NoError(t, err)
	require.Equal(t, first, got)
	steps, err := s.Steps(t.Context(), 1)
	require.NoError(t, err)
	require.Equal(t, []reorder.State{reorder.Drafted, reorder.Accepted, reorder.Drafted},
		[]reorder.State{steps[0].To, steps[1].To, steps[2].To})
	require.True(t, steps[2].At.Equal(*now))
	made, ok, err := s.RoundOfSlot(t.Context(), "round/2")
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, store.Round{ID: 2, AsOf: march.Add(7), Slot: "round/2", Summary: []byte("{}")}, made)
	_, ok, err = s.RoundOfSlot(t.Context(), "round/3")
	require.NoError(t, err)
	require.False(t, ok)

	within(t, s, func(tx *store.Tx) error { return tx.RemoveProposal(1) })
	_, err = s.Proposal(t.Context(), 1)
	require.ErrorIs(t, err, store.ErrNoProposal)
	steps, err = s.Steps(t.Context(), 1)
	require.NoError(t, err)
	require.Empty(t, steps)
	left, err := s.Proposals(t.Context(), "", reorder.Drafted)
	require.NoError(t, err)
	require.Len(t, left, 1)
	mine, err := s.Proposals(t.Context(), "bakery")
	require.NoError(t, err)
	require.Empty(t, mine)
}

// The last order of each client is the newest one of by then that was said yes to, and
// none of more than two years ago.
func TestTheLastOrderOfEachClient(t *testing.T) {
	s, _ := twoClients(t)
	within(t, s, func(tx *store.Tx) error {
		return errors.Join(tx.MoveProposal(1, reorder.Drafted, reorder.Ordered, ""),
			tx.MoveProposal(2, reorder.Drafted, reorder.Declined, ""))
	})
	for days, want := range map[int]int{-1: 0, 0: 1, 730: 1, 731: 0} {
		last, err := s.LastOrders(t.Context(), march.Add(days))
		require.NoError(t, err)
		require.Len(t, last, want, "%d days later", days)
		if want > 0 {
			require.EqualValues(t, 1, last["bakery"].Number)
		}
	}
	heads, err := s.ProposalHeads(t.Context(), "", reorder.Ordered, reorder.Declined)
	require.NoError(t, err)
	require.Len(t, heads, 2)
	require.Equal(t, [3]any{int64(2), "cafe", reorder.Declined},
		[3]any{heads[0].Number, heads[0].Client, heads[0].State})
	require.Equal(t, [4]int{6, 1400, 2, 4}, [4]int{heads[1].Lines[0].Order, int(heads[1].Lines[0].UnitPrice),
		heads[1].Lines[0].Pressed, heads[1].Lines[0].Outstanding()})
}

func TestAnswersAboutHeldClothingReplaceThoseBefore(t *testing.T) {
	s, _ := twoClients(t)
	vest := programme.SKU{Garment: "vest", Colour: "yellow", Size: "L"}
	of := func(client string, yes bool, pieces int) store.HeldAnswer {
		return store.HeldAnswer{Client: client, SKU: vest, Yes: yes, Pieces: pieces, On: march.Add(pieces)}
	}
	within(t, s, func(tx *store.Tx) error {
		return errors.Join(tx.PutHeldAnswers("bakery", []store.HeldAnswer{of("bakery", true, 2)}),
			tx.PutHeldAnswers("cafe", []store.HeldAnswer{of("cafe", false, 3)}))
	})
	all, err := s.HeldAnswers(t.Context(), "")
	require.NoError(t, err)
	require.Equal(t, []store.HeldAnswer{of("bakery", true, 2), of("cafe", false, 3)}, all)
	within(t, s, func(tx *store.Tx) error {
		require.NoError(t, tx.PutHeldAnswers("bakery", nil))
		mine, err := tx.HeldAnswers("bakery")
		require.Empty(t, mine)
		theirs, err2 := tx.HeldAnswers("cafe")
		require.Len(t, theirs, 1)
		return errors.Join(err, err2)
	})
	require.ErrorIs(t, s.InTx(t.Context(), func(tx *store.Tx) error { return tx.PutHeldAnswers("nobody", nil) }),
		store.ErrNoClient)
}

// Hand-overs come back newest first, each client's apart and stock's under no client;
// what one brought is taken back with it, and marks tell that something changed.
func TestHandOversAreRecordedCompletedAndTakenBack(t *testing.T) {
	s, now := twoClients(t)
	before, err := s.Marks(t.Context())
	require.NoError(t, err)
	moment := *now
	*now = now.Add(time.Minute)
	var roster, entry, stock int64
	within(t, s, func(tx *store.Tx) (err error) {
		add := func(kind, client string) (id int64) {
			id, err = tx.AddImport(store.Import{Kind: kind, Client: client, File: kind + ".csv", New: 1})
			require.NoError(t, err)
			return id
		}
		roster = add("roster", "bakery")
		require.NoError(t, tx.Enter("bakery", func(id int64) (string, any, error) {
			entry = id
			return "0001: role", []int{7}, nil
		}))
		stock = add("stock", "")
		return tx.SetImportCounts(roster, 5, 6)
	})
	mine, err := s.Imports(t.Context(), "bakery", 9)
	require.NoError(t, err)
	require.Equal(t, []store.Import{
		{ID: entry, At: *now, Kind: store.ByHand, Client: "bakery", File: "0001: role", New: 1, Note: "[7]"},
		{ID: roster, At: *now, Kind: "roster", Client: "bakery", File: "roster.csv", New: 5, Known: 6},
	}, mine)
	one, err := s.Imports(t.Context(), "bakery", 1)
	require.NoError(t, err)
	require.Len(t, one, 1)
	last, ok, err := s.LastImport(t.Context(), "roster", "bakery")
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, mine[1], last)
	_, ok, err = s.LastImport(t.Context(), "roster", "cafe")
	require.NoError(t, err)
	require.False(t, ok)
	after, err := s.Marks(t.Context())
	require.NoError(t, err)
	require.Equal(t, [4]bool{true, false, true, false}, changes(after, before), "the shelf belongs to every client")

	within(t, s, func(tx *store.Tx) error {
		newest, ok, err := tx.NewestImport("")
		require.True(t, ok)
		require.Equal(t, stock, newest.ID)
		n, err2 := tx.RemoveMovements("bakery", entry)
		require.Zero(t, n)
		number, err3 := tx.ProposalSince("bakery", moment)
		require.Zero(t, number, "not after that moment")
		earlier, err4 := tx.ProposalSince("bakery", moment.Add(-1))
		require.EqualValues(t, 1, earlier)
		return errors.Join(err, err2, err3, err4, tx.RemoveImport(entry))
	})
	mine, err = s.Imports(t.Context(), "bakery", 9)
	require.NoError(t, err)
	require.Len(t, mine, 1)
}

// changes says whether anything of all clients changed, of what was agreed with them, of
// the bakery, and of what was agreed with the bakery.
func changes(now, before store.Marks) (out [4]bool) {
	_, out[0] = now.Changed(before, false)
	_, out[1] = now.Changed(before, true)
	_, out[2] = now.Changed(before, false, "bakery")
	_, out[3] = now.Changed(before, true, "bakery")
	return out
}

// A form of the desk is carried out once and only while what it showed still stands.
func TestAFormIsCarriedOutOnce(t *testing.T) {
	s, now := twoClients(t)
	form := store.Form{Hash: sha256.Sum256([]byte("a form"))}
	send := func(f store.Form) (id int64, err error) {
		ctx := store.WithForm(t.Context(), f)
		err = s.InTx(ctx, func(tx *store.Tx) (err error) {
			id, err = tx.AddImport(store.Import{Kind: "record", Client: "bakery", File: "desk"})
			if err == nil {
				_, err = tx.AddImport(store.Import{Kind: "record", Client: "bakery", File: "the same entry"})
			}
			return err
		})
		return id, err
	}
	id, err := send(form)
	require.NoError(t, err)
	require.NoError(t, s.Said(t.Context(), form.Hash[:], "One tee is handed out."))
	_, err = send(form)
	require.ErrorIs(t, err, store.ErrSentTwice)
	entry, said, ok, err := s.FormSaid(t.Context(), form.Hash[:])
	require.NoError(t, err)
	require.Equal(t, [3]any{id, "One tee is handed out.", true}, [3]any{entry, said, ok})
	stale := errors.New("somebody changed it")
	other := store.Form{Hash: sha256.Sum256([]byte("another")), Still: func(*store.Tx) error { return stale }}
	_, err = send(other)
	require.ErrorIs(t, err, stale)
	_, _, ok, err = s.FormSaid(t.Context(), other.Hash[:])
	require.NoError(t, err)
	require.False(t, ok, "what was not carried out may be sent again")
	*now = now.Add(48*time.Hour + time.Second)
	_, err = send(store.Form{Hash: sha256.Sum256([]byte("a third"))})
	require.NoError(t, err)
	_, _, ok, err = s.FormSaid(t.Context(), form.Hash[:])
	require.NoError(t, err)
	require.False(t, ok, "known again for two days")
}

// A link opens the desk once and until its moment, and a session until it ends.
func TestALinkToTheDeskIsUsedOnce(t *testing.T) {
	s, now := twoClients(t)
	link, late, session := sha256.Sum256([]byte("link")), sha256.Sum256([]byte("late")),
		sha256.Sum256([]byte("session"))
	until := now.Add(time.Hour)
	require.NoError(t, s.AddDeskKey(t.Context(), store.DeskLink, link, until))
	require.NoError(t, s.AddDeskKey(t.Context(), store.DeskLink, late, until.Add(time.Second)))
	use := func(l [32]byte) bool {
		ok, err := s.UseDeskLink(t.Context(), l, session, until.Add(time.Hour))
		require.NoError(t, err)
		return ok
	}
	has := func() bool {
		ok, err := s.HasDeskKey(t.Context(), store.DeskSession, session)
		require.NoError(t, err)
		return ok
	}
	require.False(t, has())
	require.True(t, use(link))
	require.False(t, use(link), "once")
	require.True(t, has())
	*now = until.Add(time.Second)
	require.False(t, use(late), "it has expired at that moment")
	*now = until.Add(time.Hour)
	require.False(t, has(), "so has the session")
}

// Files and mails whose reading was begun and never ended are counted.
func TestTriesAreCountedUntilTheyEnd(t *testing.T) {
	s, now := twoClients(t)
	begin := func(size int64) int {
		n, err := s.BeginFile(t.Context(), "roster.csv", size, march.Time())
		require.NoError(t, err)
		return n
	}
	require.Equal(t, [3]int{1, 2, 1}, [3]int{begin(10), begin(10), begin(11)}, "another size is another file")
	require.NoError(t, s.EndFile(t.Context(), "roster.csv"))
	require.Equal(t, 1, begin(11))

	id, fresh, err := s.KeepReply(t.Context(), "inbox", []byte("Yes"), false)
	require.NoError(t, err)
	require.True(t, fresh)
	again, fresh, err := s.KeepReply(t.Context(), "inbox", []byte("Yes"), false)
	require.NoError(t, err)
	require.False(t, fresh)
	require.Equal(t, id, again)
	for want := 1; want <= 2; want++ {
		n, err := s.BeginReply(t.Context(), id)
		require.NoError(t, err)
		require.Equal(t, want, n)
	}
	require.NoError(t, s.PauseReply(t.Context(), id))
	list, err := s.NewReplies(t.Context(), 0, 5)
	require.NoError(t, err)
	require.Equal(t, []store.Reply{{ID: id, Source: "inbox", At: *now, Bytes: []byte("Yes"), Tries: 1,
		State: store.ReplyNew}}, list)
	r := list[0]
	r.State, r.Sender, r.Subject, r.Client, r.Proposal, r.Why = store.ReplyQuarantined, "mo@saltbox.example",
		"Re: 1", "bakery", 1, "not signed"
	settle := func(want bool) {
		within(t, s, func(tx *store.Tx) error {
			ok, err := tx.SettleReply(&r)
			require.Equal(t, want, ok)
			return err
		})
	}
	settle(true)
	settle(false)
	got, ok, err := s.Reply(t.Context(), id)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, r, got)
	_, ok, err = s.Reply(t.Context(), id+1)
	require.NoError(t, err)
	require.False(t, ok)
	_, _, err = s.KeepReply(t.Context(), "inbox", []byte("Yes"), true)
	require.NoError(t, err)
	list, err = s.NewReplies(t.Context(), 0, 5)
	require.NoError(t, err)
	require.Len(t, list, 1, "a person vouches for it: judge it anew")
	require.True(t, list[0].Vouched)
	require.Zero(t, list[0].Tries)

	require.NoError(t, s.PutMailboxRead(t.Context(), "INBOX", 3, 40))
	require.NoError(t, s.PutMailboxRead(t.Context(), "INBOX", 3, 41))
	validity, read, err := s.MailboxRead(t.Context(), "INBOX")
	require.NoError(t, err)
	require.Equal(t, [2]uint32{3, 41}, [2]uint32{validity, read})
	validity, read, err = s.MailboxRead(t.Context(), "Sent")
	require.NoError(t, err)
	require.Zero(t, validity+read)
}

func TestACountIsAnnouncedAndLeftOut(t *testing.T) {
	s, _ := twoClients(t)
	plan := store.CountPlan{Client: "bakery", Announced: march, SendOn: march.Add(7), ReturnBy: march.Add(21),
		Asks: store.CountAsks{Saving: 900, Minutes: 5,
			Rows: []store.CountAsk{{StaffID: "4", SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}}}}}
	within(t, s, func(tx *store.Tx) error {
		other := plan
		other.SendOn = march.Add(1)
		return errors.Join(tx.AddCountPlan(&plan), tx.AddCountPlan(&other))
	})
	_, ok, err := s.LastCountPlan(t.Context(), "bakery", march.Add(-1))
	require.NoError(t, err)
	require.False(t, ok)
	got, ok, err := s.LastCountPlan(t.Context(), "bakery", march)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, plan, got, "the first of a day stands")
	counted := func(on programme.Date, staff string) []programme.Movement {
		return []programme.Movement{{Date: on, Kind: programme.Counted, StaffID: staff, SKU: plan.Asks.Rows[0].SKU}}
	}
	require.Equal(t, [4]int{0, 0, 0, 1}, [4]int{got.Came(counted(march-1, "4"), march+9),
		got.Came(counted(march+9, "4"), march+8), got.Came(counted(march+9, "5"), march+9),
		got.Came(counted(march+9, "4"), march+9)})
	four := store.CountPlan{Asks: store.CountAsks{Rows: make([]store.CountAsk, 4)}}
	require.Equal(t, [3]bool{false, false, true}, [3]bool{four.Back(0), four.Back(2), four.Back(3)})
	within(t, s, func(tx *store.Tx) error { return tx.DropCountPlan("bakery", march) })
	got, _, err = s.LastCountPlan(t.Context(), "bakery", march.Add(9))
	require.NoError(t, err)
	require.True(t, got.Dropped)
}

// A code that holds a person's name goes from proposals, their forms and the shelf.
func TestCodesThatNameAPersonAreForgotten(t *testing.T) {
	s, _ := twoClients(t)
	within(t, s, func(tx *store.Tx) error {
		p, err := tx.Proposal(1)
		require.NoError(t, err)
		p.Revision, p.Aside = 2, []reorder.Aside{{Artwork: "name-odalys", Pieces: 2, AsOf: march}}
		require.NoError(t, tx.ReviseProposal(1, &p))
		require.NoError(t, tx.AddStock([]programme.StockLine{{AsOf: march,
			Goods: programme.TransferGoods("name-odalys"), Pieces: 2}, {AsOf: march,
			Goods: programme.TransferGoods("logo"), Pieces: 3}}))
		require.NoError(t, tx.ForgetCodes(map[string]string{"name-odalys": "name-1"}))
		form, err2 := tx.Form(1, 2)
		require.Equal(t, "name-1", form.Aside[0].Artwork)
		return errors.Join(err, err2)
	})
	p, err := s.Proposal(t.Context(), 1)
	require.NoError(t, err)
	require.Equal(t, "name-1", p.Aside[0].Artwork)
	shelf, err := s.Stock(t.Context())
	require.NoError(t, err)
	require.Len(t, shelf, 1)
	require.Equal(t, "logo", shelf[0].Code)
}
