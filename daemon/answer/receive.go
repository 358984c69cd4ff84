package answer

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// deliver books what came: pieces are issued to those they are for, in the
// order of need, and what nobody is named for goes to the client's shelf; blanks
// that were not pressed go back, transfers come in once and are used up.
func (s *step) deliver() error {
	p := &s.out.Proposal
	list := s.answer.Deliveries
	if len(list) == 0 {
		var day programme.Date
		if s.answer.Event == reorder.Arrive {
			day = s.answer.Day
		}
		list = p.AllBy(day)
	}
	got := make([]int, len(p.Named))
	for i := range p.Named {
		got[i] = p.Named[i].Got
	}
	handed, err := p.Deliver(list)
	if err != nil {
		return err
	}
	p.NoteCame(list, s.answer.Day)
	moves, shelf, err := s.handOut(handed, got)
	if err != nil {
		return err
	}
	if _, _, err := s.tx.AddMovements(p.Client, moves, s.entry); err != nil {
		return err
	}
	if err := s.tx.AddStock(append(shelf, s.unpressed()...)); err != nil {
		return err
	}
	for i := range list {
		if d := &list[i]; d.Spoilt > 0 {
			s.notice("%d × %s must be printed again: %s buys blanks and transfers for them.", d.Spoilt, s.name(d.SKU),
				pageOrders)
		}
	}
	return s.bookTransfers(handed, list)
}

// unpressed returns the blanks that lines leave over once nothing of them is to come.
func (s *step) unpressed() (back []programme.StockLine) {
	p := &s.out.Proposal
	for i := range p.Lines {
		l := &p.Lines[i]
		if l.Settled || l.Outstanding() > 0 {
			continue
		}
		l.Settled = true
		if n := l.StayBlank + max(0, l.SetAside-l.Pressed-l.Spoilt); n > 0 {
			back = append(back, s.blank(l.SKU, n))
		}
	}
	return back
}

func (s *step) finished(k programme.SKU, pieces int) programme.StockLine {
	return programme.StockLine{AsOf: s.answer.Day, Goods: programme.FinishedGoods(s.out.Proposal.Client, k),
		Pieces: pieces}
}

// handOut turns pieces that came into ledger rows for the people named, of those
// who are still there and still wear that size, and into stock for the rest.
// got holds the pieces that each name had before.
func (s *step) handOut(handed []reorder.Handed,
	got []int) (moves []programme.Movement, shelf []programme.StockLine, err error) {
	p := &s.out.Proposal
	people, err := s.tx.People(p.Client)
	if err != nil {
		return nil, nil, err
	}
	slices.SortStableFunc(handed, func(a, b reorder.Handed) int { return cmp.Compare(uint(a.Index), uint(b.Index)) })
	for _, h := range handed {
		why := ""
		if h.Index >= 0 {
			why = s.unfit(people, p.Named[h.Index])
		}
		if name := s.nameOn(people, &h); why != "" && name != "" {
			s.notice("%d × %s for %s carry the name “%s” and serve nobody else: %s.", h.Pieces, s.name(h.SKU),
				h.StaffID, name, why)
			continue
		}
		if h.Index < 0 || why != "" {
			s.out.Shelved += h.Pieces
			shelf = append(shelf, s.finished(h.SKU, h.Pieces))
			if why != "" {
				s.notice("%d × %s for %s went to the shelf instead: %s.", h.Pieces, s.name(h.SKU), h.StaffID, why)
			}
			continue
		}
		s.out.Issued += h.Pieces
		moves = append(moves, programme.Movement{
			Date: s.answer.Day, Kind: programme.Issued, StaffID: h.StaffID, SKU: h.SKU, Pieces: h.Pieces,
			Ref: refOf(p.Number, h.Index, got[h.Index]), Proposal: p.Number, OldKept: s.answer.OldKept,
		})
	}
	return moves, shelf, nil
}

// nameOn is the name that pieces for a person were pressed with; empty = none.
func (s *step) nameOn(people programme.Roster, h *reorder.Handed) string {
	on, _ := s.client.DecorationsOf(s.shop, s.out.Proposal.Wearer(people, h.StaffID), h.SKU)
	for _, d := range on {
		if _, name, ok := s.shop.NameOn(d.Artwork); ok {
			return name
		}
	}
	return ""
}

// refOf makes an issue known again, so no import of an exported ledger doubles
// it; pieces that came later for the same person count on from those before.
func refOf(number int64, i, got int) string {
	if got == 0 {
		return fmt.Sprintf("proposal-%d-%d", number, i+1)
	}
	return fmt.Sprintf("proposal-%d-%d-after-%d", number, i+1, got)
}

// unfit says why a named piece is not issued to that person after all.
func (s *step) unfit(people programme.Roster, n reorder.Named) string {
	person, known := people.Find(n.StaffID)
	switch {
	case !known:
		return "the roster has no such person"
	case !person.End.IsZero() && person.End < s.answer.Day:
		return "left on " + s.date(person.End)
	}
	g, ok := s.shop.Garment(n.Garment)
	if !ok {
		return ""
	}
	if role, ok := s.client.Role(person.Role); ok && role.HasCuts() {
		if c, ok := role.In(n.Garment, n.Colour); ok {
			if now := c[c.Worn(s.shop, person)]; !now.Has(n.Garment, n.Colour) {
				return "now wears " + now.Newest().Garment
			}
		}
	}
	if size, known := person.Sizes[g.SizeFamily]; known && size != n.Size && len(g.Sizes) > 1 {
		return fmt.Sprintf("now wears %s", size)
	}
	return ""
}
