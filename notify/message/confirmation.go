package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Confirmation tells somebody who answered by mail what was understood, so that a
// misunderstanding is found before anything is bought.
type Confirmation struct {
	Shop   *programme.Shop
	Client *programme.Client
	// Before is the proposal as it stood, Proposal as it stands now.
	Before, Proposal *reorder.Proposal
	To               programme.Contact
	// InReplyTo is the Message-ID of the mail that is answered.
	InReplyTo string
	// Number of the mail among those that came, which makes the ID.
	Number int64
	// Without are sentences on who goes without, and other notices.
	Without []string
}

// ComposeConfirmation writes it. It states no cost and no margin.
func ComposeConfirmation(c Confirmation) (Mail, error) {
	p, r := c.Proposal, Reorder{Shop: c.Shop, Client: c.Client, Proposal: c.Proposal}
	o, err := r.offer()
	if err != nil {
		return Mail{}, fmt.Errorf("compose the confirmation of proposal %d: %w", p.Number, err)
	}
	title, first := "", ""
	switch p.State {
	case reorder.Accepted:
		title = fmt.Sprintf("Your order: %s", programme.NumberOf(p.Pieces(), "piece"))
		first = fmt.Sprintf("Thank you. We have your yes to proposal %d. The pieces are with you by %s.", p.Number,
			o.t.day(p.Arrives))
	case reorder.PutOff:
		title = fmt.Sprintf("Proposal %d: not now", p.Number)
		first = fmt.Sprintf("Thank you for telling us. We ask you again on %s; a yes before that counts.",
			o.t.day(p.Until))
	case reorder.Declined:
		title = fmt.Sprintf("Proposal %d: no order", p.Number)
		first = "Thank you for telling us. We order nothing, and ask again only when noticeably more is needed."
	case reorder.Drafted, reorder.Sent, reorder.Ordered, reorder.PartReceived, reorder.Received, reorder.Lapsed:
		return Mail{}, fmt.Errorf("compose the confirmation of proposal %d: it is %s, which no mail answers",
			p.Number, p.State)
	}
	m := Mail{Kind: KindConfirmation, ID: id("confirmation", c.Number), To: []programme.Contact{c.To},
		ReplyTo: r.manager(), Subject: title, InReplyTo: c.InReplyTo}
	page := letter(clean.Short(c.Shop.Name), title, title)
	page.Say("%s", hello(c.To.Name))
	page.Say("%s", first)
	if p.State == reorder.Accepted {
		c.order(o, &page)
	}
	page.Say("If this is not what you meant, please answer this mail by tomorrow: a person reads it.")
	manager := r.manager()
	page.Add(regards(clean.Short(manager.Name), clean.Short(c.Shop.Name)))
	return m, m.write(page)
}

// Receipt tells somebody whose lists came by mail that they were taken in.
type Receipt struct {
	Shop      *programme.Shop
	Client    *programme.Client
	To        programme.Contact
	InReplyTo string // Message-ID of the mail that is answered
	Number    int64  // of the mail among those that came, which makes the ID
	// Taken says of each file what came of it; notes in lines of their own are the shop's.
	Taken []string
}

// ComposeReceipt writes it.
func ComposeReceipt(c Receipt) (Mail, error) {
	title := "Your list is taken in"
	if len(c.Taken) > 1 {
		title = "Your lists are taken in"
	}
	r := Reorder{Shop: c.Shop, Client: c.Client}
	manager := r.manager()
	m := Mail{Kind: KindConfirmation, ID: id("confirmation", c.Number), To: []programme.Contact{c.To}, ReplyTo: manager,
		Subject: title, InReplyTo: c.InReplyTo}
	page := letter(clean.Short(c.Shop.Name), title, title)
	page.Say("%s", hello(c.To.Name))
	page.Say("Thank you. This came for %s and is in our records:", clientName(c.Client))
	var files []string
	for _, words := range c.Taken {
		file, came, _ := strings.Cut(words, ": ")
		lines := slices.DeleteFunc(strings.Split(came, "\n"),
			func(l string) bool { return strings.HasPrefix(l, "Note: ") })
		files = append(files, clean.Line(file+": "+strings.Join(lines, " ")))
	}
	page.List(files)
	page.Say("If something in it was wrong, please answer this mail: a person reads it.")
	page.Add(regards(clean.Short(manager.Name), clean.Short(c.Shop.Name)))
	return m, m.write(page)
}

// order lists what was said yes to, and what is other than the form that went out.
func (c *Confirmation) order(o *offer, p *page.Page) {
	t := page.Table{Columns: page.Columns("Item", "#Pieces")}
	changed := false
	for i := range c.Proposal.Lines {
		l := &c.Proposal.Lines[i]
		if old := c.Before.Line(l.SKU); old == nil || old.Order != l.Order {
			changed = true
		}
		if l.Order > 0 {
			t.Row(o.t.what(l.SKU), l.Order)
		}
	}
	p.Add(t)
	facts := []page.Fact{{Label: "Pieces", Value: fmt.Sprint(c.Proposal.Pieces()), Strong: true}}
	if o.priced {
		facts = append(facts, page.Fact{Label: "Price", Value: o.t.money(o.sale.Total), Strong: true})
	}
	p.Add(page.Facts{Pairs: facts})
	if changed {
		p.Say("These are your numbers; the form that we sent had others.")
	}
	p.List(c.Without)
}
