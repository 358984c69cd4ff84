package desk_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

const ada = "/client/harbour/person/0001"

func TestTodayLeadsToWhatIsDue(t *testing.T) {
	b := newShop(t).signedIn()
	require.Equal(t, "/", b.path)
	require.Contains(t, b.text(), "No answer yet")
	b.press("", "Enter the answer")
	require.Equal(t, "/proposal/1", b.path)
	require.Contains(t, b.text(), "Proposal 1 for ")
}

func TestAnEndingIsEnteredAndTakenBack(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	before := bookstest.Of(t, s.b)
	b.get(ada)
	b.press("end-0", "Print gone", "pieces", "2")
	require.Equal(t, http.StatusOK, b.status, b.text())
	require.Contains(t, b.notice(), "Ended 2 × Cotton polo, navy, M of 0001 Ada Brackenholt")
	last := s.moves("harbour")[2]
	require.Equal(t, programme.Movement{Date: s.today, Kind: programme.Ended, StaffID: "0001", SKU: bookstest.PoloM,
		Pieces: 2, Reason: programme.Print, Ref: last.Ref}, last)
	b.press("undo", "Undo")
	require.Contains(t, b.notice(), "Taken back")
	require.Equal(t, before, bookstest.Of(t, s.b))
}

func TestWhatTheRulesRefuseIsSaidAndTypedWordsStay(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	before := bookstest.Of(t, s.b)
	b.get(ada)
	b.press("end-0", "Worn out", "pieces", "9")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	require.Contains(t, b.notice(), "holds 3 of polo/navy/M")
	require.Equal(t, "9", b.fill("end-0", "Worn out").values.Get("pieces"))
	b.press("end-0", "Worn out", "pieces", "1", "on", (s.today + 3).String())
	require.Contains(t, b.notice(), "still to come")
	b.press("end-0", "Worn out", "pieces", "many")
	require.Contains(t, b.notice(), `read "many"`)
	require.Equal(t, before, bookstest.Of(t, s.b))
}

// Somebody presses a button twice, or the browser sends again what it did not see answered.
func TestAFormSentTwiceIsEnteredOnce(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get(ada)
	form := b.fill("end-0", "Worn out")
	b.send(form)
	first := b.notice()
	require.Len(t, s.moves("harbour"), 3)
	b.send(form)
	require.Equal(t, first, b.notice(), "it says what came of the first")
	require.Len(t, s.moves("harbour"), 3)
	// It stays so when the entry was taken back in the meantime.
	b.press("undo", "Undo")
	b.send(form)
	require.Len(t, s.moves("harbour"), 2)

	b.get("/proposal/1")
	yes := b.fill("yes", "Yes, in these numbers")
	b.send(yes)
	b.send(yes)
	require.Equal(t, http.StatusOK, b.status)
	steps, err := s.b.Store.Steps(context.Background(), 1)
	require.NoError(t, err)
	require.Len(t, steps, 2)
}

// Of two tabs that show the same, the second to send is told and changes nothing.
func TestOfTwoTabsTheSecondIsTold(t *testing.T) {
	s := newShop(t)
	one := s.signedIn()
	two := one.another()
	one.get(ada)
	two.get(ada)
	one.press("end-0", "Worn out")
	two.press("end-0", "Lost")
	require.Equal(t, http.StatusConflict, two.status)
	require.Contains(t, two.notice(), "Something else has happened since this page was opened")
	require.Len(t, s.moves("harbour"), 3)
	two.press("end-0", "Lost") // now that it was looked at again
	require.Len(t, s.moves("harbour"), 4)

	one.get("/proposal/1")
	two.get("/proposal/1")
	one.press("yes", "Yes, in these numbers", "n:polo/navy/M", "4")
	two.press("no", "No")
	require.Equal(t, http.StatusConflict, two.status)
	require.Equal(t, reorder.Accepted, s.proposal(1).State)

	// Undo is of the entry that was shown, not of whichever is the last.
	one.get(ada)
	two.get(ada)
	stale := two.fill("undo", "Undo")
	one.press("end-0", "Worn out")
	two.send(stale)
	require.Equal(t, http.StatusConflict, two.status)
	require.Len(t, s.moves("harbour"), 5)
}

