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

// Job composes the papers for the press of an accepted proposal: job ticket,
// bag tags, packing list. The same proposal gives the same papers.
func Job(tx *store.Tx, home string, shop *programme.Shop, client *programme.Client, p *reorder.Proposal) (message.Mail, error) {
	j, err := JobOf(tx, home, shop, client, p)
	if err != nil {
		return message.Mail{}, err
	}
	return message.ComposeJob(j)
}

// JobOf returns what the papers for the press, or a screen there, are made of.
func JobOf(tx *store.Tx, home string, shop *programme.Shop, client *programme.Client, p *reorder.Proposal) (message.Job, error) {
	people, err := tx.People(p.Client)
	if err != nil {
		return message.Job{}, err
	}
	lines, err := transferLines(tx, p)
	return message.Job{Shop: shop, Client: client, Proposal: p, People: people, Lines: lines, Pictures: books.Pictures(home, shop, artworks(shop, client))}, err
}

// transferLines returns what the round planned of the client's artworks.
func transferLines(tx *store.Tx, p *reorder.Proposal) ([]sheet.Line, error) {
	orders, err := tx.SheetOrdersOf(p.Number)
	if err != nil {
		return nil, err
	}
	var out []sheet.Line
	for i := range orders {
		for _, l := range orders[i].Plan.Lines {
			if l.Client == p.Client {
				out = append(out, l)
			}
		}
	}
	return out, nil
}

// sendJob puts the papers into the outbox, to the owner, and hands them to the
// caller as well.
func (s *step) sendJob() error {
	p := &s.out.Proposal
	m, err := Job(s.tx, s.answer.Home, s.shop, s.client, p)
	if err != nil {
		return err
	}
	from := s.answer.From
	if from.Email == "" {
		from = s.shop.Owner
	}
	l, err := delivery.Seal(m, delivery.Envelope{From: from, Date: s.tx.Now.In(books.ZoneOf(s.shop)), Proposal: p.Number})
	if err != nil {
		return err
	}
	s.out.Papers = m.Attachments
	s.out.Notices = append(s.out.Notices, m.Warnings...)
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
