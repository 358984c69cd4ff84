package desk

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// task is a card for one thing to be done, with a button that leads to its page.
func task(title, words, button, to string) page.Card {
	return page.Card{Level: 3, Title: page.Plain(title), Body: []page.Block{
		page.Paragraph{Words: page.Plain(words)},
		page.Form{Action: to, Get: true, Buttons: []page.Button{{Words: button, About: title, Main: true}}},
	}}
}

// todayPage lists what is due, the most urgent first.
func (v *visit) todayPage() error {
	p := page.Page{Title: "Today"}
	p.Heading(1, "Today, "+v.date(v.today))
	before := len(p.Blocks)
	for _, add := range []func(*page.Page) error{v.addUnanswered, v.addCounts, v.addSupply, v.addJobs, v.addStarters,
		v.addMail} {
		if err := add(&p); err != nil {
			return err
		}
	}
	clients, err := v.Books.Store.Clients(v.ctx())
	switch {
	case err != nil:
		return err
	case len(clients) == 0:
		p.Add(task("Begin with a client", "There is none yet. A few questions draft what its people wear.",
			"A new client", "/new-client"))
	case len(p.Blocks) == before:
		p.Say("Nothing waits for you. The round says on its day who is due.")
	}
	if err := v.addWorries(&p); err != nil {
		return err
	}
	return v.show(p)
}

// addUnanswered lists proposals that wait for an answer.
func (v *visit) addUnanswered(p *page.Page) error {
	list, err := v.Books.Store.ProposalHeads(v.ctx(), "", reorder.Unsettled()...)
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(list,
		func(x reorder.Proposal) bool { return x.State == reorder.PutOff && x.Until > v.today })
	slices.SortStableFunc(list, func(a, b reorder.Proposal) int {
		return cmp.Or(cmp.Compare(a.OrderBy, b.OrderBy), cmp.Compare(a.Number, b.Number))
	})
	if len(list) == 0 {
		return nil
	}
	p.Heading(2, "No answer yet")
	for i := range list {
		x := &list[i]
		words := fmt.Sprintf("Proposal %d, %s", x.Number, programme.NumberOf(x.Pieces(), "piece"))
		if x.Priced() {
			words += " for " + v.money(x.Price)
		}
		when := fmt.Sprintf(". A yes by %s brings them by %s.", v.date(x.OrderBy), v.date(x.Arrives))
		switch {
		case x.State == reorder.PutOff:
			when = fmt.Sprintf(". They asked to be asked again on %s.", v.date(x.Until))
		case x.OrderBy < v.today:
			when = fmt.Sprintf(". The day for a yes was %s; a late yes is a yes.", v.date(x.OrderBy))
		}
		p.Add(task(v.Books.ClientName(v.ctx(), x.Client), words+when, "Enter the answer", proposalAddress(x.Number)))
	}
	return nil
}

// addSupply lists what is to be ordered, sent, or on its way from suppliers.
func (v *visit) addSupply(p *page.Page) error {
	written, err := supply.Orders(v.ctx(), v.Books.Store, store.OrderWritten)
	if err != nil {
		return err
	}
	accepted, err := v.Books.Store.ProposalHeads(v.ctx(), "", reorder.Accepted)
	if err != nil {
		return err
	}
	accepted = slices.DeleteFunc(accepted, func(x reorder.Proposal) bool {
		return slices.ContainsFunc(written, func(o supply.Order) bool { return o.Carries(x.Number) })
	})
	coming, err := supply.Orders(v.ctx(), v.Books.Store, store.OrderOrdered)
	if err != nil {
		return err
	}
	if len(accepted)+len(written)+len(coming) == 0 {
		return nil
	}
	p.Heading(2, "Suppliers")
	if n := len(accepted); n > 0 {
		numbers := make([]int64, n)
		for i := range accepted {
			numbers[i] = accepted[i].Number
		}
		p.Add(task("To be ordered", fmt.Sprintf("Accepted and not ordered: %s.", proposalList(numbers)),
			"Write the orders", "/orders"))
	}
	for i := range written {
		o := &written[i]
		p.Add(task(fmt.Sprintf("Order %d to %s", o.Number, v.Books.Shop.SupplierName(o.Supplier)),
			"It is written and lies in the folder drafts: "+o.Words()+". Look at it, and send it.",
			"To the orders", "/orders"))
	}
	for i := range coming {
		o := &coming[i]
		p.Add(task(fmt.Sprintf("Order %d from %s", o.Number, v.Books.Shop.SupplierName(o.Supplier)),
			fmt.Sprintf("On its way since %s: %s.%s", v.date(o.AsOf), o.Words(), stillToCome(o)),
			"Enter what came", "/goods"))
	}
	return nil
}