func TestAChangedYesThenOrderedThenAPartArrives(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/proposal/1")
	b.press("yes", "Yes, in these numbers", "n:polo/navy/M", "4", "note", "by telephone")
	require.Contains(t, b.notice(), "4 instead of 5")
	p := s.proposal(1)
	require.Equal(t, reorder.Accepted, p.State)
	require.Equal(t, 7, p.Pieces())
	b.press("order", "It is ordered")
	require.Equal(t, reorder.Ordered, s.proposal(1).State)
	b.get("/job/1")
	require.Contains(t, b.text(), "Pressed and handed over")
	b.press("arrive", "Enter it", "came:polo/navy/M", "2", "back:polo/navy/M", "1", "spoilt:polo/navy/M", "1",
		"came:polo/navy/L", "3", "later", (s.today + 20).String())
	require.Equal(t, http.StatusOK, b.status, b.notice())
	p = s.proposal(1)
	require.Equal(t, reorder.PartReceived, p.State)
	l := p.Line(bookstest.PoloM)
	require.Equal(t, []int{2, 2, 1, 1}, []int{l.Pressed, l.Outstanding(), l.Spoilt, l.ToRemake})
	require.Equal(t, []reorder.BackOrder{{Pieces: 1, On: s.today + 20}}, l.BackOrders)
	issued := 0
	for _, m := range s.moves("harbour") {
		if m.Proposal == 1 {
			issued += m.Pieces
		}
	}
	require.Equal(t, 5, issued)
	b.press("arrive", "Enter it")
	p = s.proposal(1)
	require.Equal(t, reorder.PartReceived, p.State, "what comes later does not come with the rest")
	require.Equal(t, 1, p.Outstanding())
	b.press("arrive", "Enter it", "came:polo/navy/M", "1")
	require.Equal(t, reorder.Received, s.proposal(1).State)
}

func TestNotNowAndNo(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/proposal/1")
	b.press("wait", "Not now", "until", (s.today + 30).String())
	require.Equal(t, reorder.PutOff, s.proposal(1).State)
	b.get("/")
	require.NotContains(t, b.text(), "Proposal 1,", "it is not due before the day")
	b.get("/proposal/2")
	b.press("no", "No", "because", "new logo in autumn", "until", (s.today + 90).String())
	p := s.proposal(2)
	require.Equal(t, reorder.Declined, p.State)
	require.Equal(t, "new logo in autumn", p.Because)
	b.press("undo", "Undo")
	require.Equal(t, reorder.Drafted, s.proposal(2).State)
}

// A late yes that comes to another day is shown first, and counts once the client knows.
func TestALateYesIsShownBeforeItCounts(t *testing.T) {
	s := newShop(t)
	s.tx(func(tx *store.Tx) {
		p, err := tx.Proposal(1)
		require.NoError(t, err)
		p.OrderBy, p.Arrives, p.AsOf = s.today-10, s.today+5, s.today-20
		require.NoError(t, tx.PutProposalBody(&p))
	})
	b := s.signedIn()
	b.get("/proposal/1")
	b.press("yes", "Yes, in these numbers", "n:polo/navy/M", "6")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	require.Contains(t, b.notice(), "What the client was told has changed since")
	require.Contains(t, b.notice(), "arrive by")
	require.Equal(t, reorder.Drafted, s.proposal(1).State)
	b.press("", "They know, it counts")
	p := s.proposal(1)
	require.Equal(t, reorder.Accepted, p.State)
	require.Equal(t, 9, p.Pieces(), "with the numbers that were written")
}

