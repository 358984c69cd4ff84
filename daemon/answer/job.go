package answer

import (
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// JobOf returns what the papers for the press of an accepted proposal are made of, or a screen there:
// job ticket, bag tags, packing list. The same proposal gives the same papers. home is the shop's
// folder, in which the pictures lie.
func JobOf(v store.View, home string, shop *programme.Shop, client *programme.Client,
	p *reorder.Proposal) (message.Job, error) {
	people, err := v.People(p.Client)
	if err != nil {
		return message.Job{}, err
	}
	orders, err := v.SheetOrdersOf(p.Number)
	var lines []sheet.Line // of the client's artworks, as the round planned them
	for i := range orders {
		for _, l := range orders[i].Plan.Lines {
			if l.Client == p.Client {
				lines = append(lines, l)
			}
		}
	}
	return message.Job{Shop: shop, Client: client, Proposal: p, People: people, Lines: lines,
		Pictures: books.Pictures(home, shop, artworks(shop, client))}, err
}

// sendJob puts the papers into the outbox, to the owner, and hands them to the
// caller as well.
func (s *step) sendJob() error {
	p := &s.out.Proposal
	job, err := JobOf(s.tx.View, s.answer.Home, s.shop, s.client, p)
	if err != nil {
		return err
	}
	m, err := message.ComposeJob(job)
	if err != nil {
		return err
	}
	from := s.answer.From
	if from.Email == "" {
		from = s.shop.Owner
	}
	l, err := delivery.Seal(m, delivery.Envelope{From: from, Date: s.tx.Now.In(books.ZoneOf(s.shop)),
		Proposal: p.Number})
	if err != nil {
		return err
	}
	s.out.Papers = m.Attachments
	for _, w := range m.Warnings {
		s.notice("%s", w)
	}
	_, err = s.tx.Enqueue(l)
	return err
}

// artworks returns the codes of all images of a client, in every size.
func artworks(shop *programme.Shop, c *programme.Client) []string {
	var out []string
	for _, a := range shop.Transfers() {
		if a.Client == c.Code {
			out = append(out, a.Code)
		}
	}
	return out
}