// stillToCome says how many blanks of an order are outstanding, where some have come.
func stillToCome(o *supply.Order) string {
	ordered := 0
	for i := range o.Blanks {
		ordered += o.Blanks[i].Pieces
	}
	left := o.Outstanding()
	if left == 0 || left == ordered {
		return ""
	}
	return fmt.Sprintf(" %s still to come.", programme.NumberOf(left, "blank"))
}

// addJobs lists what is to be pressed and handed over.
func (v *visit) addJobs(p *page.Page) error {
	list, err := v.Books.Store.ProposalHeads(v.ctx(), "", reorder.Ordered, reorder.PartReceived)
	if err != nil || len(list) == 0 {
		return err
	}
	slices.SortStableFunc(list, func(a, b reorder.Proposal) int {
		return cmp.Or(cmp.Compare(a.Arrives, b.Arrives), cmp.Compare(a.Number, b.Number))
	})
	p.Heading(2, "Press and hand over")
	for i := range list {
		x := &list[i]
		words := fmt.Sprintf("Job %d: %s to come, promised by %s.", x.Number,
			programme.NumberOf(x.Outstanding(), "piece"), v.date(x.Arrives))
		if x.Arrives < v.today {
			words = fmt.Sprintf("Job %d: %s to come, promised by %s and late.", x.Number,
				programme.NumberOf(x.Outstanding(), "piece"), v.date(x.Arrives))
		}
		p.Add(task(v.Books.ClientName(v.ctx(), x.Client), words, "To the job", jobAddress(x.Number)))
	}
	return nil
}

// startDays are the days before and after today in which somebody who starts is listed.
const startDays = 14

// addStarters lists people who start about now and hold nothing.
func (v *visit) addStarters(p *page.Page) error {
	list, err := v.Books.Store.Starters(v.ctx(), v.today.Add(-startDays), v.today.Add(startDays), mostFound)
	if err != nil || len(list) == 0 {
		return err
	}
	p.Heading(2, "They start, and hold nothing")
	for i := range list {
		x := &list[i]
		words := fmt.Sprintf("%s. First day %s.", v.Books.ClientName(v.ctx(), x.Client), v.date(x.Start))
		p.Add(task(nameOf(&x.Person), words, "Hand out", clientAddress(x.Client)+"/start?name="+x.StaffID))
	}
	return nil
}

// addMail lists mails that came back and wait for a person.
func (v *visit) addMail(p *page.Page) error {
	list, err := v.Books.Store.Replies(v.ctx(), mostFound, store.ReplyAsked)
	if err != nil || len(list) == 0 {
		return err
	}
	p.Heading(2, "Mails that wait for you")
	for i := range list {
		r := &list[i]
		words := fmt.Sprintf("From %s: %s. It was put aside because %s.", r.Sender, r.Subject, r.Why)
		title := fmt.Sprintf("Mail %d", r.ID)
		card := page.Card{Level: 3, Title: page.Plain(title),
			Body: []page.Block{page.Paragraph{Words: page.Plain(words)}}}
		if r.Proposal != 0 {
			card = task(title, words, "Enter the answer", proposalAddress(r.Proposal))
		}
		card.Body = append(card.Body, v.form("mail", fmt.Sprintf("/mail/%d/done", r.ID), "", nil,
			page.Button{Words: "Dealt with", About: title}))
		p.Add(card)
	}
	return nil
}

// mailDone takes a mail off the list of those that wait.
func (v *visit) mailDone() error {
	n, err := strconv.ParseInt(v.r.PathValue("number"), 10, 64)
	if err != nil {
		return errMissing
	}
	return v.carry("/", v.todayPage, nil, func(ctx context.Context) (told, error) {
		err := v.Books.Store.InTx(ctx, func(tx *store.Tx) error {
			if err := tx.TakeForm(0); err != nil {
				return err
			}
			ok, err := tx.DealWithReply(n, "dealt with by hand")
			if err == nil && !ok {
				err = errStale
			}
			return err
		})
		return told{Text: fmt.Sprintf("mail %d is dealt with", n)}, err
	})
}

// addWorries lists what a person should look at: backups, disk, mail, jobs that failed.
func (v *visit) addWorries(p *page.Page) error {
	if v.Worries == nil {
		return nil
	}
	list, err := v.Worries(v.ctx())
	if err != nil || len(list) == 0 {
		return err
	}
	p.Heading(2, "Look at this")
	p.List(list)
	return nil
}
