package main

import (
	"context"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// proposalJSON is the shape of 'proposal show --json', format 1.
type proposalJSON struct {
	Format   int               `json:"format"`
	Proposal *reorder.Proposal `json:"proposal"`
	History  []stepJSON        `json:"history"`
}

type stepJSON struct {
	At   time.Time     `json:"at"`
	From reorder.State `json:"from,omitempty"`
	To   reorder.State `json:"to"`
	Note string        `json:"note,omitempty"`
}

func (a *app) showProposal(ctx context.Context, b *books.Books, number int64, explain, asJSON bool) error {
	p, err := b.Store.Proposal(ctx, number)
	if err != nil {
		return err
	}
	steps, err := b.Store.Steps(ctx, number)
	if err != nil {
		return err
	}
	if asJSON {
		history := make([]stepJSON, 0, len(steps))
		for _, s := range steps {
			history = append(history, stepJSON(s))
		}
		return writeJSON(a.out, proposalJSON{1, &p, history})
	}
	people, err := b.Store.People(ctx, p.Client)
	if err != nil {
		return err
	}
	client, err := b.Client(ctx, p.Client)
	if explain && err != nil {
		return err
	}
	shown := message.Show(b.Shop, b.ClientName(ctx, p.Client), client, &p, people, explain)
	addHistory(&shown, b.Shop, &p, steps)
	return draw(a.out, shown)
}

// addHistory tells the steps of the proposal and the command of the next one.
func addHistory(on *page.Page, shop *programme.Shop, p *reorder.Proposal, steps []store.Step) {
	zone := books.ZoneOf(shop)
	var list []string
	for _, s := range steps {
		note := ""
		if s.Note != "" {
			note = " (" + s.Note + ")"
		}
		list = append(list, fmt.Sprintf("%s: %s%s", shop.DateStyle.Moment(s.At.In(zone)), s.To, note))
	}
	on.List(list)
	switch p.State {
	case reorder.Drafted, reorder.Sent:
		on.Say("Next: kitmuster proposal accept %d, change, put-off or decline", p.Number)
	case reorder.PutOff:
		on.Say("Put off until %s; a yes before that counts as well: kitmuster proposal accept %d",
			shop.DateStyle.Date(p.Until), p.Number)
	case reorder.Accepted:
		on.Say("Next: kitmuster orders, then kitmuster orders sent")
	case reorder.Ordered:
		on.Say("Next: kitmuster proposal received %d, or arrived for a part", p.Number)
	case reorder.PartReceived:
		on.Say("%s still to come. Next: kitmuster proposal arrived %d", programme.NumberOf(p.Outstanding(), "piece"),
			p.Number)
	case reorder.Declined, reorder.Received, reorder.Lapsed:
	}
}
