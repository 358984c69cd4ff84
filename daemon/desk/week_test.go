package desk_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/desk"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// at serves the desk of an invented shop whose clock is that of now.
func at(t *testing.T, now *time.Time, clients int) *shop {
	t.Helper()
	clock := func() time.Time { return *now }
	w := simulate.NewWorld(programme.DateOf(*now), simulate.Seed(1))
	home := t.TempDir()
	st, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{Now: clock})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	b := books.With(home, &w.Shop, st)
	srv := httptest.NewUnstartedServer(nil)
	h, err := desk.New(desk.Options{Shop: func() desk.Shop { return desk.Shop{Books: b, From: b.Shop.Owner} },
		Listen: srv.Listener.Addr().String(), Now: clock})
	require.NoError(t, err)
	srv.Config.Handler = h
	srv.Start()
	t.Cleanup(srv.Close)
	s := &shop{t: t, b: b, url: srv.URL, today: programme.DateOf(*now), now: clock}
	s.tx(func(tx *store.Tx) {
		for i := range w.Cases[:clients] {
			require.NoError(t, bookstest.Put(tx, &w.Cases[i]))
		}
		require.NoError(t, tx.ReplaceStock(w.Stock))
	})
	return s
}

// conserved reports that of each line of a proposal wanted = pressed + to come + given up.
func (s *shop) conserved(n int64) {
	s.t.Helper()
	p := s.proposal(n)
	for i := range p.Lines {
		l := &p.Lines[i]
		require.Equal(s.t, l.Order, l.Pressed+l.Outstanding()+l.GivenUp)
	}
}

// Monday to Friday, with nothing but the desk: answers, orders, goods, the press, endings,
// a starter, a leaver, and a mistake that is taken back.
func TestAnOwnersWeekOnTheDeskAlone(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	s := at(t, &now, 5)
	res, err := round.Run(context.Background(), s.b, round.Options{AsOf: s.today, From: s.b.Shop.Owner, Now: now})
	require.NoError(t, err)
	due := 0
	for i := range res.Plan.Entries {
		if res.Plan.Entries[i].Proposal != nil {
			due++
		}
	}
	require.GreaterOrEqual(t, due, 2)
	b := s.signedIn()

	// Monday: one yes with another number, one not now.
	require.Contains(t, b.text(), "No answer yet")
	b.get("/proposal/1")
	first := s.proposal(1)
	line := &first.Lines[0]
	for i := range first.Lines {
		if first.Lines[i].Order > line.Order {
			line = &first.Lines[i]
		}
	}
	b.press("yes", "Yes, in these numbers", "n:"+line.String(), fmt.Sprint(line.Order-1), "note", "on the telephone")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Equal(t, first.Pieces()-1, s.proposalOn(1).Pieces())
	b.get("/proposal/2")
	b.press("wait", "Not now", "until", (s.today + 28).String())
	require.Equal(t, reorder.PutOff, s.proposalOn(2).State)
	b.get("/orders")
	b.press("write", "Write the orders")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	orders, err := s.b.Store.SupplierOrders(context.Background(), store.OrderWritten)
	require.NoError(t, err)
	for _, o := range orders {
		b.press(fmt.Sprintf("sent-%d", o.Number), "It is sent")
		require.Equal(t, http.StatusOK, b.status, b.notice())
	}
	require.Equal(t, reorder.Ordered, s.proposalOn(1).State)
	s.conserved(1)

	// Tuesday: what supervisors told, two endings for each of ten people; one was meant for another.
	now = now.AddDate(0, 0, 1)
	code := first.Client
	people, err := s.b.Store.People(context.Background(), code)
	require.NoError(t, err)
	before, entered := len(s.moves(code)), 0
	for i := range people {
		if entered == 20 {
			break
		}
		if !people[i].End.IsZero() || people[i].Start > s.today {
			continue
		}
		b.press("", "Find a person", "q", people[i].StaffID)
		b.get("/client/" + code + "/person/" + people[i].StaffID)
		for _, what := range []string{"Worn out", "Print gone"} {
			if b.missing("end-0") {
				break
			}
			b.press("end-0", what)
			require.Equal(t, http.StatusOK, b.status, b.notice())
			entered++
		}
	}
	require.Equal(t, 20, entered)
	b.press("undo", "Undo")
	require.Len(t, s.moves(code), before+entered-1)

	// Wednesday: somebody starts on Monday, somebody leaves today and hands back.
	now = now.AddDate(0, 0, 1)
	b.get("/client/" + code + "/start")
	b.press("start", "They start", "name-0", "Wilhelmina Oakshott", "start-0", (s.today + 7).String())
	require.Equal(t, http.StatusOK, b.status, b.notice())
	leaver := people[len(people)-1]
	for i := range people {
		if people[i].End.IsZero() && people[i].Start < s.today {
			leaver = people[i]
		}
	}
	b.get("/client/" + code + "/person/" + leaver.StaffID)
	if b.missing("end-0") {
		b.press("leave", "Enter the last day")
	} else {
		b.press("leave", "This came back")
	}
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Equal(t, s.today+2, s.person(code, leaver.StaffID).End)
	b.get("/client/" + code + "/person/" + leaver.StaffID)
	b.press("leave", "They stay after all")
	require.Zero(t, s.person(code, leaver.StaffID).End, b.notice())
	b.press("undo", "Undo")
	require.Equal(t, s.today+2, s.person(code, leaver.StaffID).End)

	// Thursday: the goods come. Friday: they are pressed; one is spoilt, the rest handed over.
	now = now.AddDate(0, 0, 1)
	for _, o := range orders {
		b.get("/goods")
		if !b.missing(fmt.Sprintf("order-%d", o.Number)) {
			b.press(fmt.Sprintf("order-%d", o.Number), "This came")
			require.Equal(t, http.StatusOK, b.status, b.notice())
		}
	}
	now = now.AddDate(0, 0, 1)
	b.get("/")
	require.Contains(t, b.text(), "Press and hand over")
	b.get("/job/1")
	n := s.proposalOn(1).Line(line.SKU).Outstanding()
	b.press("arrive", "Enter it", "came:"+line.String(), fmt.Sprint(n-1), "spoilt:"+line.String(), "1")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	p := s.proposal(1)
	require.Equal(t, reorder.PartReceived, p.State)
	require.Equal(t, 1, p.Outstanding())
	s.conserved(1)
	issued := 0
	for _, m := range s.moves(code) {
		if m.Proposal == 1 {
			issued += m.Pieces
		}
	}
	require.Positive(t, issued)

	// What the week entered is in the books, and the next round reads it.
	now = now.AddDate(0, 0, 3)
	_, err = round.Run(context.Background(), s.b, round.Options{AsOf: s.today + 7, From: s.b.Shop.Owner, Now: now})
	require.NoError(t, err)
	require.Equal(t, reorder.PutOff, s.proposalOn(2).State, "not now is not now")
	b.get("/")
	require.Equal(t, http.StatusOK, b.status)
}

func (s *shop) proposalOn(n int64) *reorder.Proposal {
	s.t.Helper()
	p := s.proposal(n)
	return &p
}

// missing reports that the page has no such form.
func (b *tab) missing(form string) bool {
	for _, x := range all(b.doc, "input") {
		if attr(x, "name") == "form" && attr(x, "value") == form {
			return false
		}
	}
	return true
}
