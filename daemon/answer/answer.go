// Package answer carries out what people say about a proposal: yes, other
// numbers, not now, no, ordered, arrived, make again. Each answer moves the
// proposal and, in the same transaction, the pieces that go with it: blanks are
// set aside, finished pieces are issued to the people they are for.
package answer

import (
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Answer holds the words of a person about a proposal, as data.
type Answer struct {
	Number int64
	Event  reorder.Event
	Day    programme.Date // on which it was said or happened
	Note   string         // in the owner's words; may be empty
	// From is the sender of the papers of a yes; empty = the owner.
	From programme.Contact
	// Home is the shop's folder, in which the pictures of artworks lie; without
	// it the papers show boxes.
	Home string
	// Form is the form that a yes was said to; 0 = the newest.
	Form int
	// Known is true where whoever said yes knows of a day or price that is not the
	// one of their form.
	Known bool
	// Changes are other numbers of pieces, of a change or of a yes with changes.
	Changes []reorder.LineChange
	// List is the list that came back, which names all pieces of the order.
	List []reorder.Listed
	// Until is the day until which a not now or a no holds.
	Until programme.Date
	// Because is the reason of a no.
	Because string
	// Deliveries lists the goods that came; none = all that is outstanding came.
	Deliveries []reorder.Delivery
	// OldKept says that the people who get pieces keep the old ones in use.
	OldKept bool
	// Again are pieces to be made again; Came says that they had come already.
	Again []reorder.LineChange
	Came  bool
}

// Outcome is the result of an answer.
type Outcome struct {
	Proposal reorder.Proposal
	From     reorder.State
	// Issued are the pieces that went to people, Shelved those that went to the
	// client's shelf.
	Issued, Shelved int
	// Anew is true of a yes that came to something else than its form promised:
	// other pieces, another price or another day. Whoever said it should know.
	Anew bool
	// Papers are the job ticket, bag tags and packing list of a yes; they are in
	// the outbox as well.
	Papers []message.Part
	// Notices are sentences for the owner: what differs from the plan.
	Notices []hint.Text
}

// Record carries out an answer within a transaction, for the client that the
// proposal was made to. As a part of an entry that can be taken back, its ledger rows carry
// the entry's number, and the journal is told of what is changed; without one they are 0
// and nil. A step that the proposal's state does not allow is a *reorder.StateError; with
// any error the caller's transaction must be given up.
func Record(tx *store.Tx, shop *programme.Shop, client *programme.Client, a Answer, entry int64,
	j *journal.Journal) (Outcome, error) {
	p, err := tx.Proposal(a.Number)
	if err != nil {
		return Outcome{}, err
	}
	out := Outcome{Proposal: p, From: p.State}
	if _, err := reorder.Next(p.State, a.Event); err != nil {
		return out, fmt.Errorf("proposal %d: %w", a.Number, err)
	}
	if a.Day < p.Since() {
		return out, fmt.Errorf("proposal %d was made on %s, so nothing can have happened to it on %s; %w",
			a.Number, p.Since(), a.Day,
			hint.Text{Command: "give the right day with --on", Desk: "write the right day"})
	}
	if err := j.Proposal(a.Number); err != nil {
		return out, err
	}
	s := step{tx: tx, shop: shop, client: client, answer: a, out: &out, entry: entry, journal: j}
	if err := s.carryOut(); err != nil {
		return out, fmt.Errorf("proposal %d: %w", a.Number, err)
	}
	to, err := reorder.Next(p.State, s.happened())
	if err != nil {
		return out, fmt.Errorf("proposal %d: %w", a.Number, err)
	}
	if err := tx.MoveProposal(a.Number, out.From, to, s.remark()); err != nil {
		return out, err
	}
	out.Proposal.State = to
	return out, tx.PutProposalBody(&out.Proposal)
}

// step is one answer while it is carried out.
type step struct {
	tx      *store.Tx
	shop    *programme.Shop
	client  *programme.Client
	answer  Answer
	out     *Outcome
	entry   int64 // of undo; 0 = none
	journal *journal.Journal
}

func (s *step) carryOut() error {
	switch s.answer.Event {
	case reorder.Change:
		return s.change()
	case reorder.Accept:
		return s.accept()
	case reorder.Wait:
		return s.wait()
	case reorder.Decline:
		s.out.Proposal.Until, s.out.Proposal.Because = s.answer.Until, s.answer.Because
		s.out.Proposal.Answered = s.answer.Day
		return errors.Join(s.giveBack(), s.dropDrafts())
	case reorder.Cancel, reorder.Lapse:
		s.out.Proposal.Answered = s.answer.Day
		for i := range s.out.Proposal.Lines {
			s.out.Proposal.Lines[i].Progress = reorder.Progress{}
		}
		return errors.Join(s.giveBack(), s.takeOff())
	case reorder.Order:
		return s.order()
	case reorder.Arrive, reorder.Receive:
		return s.deliver()
	case reorder.Remake:
		return s.remake()
	case reorder.Send, reorder.Revise:
		return nil
	}
	return nil
}

// happened returns the event that the answer came to: goods that came leave a
// proposal part received or, with the last of them, received.
func (s *step) happened() reorder.Event {
	if e := s.answer.Event; e != reorder.Arrive && e != reorder.Receive {
		return e
	}
	if s.out.Proposal.Outstanding() > 0 {
		return reorder.Arrive
	}
	return reorder.Receive
}

// remark returns what the history keeps: the owner's words, or what the answer says.
func (s *step) remark() string {
	if s.answer.Note != "" {
		return s.answer.Note
	}
	switch s.answer.Event {
	case reorder.Change:
		return fmt.Sprintf("changed to %d pieces", s.out.Proposal.Pieces())
	case reorder.Accept:
		if n := s.answer.Form; n > 0 && n < s.out.Proposal.Form() {
			return fmt.Sprintf("to form %d: %d pieces", n, s.out.Proposal.Pieces())
		}
		if len(s.answer.Changes)+len(s.answer.List) > 0 {
			return fmt.Sprintf("with changes: %d pieces", s.out.Proposal.Pieces())
		}
	case reorder.Wait:
		return "until " + s.date(s.answer.Until)
	case reorder.Decline:
		return s.answer.Because
	case reorder.Arrive, reorder.Receive:
		if n := s.out.Proposal.Outstanding(); n > 0 {
			return fmt.Sprintf("%d pieces still to come", n)
		}
	case reorder.Remake:
		return "pieces to be made again"
	case reorder.Send, reorder.Revise, reorder.Order, reorder.Lapse, reorder.Cancel:
	}
	return ""
}

func (s *step) notice(format string, args ...any) {
	s.out.Notices = append(s.out.Notices, hint.Sprintf(format, args...))
}

// accept takes other numbers, sets the goods of the shelf aside, for a late yes moves the
// arrival and looks up prices anew, and sends the papers for the press.
func (s *step) accept() error {
	p := &s.out.Proposal
	p.Until, p.Because, p.Answered = 0, "", s.answer.Day
	if err := s.late(); err != nil {
		return err
	}
	if err := s.olderForm(); err != nil {
		return err
	}
	if err := s.applyChanges(); err != nil {
		return err
	}
	if p.Pieces() == 0 {
		return fmt.Errorf("nothing would be left of the order; a no is recorded with decline")
	}
	if err := s.setAllAside(); err != nil {
		return err
	}
	return s.sendJob()
}

// setAllAside takes blanks and transfers off the shelf, so that no other
// proposal counts on them.
func (s *step) setAllAside() error {
	p := &s.out.Proposal
	for i := range p.Lines {
		if err := s.setAside(&p.Lines[i]); err != nil {
			return err
		}
	}
	return s.transfersAside()
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

// giveBack puts what was set aside back on the shelf and drops sheets that serve
// nobody any more.
func (s *step) giveBack() error {
	if err := s.shelfBack(); err != nil {
		return err
	}
	return s.dropSheets()
}

// shelfBack puts blanks and transfers back that were set aside.
func (s *step) shelfBack() error {
	back := s.out.Proposal.GiveBack()
	for i := range s.out.Proposal.Lines {
		l := &s.out.Proposal.Lines[i]
		if l.SetAside > 0 {
			back = append(back, s.blank(l.SKU, l.SetAside))
			l.SetAside = 0
		}
	}
	return s.tx.AddStock(back)
}

func (s *step) blank(k programme.SKU, pieces int) programme.StockLine {
	return programme.StockLine{AsOf: s.answer.Day, Goods: programme.BlankGoods(k), Pieces: pieces}
}

func (s *step) money(m programme.Money) string { return m.In(s.shop.Currency) }

func (s *step) date(d programme.Date) string { return s.shop.DateStyle.Date(d) }

// name returns what people call a garment, colour and size.
func (s *step) name(k programme.SKU) string { return Name(s.shop, k) }

// Name returns what people call a garment, colour and size.
func Name(shop *programme.Shop, k programme.SKU) string {
	garment := shop.GarmentName(k.Garment)
	if k.Size == "one" || k.Size == "" {
		return garment + ", " + k.Colour
	}
	return garment + ", " + k.Colour + ", " + k.Size
}

// Changes tells which numbers of a proposal are other than before, and the new price
// where that makes one. A garment that goes down to nothing in all its sizes is one line.
func Changes(shop *programme.Shop, before, p *reorder.Proposal) (lines []string, price string) {
	gone := map[string]bool{}
	for i := range p.Lines {
		l := &p.Lines[i]
		if gone[l.Garment] {
			continue
		}
		if was, sizes := allGone(before, p, l.Garment); sizes > 1 {
			gone[l.Garment] = true
			lines = append(lines, fmt.Sprintf("%s: none instead of %d", shop.GarmentName(l.Garment), was))
			continue
		}
		was := 0
		if old := before.Line(l.SKU); old != nil {
			was = old.Order
		}
		if was != l.Order {
			lines = append(lines, fmt.Sprintf("%s: %d instead of %d", Name(shop, l.SKU), l.Order, was))
		}
	}
	if len(lines) > 0 && p.Priced() {
		price = fmt.Sprintf("price %s instead of %s", p.Price.In(shop.Currency), before.Price.In(shop.Currency))
	}
	return lines, price
}

// Lasts says until when an order of fewer pieces than were suggested is meant to last; empty of as many.
func Lasts(shop *programme.Shop, p *reorder.Proposal) string {
	until := p.Lasts()
	if until >= p.CoverUntil {
		return ""
	}
	return fmt.Sprintf("they are meant to last until about %s; what was suggested, until %s",
		shop.DateStyle.Date(until), shop.DateStyle.Date(p.CoverUntil))
}

// allGone returns how many pieces of a garment there were, and in how many sizes and colours,
// where none is left; else none.
func allGone(before, p *reorder.Proposal, garment string) (pieces, sizes int) {
	for i := range p.Lines {
		if l := &p.Lines[i]; l.Garment == garment && l.Order > 0 {
			return 0, 0
		}
	}
	for i := range before.Lines {
		if l := &before.Lines[i]; l.Garment == garment && l.Order > 0 {
			pieces, sizes = pieces+l.Order, sizes+1
		}
	}
	return pieces, sizes
}
