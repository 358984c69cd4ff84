package round

import (
	"context"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

const (
	// announceDays is the number of days between the owner's notice of a count and its forms.
	announceDays = 7
	// countDays is the number of days in which a client is to return a count form.
	countDays = 10
	// beforeOrder is the number of days within which an order must be for a count to be made now: what it
	// finds goes into that order. A count that is overdue by as much waits no longer.
	beforeOrder = 35
)

// stocktake is the state of a client's counts.
type stocktake struct {
	// plan is the count that is announced or out, nil = none; sent says that its forms are out.
	plan *store.CountPlan
	sent bool
	// came is the number of its rows that are counted.
	came int
	// fresh is a count to announce in this round.
	fresh *store.CountPlan
	// overdue are the days by which a count is due, negative before it is.
	overdue int
	due     bool
}

// assumedStock says that most of what a client's people hold is only assumed.
func (e *Entry) assumedStock() bool {
	return e.LastCount.IsZero() && e.Evidence.Unconfirmed()
}

// recallCounts reads where a client's counts stand, and chooses what to ask for
// where one may be announced.
func (p *Plan) recallCounts(ctx context.Context, e *Entry, in *forecast.Inspection, ready *reorder.Input) error {
	assumed := e.assumedStock()
	if e.Client.CountEveryWeeks == 0 && !assumed && e.LastCount.IsZero() || e.Client.Known {
		return nil
	}
	last, err := p.books.Store.LastCountForm(ctx, e.Client.Code, p.AsOf)
	if err != nil {
		return err
	}
	plan, ok, err := p.books.Store.LastCountPlan(ctx, e.Client.Code, p.AsOf)
	if err != nil {
		return err
	}
	c := &e.count
	waits := ok && !plan.Dropped && p.AsOf <= plan.ReturnBy
	if waits && e.LastCount >= plan.Announced {
		moves, err := p.books.Store.Movements(ctx, e.Client.Code)
		if err != nil {
			return err
		}
		c.came = plan.Came(moves, p.AsOf)
		waits = !plan.Back(c.came)
	}
	if waits {
		c.plan, c.sent = &plan, last >= plan.Announced
		e.holds = onRecord(in, plan.Asks.Rows)
		return nil
	}
	before := max(last, plan.Announced, e.LastCount)
	switch every := 7 * e.Client.CountEveryWeeks; {
	case before.IsZero():
		c.due = true
	case every > 0:
		c.overdue = p.AsOf.Add(announceDays).Sub(before.Add(every))
		c.due = c.overdue >= 0
	}
	if !c.due {
		return nil
	}
	e.CountRows, e.Count = worthCounting(in, ready, p.AsOf, assumed)
	return nil
}

// placeCounts decides, once it is known who is due for an order, which counts are
// announced, and holds orders back that a count comes before.
func (p *Plan) placeCounts() {
	for i := range p.Entries {
		e := &p.Entries[i]
		c := &e.count
		switch {
		case c.plan != nil && e.Proposal != nil && e.Before == nil &&
			(c.plan.Asks.Assumed || e.Proposal.OrderBy > c.plan.ReturnBy):
			p.holdForCount(e, c.plan)
		case c.due && len(e.CountRows) > 0 && p.timely(e):
			c.fresh = p.announce(e)
			if e.Proposal != nil {
				p.holdForCount(e, c.fresh)
			}
		}
	}
}

// timely reports whether a count announced now comes before an order and not
// beside one. Where all is assumed, it is the first thing of all.
func (p *Plan) timely(e *Entry) bool {
	switch {
	case e.assumedStock():
		return e.Before == nil
	case e.Proposal != nil:
		return false
	case e.count.overdue >= beforeOrder:
		return true
	}
	next := e.Decision.NextDue
	return !next.IsZero() && next <= p.AsOf.Add(beforeOrder)
}

func (p *Plan) announce(e *Entry) *store.CountPlan {
	shop := p.books.Shop
	send := openFrom(shop, p.AsOf.Add(announceDays))
	plan := &store.CountPlan{Client: e.Client.Code, Announced: p.AsOf, SendOn: send,
		ReturnBy: openFrom(shop, send.Add(countDays))}
	plan.Asks.Assumed = e.assumedStock()
	plan.Asks.Saving, plan.Asks.Minutes = programme.Money(100*e.Count.Net()), e.Count.Minutes
	for _, r := range e.CountRows {
		plan.Asks.Rows = append(plan.Asks.Rows, store.CountAsk{StaffID: r.Person.StaffID, SKU: r.SKU})
	}
	return plan
}

func (p *Plan) holdForCount(e *Entry, plan *store.CountPlan) {
	e.Proposal, e.Decision.Due = nil, false
	e.Decision.NextDue = max(p.NextRound, plan.ReturnBy)
	e.held = plan
}

// countForms returns the forms that go out in this round: of counts that were
// announced, and are not left out.
func (p *Plan) countForms(ctx context.Context, b *books.Books) []func() (Message, error) {
	var jobs []func() (Message, error)
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.count.plan == nil || e.count.sent || p.AsOf < e.count.plan.SendOn {
			continue
		}
		form := message.CountForm{Shop: b.Shop, Client: e.Client, AsOf: p.AsOf,
			ReturnBy: max(e.count.plan.ReturnBy, p.AsOf+1), Rows: p.rowsOf(e), Assumed: e.count.plan.Asks.Assumed}
		form.ReturnTo, _ = b.ListTo(ctx, inbox.ToCount, e.Client.Code, p.AsOf) // its trouble stands in the owner's mail
		for _, part := range form.Parts() {
			jobs = append(jobs, func() (Message, error) {
				m, err := message.ComposeCount(part)
				return Message{Mail: m, Client: e.Client.Code, asDraft: !e.Client.CountsByThemselves}, err
			})
		}
	}
	return jobs
}

// rowsOf returns the rows asked for of people who are still there.
func (p *Plan) rowsOf(e *Entry) []message.CountRow {
	var rows []message.CountRow
	for _, ask := range e.count.plan.Asks.Rows {
		person, ok := programme.Roster(e.People).Find(ask.StaffID)
		if ok && person.ActiveOn(p.AsOf) {
			rows = append(rows, message.CountRow{Person: *person, SKU: ask.SKU, OnRecord: e.holds[ask]})
		}
	}
	return rows
}

// counting tells the owner of counts to come, and of those out.
func (p *Plan) counting() (out []message.Counting) {
	for i := range p.Entries {
		e := &p.Entries[i]
		plan := e.count.plan
		if plan == nil {
			plan = e.count.fresh
		}
		if plan == nil {
			continue
		}
		people := map[string]bool{}
		for _, r := range plan.Asks.Rows {
			people[r.StaffID] = true
		}
		sent := e.count.sent || e.count.plan != nil && p.AsOf >= plan.SendOn
		if sent && e.count.sent && e.held == nil {
			continue // told when it went out
		}
		out = append(out, message.Counting{
			Client: e.Client, Rows: len(plan.Asks.Rows), Came: e.count.came, People: len(people), SendOn: plan.SendOn,
			ReturnBy: plan.ReturnBy, Sent: sent,
			ByItself: e.Client.CountsByThemselves, Saving: plan.Asks.Saving, Assumed: plan.Asks.Assumed,
			Holds: e.held != nil,
		})
	}
	return out
}
