package answer_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// life is a client with many proposals to whom anything may be said at any time.
type life struct {
	t      *testing.T
	rng    *rand.Rand
	b      *books.Books
	client *programme.Client
	count  int
	day    programme.Date
	states map[string]bool
	undone int
}

const proposalsOfALife = 20

func newLife(t *testing.T, seed uint64) *life {
	t.Helper()
	b := bookstest.New(t)
	ctx := context.Background()
	client, err := b.Client(ctx, "harbour")
	require.NoError(t, err)
	l := &life{t: t, rng: rand.New(rand.NewPCG(seed, 7)), b: b, client: client, count: proposalsOfALife,
		day: bookstest.Summer, states: map[string]bool{}}
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		require.NoError(t, tx.ReplaceStockOf(programme.FinishedGoods("harbour", bookstest.PoloM), nil))
		require.NoError(t, tx.AddRound(store.Round{ID: 1, AsOf: l.day, Summary: []byte("{}")}))
		for n := range l.count {
			p, err := reorder.Direct(b.Shop, client, l.day, []reorder.Named{
				{StaffID: "0001", SKU: bookstest.PoloM, Pieces: 1 + l.rng.IntN(3), Why: programme.CauseWorn, PEnd: 0.8,
					By: l.day + 30},
				{StaffID: "0002", SKU: bookstest.PoloL, Pieces: 1 + l.rng.IntN(3), Why: programme.CauseOwed, PEnd: 1},
				{StaffID: "0004", SKU: bookstest.PoloL, Pieces: 1, Why: programme.CauseWorn, PEnd: 0.5, By: l.day + 60},
			}, []reorder.LineChange{{SKU: bookstest.PoloM, Pieces: l.rng.IntN(4)}})
			require.NoError(t, err)
			p.Number = int64(n + 1)
			require.NoError(t, tx.AddProposal(1, p))
		}
		return nil
	}))
	return l
}

// move says something to some proposal; what its state does not allow is refused.
func (l *life) move() {
	l.t.Helper()
	ctx := context.Background()
	number := int64(1 + l.rng.IntN(l.count))
	p, err := l.b.Store.Proposal(ctx, number)
	require.NoError(l.t, err)
	e := l.event(p.State)
	l.day += programme.Date(l.rng.IntN(2))
	a := answer.Answer{Number: number, Event: e, Day: l.day, Known: true}
	some := func() []reorder.LineChange {
		k := p.Lines[l.rng.IntN(len(p.Lines))].SKU
		return []reorder.LineChange{{SKU: k, Pieces: l.rng.IntN(7)}}
	}
	switch e {
	case reorder.Change:
		a.Changes = some()
	case reorder.Accept:
		if l.rng.IntN(3) == 0 {
			a.Changes = some()
		}
	case reorder.Wait:
		a.Until = l.day + 1 + programme.Date(l.rng.IntN(40))
	case reorder.Arrive, reorder.Receive:
		a.Deliveries = l.goods(&p)
	case reorder.Remake:
		a.Again = []reorder.LineChange{{SKU: p.Lines[l.rng.IntN(len(p.Lines))].SKU, Pieces: 1 + l.rng.IntN(2)}}
	case reorder.Send, reorder.Revise, reorder.Decline, reorder.Order, reorder.Lapse, reorder.Cancel:
	}
	before := l.state()
	out, err := answer.Give(ctx, l.b.Store, l.b.Shop, l.client, a, false)
	if err != nil {
		require.Equal(l.t, before, l.state(), "a refused %s changes nothing: %v", e, err)
		_, allowed := reorder.Next(p.State, e)
		var refused *reorder.StateError
		require.True(l.t, allowed == nil || errors.As(err, &refused))
		return
	}
	l.states[string(out.Proposal.State)] = true
	l.check(number)
	if l.rng.IntN(3) == 0 {
		l.undone++
		_, err := record.Undo(ctx, l.b, "harbour", false)
		require.NoError(l.t, err, "%s", e)
		require.Equal(l.t, before, l.state(), "undo of %s restores everything", e)
	}
}

var events = []reorder.Event{
	reorder.Send, reorder.Revise, reorder.Change, reorder.Accept, reorder.Wait, reorder.Decline,
	reorder.Order, reorder.Arrive, reorder.Remake, reorder.Receive, reorder.Lapse, reorder.Cancel,
}

// event is mostly one that the state allows.
func (l *life) event(s reorder.State) reorder.Event {
	for {
		e := events[l.rng.IntN(len(events))]
		if _, refused := reorder.Next(s, e); refused == nil || l.rng.IntN(20) == 0 {
			return e
		}
	}
}

// goods are deliveries of any kind, sometimes more than there can be.
func (l *life) goods(p *reorder.Proposal) []reorder.Delivery {
	var out []reorder.Delivery
	for i := range p.Lines {
		left := p.Lines[i].Outstanding()
		part := func() int {
			n := l.rng.IntN(left + 1)
			left -= n
			return n
		}
		d := reorder.Delivery{SKU: p.Lines[i].SKU, Came: part(), Back: part(), Spoilt: part() / 2, Wrong: part() / 2,
			GivenUp: part() / 2, BackOn: l.day + 20}
		if l.rng.IntN(40) == 0 {
			d.Came += 100
		}
		out = append(out, d)
	}
	return out
}