func TestThreeStartersInOneEntry(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	before := bookstest.Of(t, s.b)
	b.get("/client/harbour")
	b.get("/client/harbour/start")
	b.press("start", "They start",
		"name-0", "Kezia Larkfield", "role-0", "barista", "size-top-0", "M",
		"name-1", "Tove Ashlock", "role-1", "barista", "size-top-1", "L",
		"name-2", "Ned Fenwick", "role-2", "baker", "size-top-2", "S")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Contains(t, b.notice(), "Take from the shelf for Kezia Larkfield: 2 × ")
	people, err := s.b.Store.People(context.Background(), "harbour")
	require.NoError(t, err)
	require.Len(t, people, 7)
	b.press("undo", "Undo")
	after := bookstest.Of(t, s.b)
	require.Equal(t, before, after)
}

// What past orders let assume is not shown as if somebody had written it down.
func TestThePageOfAPersonSaysWhatIsAssumed(t *testing.T) {
	s := newShop(t)
	apron := programme.SKU{Garment: "apron", Colour: "black", Size: "one"}
	s.tx(func(tx *store.Tx) {
		_, _, err := tx.AddMovements("harbour", []programme.Movement{{Date: s.today - 90, Kind: programme.Issued,
			StaffID: "0001", SKU: apron, Pieces: 2, Assumed: true}}, 0)
		require.NoError(t, err)
	})
	b := s.signedIn()
	b.get(ada)
	require.Equal(t, 1, strings.Count(b.text(), "both are only assumed"), "the apron, not the polos")
}

func TestAPersonsSizeLeaveAndReturn(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get(ada)
	b.press("size", "What they hold still fits", "size-top", "L")
	require.Equal(t, "L", s.person("harbour", "0001").Sizes["top"], b.notice())
	b.press("away", "Enter it", "from", s.today.String(), "until", (s.today + 30).String())
	require.Len(t, s.person("harbour", "0001").Spells, 1, b.notice())
	b.press("issue", "Handed out", "pieces", "1")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	b.press("leave", "This came back", "last", s.today.String())
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Equal(t, s.today, s.person("harbour", "0001").End)
	for range 4 {
		b.press("undo", "Undo")
		require.Equal(t, http.StatusOK, b.status, b.notice())
	}
	p := s.person("harbour", "0001")
	require.Equal(t, "M", p.Sizes["top"])
	require.Empty(t, p.Spells)
	require.Zero(t, p.End)
	require.Len(t, s.moves("harbour"), 2)
}

func TestOrdersAreWrittenSentAndArrive(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/proposal/1")
	b.press("yes", "Yes, in these numbers", "n:polo/navy/L", "20")
	b.get("/orders")
	b.press("write", "Write the orders")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Contains(t, b.notice(), "written, as drafts")
	orders, err := s.b.Store.SupplierOrders(context.Background(), store.OrderWritten)
	require.NoError(t, err)
	require.NotEmpty(t, orders)
	for _, o := range orders {
		b.press(fmt.Sprintf("sent-%d", o.Number), "It is sent")
		require.Equal(t, http.StatusOK, b.status, b.notice())
	}
	require.Equal(t, reorder.Ordered, s.proposal(1).State)
	b.get("/goods")
	for _, o := range orders {
		if !strings.Contains(b.text(), fmt.Sprintf("Order %d to", o.Number)) {
			continue
		}
		b.press(fmt.Sprintf("order-%d", o.Number), "This came")
		require.Equal(t, http.StatusOK, b.status, b.notice())
	}
	left, err := s.b.Store.SupplierOrders(context.Background(), store.OrderOrdered, store.OrderWritten)
	require.NoError(t, err)
	require.Empty(t, left)
	b.press("undo", "Undo")
	left, err = s.b.Store.SupplierOrders(context.Background(), store.OrderOrdered)
	require.NoError(t, err)
	require.Len(t, left, 1)
}

