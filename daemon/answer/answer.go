// Package answer carries out what people say about a proposal: yes, no, ordered,
// received. Each answer moves the proposal and, in the same transaction, the
// pieces that go with it: blanks are set aside, finished pieces are issued to
// the people they are for.
package answer

import (
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Answer is what somebody said about a proposal.
type Answer struct {
	Number int64
	Event  reorder.Event
	Day    programme.Date // on which it was said or happened
	Note   string         // in the owner's words; may be empty
	// From is who the papers of a yes come from; empty = the owner.
	From programme.Contact
}

// Outcome is what came of an answer.
type Outcome struct {
	Proposal reorder.Proposal
	From     reorder.State
	// Issued are the pieces that went to people, Shelved those that went to the
	// client's shelf.
	Issued, Shelved int
	// Papers are the job ticket, bag tags and packing list of a yes; they are in
	// the outbox as well.
	Papers []message.Part
	// Notices are sentences for the owner: what differs from the plan.
	Notices []string
}

// Record carries out an answer within a transaction, for the client that the
// proposal was made to. A step that the
// proposal's state does not allow is a *reorder.StateError; with any error the
// caller's transaction must be given up.
func Record(tx *store.Tx, shop *programme.Shop, client *programme.Client, a Answer) (Outcome, error) {
	p, err := tx.Proposal(a.Number)
	if err != nil {
		return Outcome{}, err
	}
	out := Outcome{Proposal: p, From: p.State}
	to, err := reorder.Next(p.State, a.Event)
	if err != nil {
		return out, fmt.Errorf("proposal %d: %w", a.Number, err)
	}
	if a.Day < p.AsOf {
		return out, fmt.Errorf("proposal %d was made on %s, so nothing can have happened to it on %s; give the right day with --on", a.Number, p.AsOf, a.Day)
	}
	s := step{tx: tx, shop: shop, client: client, answer: a, out: &out}
	if err := s.carryOut(); err != nil {
		return out, err
	}
	if err := tx.MoveProposal(a.Number, out.From, to, a.Note); err != nil {
		return out, err
	}
	out.Proposal.State = to
	return out, tx.PutProposalBody(&out.Proposal)
}

// step is one answer while it is carried out.
type step struct {
	tx     *store.Tx
	shop   *programme.Shop
	client *programme.Client
	answer Answer
	out    *Outcome
}

func (s *step) carryOut() error {
	switch s.answer.Event {
	case reorder.Accept:
		return s.accept()
	case reorder.Decline, reorder.Cancel, reorder.Lapse:
		return s.giveBack()
	case reorder.Order:
		return s.order()
	case reorder.Receive:
		return s.receive()
	case reorder.Send:
		return nil
	}
	return nil
}

func (s *step) notice(format string, args ...any) {
	s.out.Notices = append(s.out.Notices, fmt.Sprintf(format, args...))
}

// accept sets the blanks aside, for a late yes moves the arrival, and sends the
// papers for the press.
func (s *step) accept() error {
	p := &s.out.Proposal
	if arrives := p.ArrivesAfter(s.answer.Day, s.shop.Closed); arrives != p.Arrives {
		s.notice("The yes came after %s, so the pieces arrive by %s instead of %s.",
			s.date(p.OrderBy), s.date(arrives), s.date(p.Arrives))
		p.Arrives = arrives
	}
	for i := range p.Lines {
		if err := s.setAside(&p.Lines[i]); err != nil {
			return err
		}
	}
	return s.sendJob()
}

func (s *step) setAside(l *reorder.Line) error {
	if l.BlanksOnShelf == 0 {
		return nil
	}
	taken, err := s.tx.TakeStock(programme.BlankGoods(l.SKU), l.BlanksOnShelf)
	if err != nil {
		return err
	}
	l.SetAside = taken
	if missing := l.BlanksOnShelf - taken; missing > 0 {
		s.notice("Of %s, %d blanks that were counted on are no longer on the shelf: see whether they are on their way, or order %d more.",
			s.name(l.SKU), missing, missing)
	}
	return nil
}

// giveBack puts blanks that were set aside back on the shelf and drops sheets
// that serve nobody any more.
func (s *step) giveBack() error {
	var back []programme.StockLine
	for i := range s.out.Proposal.Lines {
		l := &s.out.Proposal.Lines[i]
		if l.SetAside > 0 {
			back = append(back, s.blank(l.SKU, l.SetAside))
			l.SetAside = 0
		}
	}
	if err := s.tx.AddStock(back); err != nil {
		return err
	}
	return s.dropSheets()
}

func (s *step) blank(k programme.SKU, pieces int) programme.StockLine {
	return programme.StockLine{AsOf: s.answer.Day, Goods: programme.BlankGoods(k), Pieces: pieces}
}

func (s *step) date(d programme.Date) string { return s.shop.DateStyle.Date(d) }

// name is what people call a garment, colour and size.
func (s *step) name(k programme.SKU) string { return Name(s.shop, k) }

// Name is what people call a garment, colour and size.
func Name(shop *programme.Shop, k programme.SKU) string {
	garment := k.Garment
	if g, ok := shop.Garment(k.Garment); ok && g.Name != "" {
		garment = g.Name
	}
	if k.Size == "one" || k.Size == "" {
		return garment + ", " + k.Colour
	}
	return garment + ", " + k.Colour + ", " + k.Size
}
