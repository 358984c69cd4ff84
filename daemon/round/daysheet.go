package round

import (
	"context"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// DaySheet is a client's sheet of the week of a day, with what people hold by the records
// of that day, and where it is sent back.
func DaySheet(ctx context.Context, b *books.Books, client *programme.Client,
	day programme.Date) (message.DaySheet, error) {
	d := message.DaySheet{Shop: b.Shop, Client: client, Week: ledger.Monday(day)}
	people, err := b.Store.People(ctx, client.Code)
	if err != nil {
		return d, err
	}
	moves, err := b.Store.Movements(ctx, client.Code)
	if err != nil {
		return d, err
	}
	book, err := wear.NewBook(b.Shop, client, nil)
	if err != nil {
		return d, err
	}
	holds := map[string]map[programme.SKU]int{}
	history := book.Trace(people, moves, day)
	for i := range history.InService {
		p := &history.InService[i]
		if holds[p.StaffID] == nil {
			holds[p.StaffID] = map[programme.SKU]int{}
		}
		holds[p.StaffID][p.SKU]++
	}
	d.Rows = message.DayRows(b.Shop, client, people, holds, d.Week)
	// Without an address for answers both go to the manager; its trouble stands in the
	// owner's mail.
	d.ReturnTo, _ = b.ListTo(ctx, inbox.ToDaySheet, client.Code, d.Week)
	d.RosterTo, _ = b.ListTo(ctx, inbox.ToRoster, client.Code, d.Week)
	return d, nil
}

// daySheets returns the sheets that go out in this round: of clients that have them
// weekly, once a week.
func (p *Plan) daySheets(ctx context.Context, b *books.Books) (jobs []func() (Message, error), err error) {
	for i := range p.Entries {
		c := p.Entries[i].Client
		if c.DaySheets != programme.WeeklyDaySheets {
			continue
		}
		sent, err := b.Store.Wrote(ctx, string(message.KindDaySheet), c.Code,
			message.DaySubject(b.Shop, c, ledger.Monday(p.AsOf)))
		if err != nil {
			return nil, err
		}
		if sent {
			continue
		}
		jobs = append(jobs, func() (Message, error) {
			d, err := DaySheet(ctx, b, c, p.AsOf)
			if err != nil {
				return Message{}, err
			}
			m, err := message.ComposeDaySheet(d)
			return Message{Mail: m, Client: c.Code}, err
		})
	}
	return jobs, nil
}