func TestGoodsThatWereOnNoOrder(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/goods")
	b.press("other", "Enter them", "kind", "finished", "what", "polo/navy", "size", "M", "pieces", "4")
	require.Contains(t, b.notice(), "say whose the finished pieces are")
	b.press("other", "Enter them", "client", "harbour")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	stock, err := s.b.Store.Stock(context.Background())
	require.NoError(t, err)
	n := 0
	for _, l := range stock {
		if l.Kind == programme.Finished && l.Client == "harbour" && l.Size == "M" {
			n += l.Pieces
		}
	}
	require.Equal(t, 6, n)
	b.press("other", "Enter them", "kind", "transfer", "what", "art:harbour-mark", "pieces", "10")
	require.Equal(t, http.StatusOK, b.status, b.notice())
}

func TestPeopleAreFoundByAPartOfTheirName(t *testing.T) {
	s := newShop(t)
	s.tx(func(tx *store.Tx) {
		require.NoError(t, tx.PutPeople("quay",
			[]programme.Person{{StaffID: "E1", Name: "Éamon O’Dea", Role: "barista", Start: s.today}}))
	})
	b := s.signedIn()
	b.press("", "Find a person", "q", "bracken")
	require.Equal(t, "/find", b.path)
	require.Contains(t, b.text(), "Ada Brackenholt")
	require.NotContains(t, b.text(), "Bodhi")
	for _, typed := range []string{"ÉAMON", "eamon o'dea", "o’dea éam"} {
		b.press("", "Find a person", "q", typed)
		require.Contains(t, b.text(), "Éamon O’Dea", typed)
	}
}

// A list says of a proposal what the proposal says of itself.
func TestAListSaysWhatTheProposalSays(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	for n := int64(1); n <= 2; n++ {
		b.get(fmt.Sprintf("/proposal/%d", n))
		b.press("yes", "Yes, in these numbers", "n:polo/navy/M", "4")
		b.press("order", "It is ordered")
		b.press("arrive", "Enter it", "came:polo/navy/M", "1", "never:polo/navy/M", "1", "came:polo/navy/L", "-")
	}
	b.get("/proposal/1")
	list, err := s.b.Store.ProposalHeads(context.Background(), "", reorder.States()...)
	require.NoError(t, err)
	require.Len(t, list, 2)
	for i := range list {
		h, p := &list[i], s.proposal(list[i].Number)
		require.Equal(t, []any{p.Client, p.State, p.AsOf, p.OrderBy, p.Arrives, p.Until, p.Price, p.Pieces(),
			p.Outstanding(), p.Priced()},
			[]any{h.Client, h.State, h.AsOf, h.OrderBy, h.Arrives, h.Until, h.Price, h.Pieces(), h.Outstanding(),
				h.Priced()})
	}
}

// A mail that waits stays on Today until somebody says that it is dealt with.
func TestAMailThatWaitsIsDealtWith(t *testing.T) {
	s := newShop(t)
	id, _, err := s.b.Store.KeepReply(context.Background(), "test", []byte("twenty, please"), false)
	require.NoError(t, err)
	s.tx(func(tx *store.Tx) {
		ok, err := tx.SettleReply(&store.Reply{ID: id, State: store.ReplyAsked, Sender: "mo@harbour.example",
			Subject: "our polos", Why: "what it says is not plain"})
		require.NoError(t, err)
		require.True(t, ok)
	})
	b := s.signedIn()
	b.get("/")
	require.Contains(t, b.text(), "our polos")
	again := b.fill("mail", "Dealt with")
	b.press("mail", "Dealt with")
	require.Contains(t, b.notice(), "Mail 1 is dealt with")
	require.NotContains(t, b.text(), "our polos")
	r, _, err := s.b.Store.Reply(context.Background(), id)
	require.NoError(t, err)
	require.Equal(t, store.ReplyDone, r.State)
	again.action = "/mail/1/done"
	b.send(again)
	require.NotContains(t, b.text(), "our polos")
}