// state is all that answers can change, the history of steps apart.
func (l *life) state() string {
	l.t.Helper()
	ctx := context.Background()
	list, err := l.b.Store.Proposals(ctx, "")
	require.NoError(l.t, err)
	moves, err := l.b.Store.Movements(ctx, "harbour")
	require.NoError(l.t, err)
	stock, err := l.b.Store.Stock(ctx)
	require.NoError(l.t, err)
	text, err := json.Marshal(map[string]any{"proposals": list, "moves": moves, "stock": stock})
	require.NoError(l.t, err)
	return string(text)
}

// printed is how many transfers there were at first, and those of sheets that
// have come since.
func (l *life) printed() (n int) {
	l.t.Helper()
	for _, s := range bookstest.Shelf {
		if s.Kind == programme.Transfer {
			n += s.Pieces
		}
	}
	require.NoError(l.t, l.b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		for number := range l.count {
			sheets, err := tx.SheetOrdersOf(int64(number + 1))
			if err != nil {
				return err
			}
			for _, o := range sheets {
				for _, line := range o.Plan.Lines {
					n += line.Printed
				}
			}
		}
		return nil
	}))
	return n
}

// check counts the pieces and the money by other roads than the program's own.
func (l *life) check(changed int64) {
	l.t.Helper()
	ctx := context.Background()
	list, err := l.b.Store.Proposals(ctx, "")
	require.NoError(l.t, err)
	moves, err := l.b.Store.Movements(ctx, "harbour")
	require.NoError(l.t, err)
	issued := map[string]int{}
	all := map[programme.SKU]int{}
	for i := range moves {
		if m := &moves[i]; m.Proposal != 0 {
			issued[fmt.Sprintf("%d %s %s", m.Proposal, m.StaffID, m.SKU)] += m.Pieces
			all[m.SKU] += m.Pieces
		}
	}
	shelf := map[programme.SKU]int{}
	for i := range list {
		p := &list[i]
		var blanks, price programme.Money
		for j := range p.Lines {
			n := &p.Lines[j]
			blanks += n.UnitCost * programme.Money(n.Buy)
			price += n.UnitPrice * programme.Money(n.Order)
			shelf[n.SKU] += n.Pressed
			require.GreaterOrEqual(l.t, n.Outstanding(), 0)
			named, got, back := 0, 0, 0
			for _, x := range p.Named {
				if x.SKU == n.SKU {
					named, got = named+x.Pieces, got+x.Got
					require.LessOrEqual(l.t, x.Got, x.Pieces)
					require.LessOrEqual(l.t, issued[fmt.Sprintf("%d %s %s", p.Number, x.StaffID, x.SKU)], x.Got,
						"nobody is issued what did not come")
				}
			}
			for _, x := range p.Pool {
				if x.SKU == n.SKU {
					named, got = named+x.ForStarters+x.Spare, got+x.Got
				}
			}
			for _, x := range n.BackOrders {
				back += x.Pieces
			}
			require.Equal(l.t, n.Order, named, "named and pool together are the order of proposal %d", p.Number)
			require.Equal(l.t, n.Pressed, got, "what came is with people or in the pool")
			require.LessOrEqual(l.t, back, n.Outstanding())
			require.LessOrEqual(l.t, n.ToRemake, n.Outstanding())
			require.Equal(l.t, n.Order+n.StayBlank, n.BlanksOnShelf+n.Buy)
		}
		require.Equal(l.t, blanks, p.Blanks)
		require.Equal(l.t, price, p.Price)
		if p.State == reorder.Received {
			require.Zero(l.t, p.Outstanding())
		}
	}
	stock, err := l.b.Store.Stock(ctx)
	require.NoError(l.t, err)
	transfers := 0
	for _, s := range stock {
		if s.Kind == programme.Transfer {
			require.GreaterOrEqual(l.t, s.Pieces, 0)
			transfers += s.Pieces
		}
	}
	for i := range list {
		for _, a := range list[i].Aside {
			transfers += a.Pieces
		}
		if !list[i].State.Coming() {
			require.Empty(l.t, list[i].Aside, "nothing is set aside for proposal %d, which is %s", list[i].Number,
				list[i].State)
		}
	}
	require.LessOrEqual(l.t, transfers, l.printed(), "no transfer is counted twice")
	on := map[programme.SKU]int{}
	for _, s := range stock {
		if s.Kind == programme.Finished && s.Client == "harbour" && s.Pieces > 0 {
			on[s.SKU()] += s.Pieces
		}
	}
	for k, n := range shelf {
		require.Equal(l.t, n-all[k], on[k], "every %s that came and was not issued lies on the shelf", k)
	}
}

// Anything is said to any of twenty proposals, in any order, a third of it taken
// back: pieces are conserved, money adds up, and undo restores all.
func TestARandomLifeConservesEveryPiece(t *testing.T) {
	moves := 300
	if os.Getenv("KITMUSTER_FULL") == "1" {
		moves = 1000
	}
	l := newLife(t, 11)
	for range moves {
		l.move()
	}
	require.Greater(t, l.undone, moves/10, "refused answers prove little")
	for _, s := range reorder.States() {
		require.True(t, l.states[string(s)], "no proposal was ever %s", s)
	}
}
