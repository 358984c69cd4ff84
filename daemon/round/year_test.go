package round_test

import (
	"context"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// reply is what a customer will say on a day to a form that they hold.
type reply struct {
	number int64
	form   int
	on     programme.Date
	no     bool
	change bool
}

// year is a shop whose customers answer when it suits them.
type year struct {
	t       *testing.T
	b       *books.Books
	rng     *rand.Rand
	day     programme.Date
	replies []reply
	held    map[int64]bool // forms that a customer has and will answer, by number
	numbers map[int64]bool
	yeses   int
	lates   int // to another form than the newest, or after its day
	changed int
	parts   int
	noes    int
	forms   int
}

// Customers answer up to five weeks late, change a third, refuse one in ten and
// receive in two parts. No number is lost, nothing that is on order is proposed
// again, and every yes that arrives is taken.
func TestAYearOfMondays(t *testing.T) {
	weeks, clients := 9, 2
	if os.Getenv("KITMUSTER_FULL") == "1" {
		weeks, clients = 52, 5
	}
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	slices.SortFunc(w.Cases, func(a, b simulate.Case) int { return len(a.Roster) - len(b.Roster) })
	w.Cases = w.Cases[:min(clients, len(w.Cases))]
	w.Stock = nil
	y := &year{t: t, b: worldBooks(t, &w), rng: rand.New(rand.NewPCG(3, 4)), day: asOf, held: map[int64]bool{},
		numbers: map[int64]bool{}}
	for range weeks {
		y.monday()
		for range 5 {
			y.workday()
			y.day++
		}
		y.day += 2
	}
	t.Logf("%d weeks: %d proposals, %d further forms, %d yeses (%d late or to an older form, %d with changes), %d noes, %d part deliveries",
		weeks, len(y.numbers), y.forms, y.yeses, y.lates, y.changed, y.noes, y.parts)
	require.Positive(t, y.yeses)
	require.Positive(t, y.lates, "customers who are never late prove nothing")
	require.Positive(t, y.forms)
	require.Positive(t, y.parts)
	if weeks > 50 {
		require.Positive(t, y.noes)
		require.Positive(t, y.changed)
	}
}

// monday runs the round, looks at what it proposes, and lets customers take it up.
func (y *year) monday() {
	y.t.Helper()
	ctx := context.Background()
	res, err := round.Run(ctx, y.b, round.Options{AsOf: y.day, Now: y.day.Time()})
	require.NoError(y.t, err)
	for i := range res.Plan.Entries {
		e := &res.Plan.Entries[i]
		open, err := y.b.Store.Proposals(ctx, e.Client.Code, reorder.Unsettled()...)
		require.NoError(y.t, err)
		require.LessOrEqual(y.t, len(open), 1, "%s is asked one thing at a time", e.Client.Code)
		if e.Proposal == nil {
			continue
		}
		y.covered(e)
		if e.Stands {
			continue
		}
		p := e.Proposal
		if e.Before != nil {
			require.Equal(y.t, e.Before.Number, p.Number)
			require.Greater(y.t, p.Form(), e.Before.Form())
			y.forms++
		} else {
			require.False(y.t, y.numbers[p.Number], "proposal %d is given out twice", p.Number)
			y.numbers[p.Number] = true
		}
		if !y.held[p.Number] { // they answer the form that they looked at, whatever comes after it
			y.held[p.Number] = true
			y.replies = append(y.replies, reply{
				number: p.Number, form: p.Form(), on: y.day + 1 + programme.Date(y.rng.IntN(36)),
				no: y.rng.IntN(10) == 0, change: y.rng.IntN(3) == 0,
			})
		}
	}
	for n := range y.numbers {
		_, err := y.b.Store.Proposal(ctx, n)
		require.NoError(y.t, err, "number %d is lost", n)
	}
}

// covered compares what the round counts as on order with what the proposals that
// are on their way still owe: nothing of it is proposed a second time.
func (y *year) covered(e *round.Entry) {
	y.t.Helper()
	if e.Stands {
		return // decided from the records of its own day
	}
	coming, err := y.b.Store.Proposals(context.Background(), e.Client.Code, reorder.OnItsWay()...)
	require.NoError(y.t, err)
	owed := map[programme.SKU]int{}
	for i := range coming {
		for j := range coming[i].Lines {
			owed[coming[i].Lines[j].SKU] += coming[i].Lines[j].Outstanding()
		}
	}
	for i := range e.Proposal.Lines {
		l := &e.Proposal.Lines[i]
		require.Equal(y.t, owed[l.SKU], l.OnOrder, "%s of %s on %s", l.SKU, e.Client.Code, y.day)
		if !l.Changed {
			require.LessOrEqual(y.t, l.Wanted, max(0, l.AtTarget-l.OnHand-l.OnOrder+l.Owed), "%s of %s", l.SKU,
				e.Client.Code)
		}
	}
}

// workday lets pieces wear out, customers answer and goods come.
func (y *year) workday() {
	y.t.Helper()
	ctx := context.Background()
	y.wearOut()
	left := y.replies[:0]
	for _, r := range y.replies {
		if r.on > y.day {
			left = append(left, r)
			continue
		}
		y.answer(r)
	}
	y.replies = left
	o, err := supply.Drafts(ctx, y.b, y.day, supply.Wish{})
	require.NoError(y.t, err)
	if len(o.Orders) > 0 {
		require.NoError(y.t, y.b.Store.InTx(ctx, o.Commit))
		_, err := answer.Sent(ctx, y.b, y.day, nil, false)
		require.NoError(y.t, err)
	}
	y.goods()
}

func (y *year) give(a answer.Answer) reorder.Proposal {
	y.t.Helper()
	ctx := context.Background()
	p, err := y.b.Store.Proposal(ctx, a.Number)
	require.NoError(y.t, err)
	c, err := y.b.Client(ctx, p.Client)
	require.NoError(y.t, err)
	a.Day, a.Known = y.day, true
	out, err := answer.Give(ctx, y.b.Store, y.b.Shop, c, a, false)
	require.NoError(y.t, err, "%s to proposal %d, which is %s", a.Event, a.Number, p.State)
	return out.Proposal
}

// answer says yes or no to the form that the customer holds.
func (y *year) answer(r reply) {
	y.t.Helper()
	p, err := y.b.Store.Proposal(context.Background(), r.number)
	require.NoError(y.t, err)
	if r.no {
		if p.State.Open() {
			y.noes++
			y.give(answer.Answer{Number: r.number, Event: reorder.Decline, Because: "not this season"})
		}
		return
	}
	a := answer.Answer{Number: r.number, Event: reorder.Accept, Form: r.form}
	if r.change && len(p.Lines) > 0 {
		l := &p.Lines[y.rng.IntN(len(p.Lines))]
		a.Changes = []reorder.LineChange{{SKU: l.SKU, Pieces: 1 + y.rng.IntN(l.Order+3)}}
		y.changed++
	}
	if r.form < p.Form() || y.day > p.OrderBy || !p.State.Open() {
		y.lates++
	}
	y.yeses++
	require.Equal(y.t, reorder.Accepted, y.give(a).State)
}

// goods hands over half of what has been long enough on its way, the rest a week later.
func (y *year) goods() {
	y.t.Helper()
	ctx := context.Background()
	list, err := y.b.Store.Proposals(ctx, "", reorder.Ordered, reorder.PartReceived)
	require.NoError(y.t, err)
	for i := range list {
		p := &list[i]
		switch {
		case p.State == reorder.Ordered && y.day >= p.Arrives:
			var part []reorder.Delivery
			for j := range p.Lines {
				l := &p.Lines[j]
				part = append(part, reorder.Delivery{SKU: l.SKU, Came: l.Outstanding() / 2,
					Back: l.Outstanding() - l.Outstanding()/2, BackOn: y.day + 7})
			}
			y.give(answer.Answer{Number: p.Number, Event: reorder.Arrive, Deliveries: part})
			y.parts++
		case p.State == reorder.PartReceived &&
			!slices.ContainsFunc(p.Coming(), func(c reorder.Coming) bool { return c.On > y.day }):
			require.Equal(y.t, reorder.Received, y.give(answer.Answer{Number: p.Number, Event: reorder.Receive}).State)
		}
	}
	orders, err := supply.Orders(ctx, y.b.Store, store.OrderOrdered)
	require.NoError(y.t, err)
	for i := range orders {
		if y.day > orders[i].AsOf+4 {
			_, err := answer.Arrived(ctx, y.b, answer.Goods{Order: orders[i].Number, Day: y.day}, false)
			require.NoError(y.t, err)
		}
	}
}

// wearOut ends a piece in a hundred each workday.
func (y *year) wearOut() {
	y.t.Helper()
	ctx := context.Background()
	clients, err := y.b.Clients(ctx)
	require.NoError(y.t, err)
	for _, c := range clients {
		rec, err := y.b.Records(ctx, c.Code, y.day)
		require.NoError(y.t, err)
		holds := map[string]int{}
		type held struct {
			staff string
			sku   programme.SKU
		}
		var order []held
		for i := range rec.Movements {
			m := &rec.Movements[i]
			k := held{m.StaffID, m.SKU}
			switch m.Kind {
			case programme.Issued:
				if holds[k.staff+k.sku.String()] == 0 {
					order = append(order, k)
				}
				holds[k.staff+k.sku.String()] += m.Pieces
			case programme.Ended:
				holds[k.staff+k.sku.String()] -= m.Pieces
			case programme.Counted:
			}
		}
		for _, k := range order {
			at := slices.IndexFunc(rec.People, func(p programme.Person) bool { return p.StaffID == k.staff })
			if at < 0 || !rec.People[at].ActiveOn(y.day) || holds[k.staff+k.sku.String()] < 2 || y.rng.IntN(30) > 0 {
				continue
			}
			holds[k.staff+k.sku.String()]--
			_, err := record.Enter(ctx, y.b, record.Move{
				Client: c.Code, Person: k.staff, Kind: programme.Ended, Garment: k.sku.Garment, Colour: k.sku.Colour,
				Size: k.sku.Size, Pieces: 1, On: y.day, Reason: "worn",
			})
			if err != nil { // a count has found it gone already
				require.ErrorContains(y.t, err, "cannot end")
			}
		}
	}
}
