package answer

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// receive issues the named pieces, shelves the pool and the blanks that were
// not pressed, and books the transfers.
func (s *step) receive() error {
	moves, err := s.issues()
	if err != nil {
		return err
	}
	p := &s.out.Proposal
	if _, _, err := s.tx.AddMovements(p.Client, moves, 0); err != nil {
		return err
	}
	var shelf []programme.StockLine
	for _, pool := range p.Pool {
		shelf = append(shelf, s.finished(pool.SKU, pool.ForStarters+pool.Spare))
	}
	for _, n := range s.held(moves) {
		shelf = append(shelf, s.finished(n.SKU, n.Pieces))
	}
	for _, l := range shelf {
		s.out.Shelved += l.Pieces
	}
	for i := range p.Lines {
		if l := &p.Lines[i]; l.StayBlank > 0 {
			shelf = append(shelf, s.blank(l.SKU, l.StayBlank))
		}
	}
	if err := s.tx.AddStock(shelf); err != nil {
		return err
	}
	return s.bookTransfers()
}

func (s *step) finished(k programme.SKU, pieces int) programme.StockLine {
	return programme.StockLine{AsOf: s.answer.Day, Goods: programme.FinishedGoods(s.out.Proposal.Client, k), Pieces: pieces}
}

// issues are the ledger rows for the people named, of those who are still
// there and still wear that size.
func (s *step) issues() ([]programme.Movement, error) {
	p := &s.out.Proposal
	people, err := s.tx.People(p.Client)
	if err != nil {
		return nil, err
	}
	var moves []programme.Movement
	for i, n := range p.Named {
		if why := s.unfit(people, n); why != "" {
			s.notice("%d × %s for %s went to the shelf instead: %s.", n.Pieces, s.name(n.SKU), n.StaffID, why)
			continue
		}
		s.out.Issued += n.Pieces
		moves = append(moves, programme.Movement{
			Date: s.answer.Day, Kind: programme.Issued, StaffID: n.StaffID, SKU: n.SKU, Pieces: n.Pieces,
			Ref: refOf(p.Number, i), Proposal: p.Number,
		})
	}
	return moves, nil
}

// refOf makes an issue known again, so no import of an exported ledger doubles it.
func refOf(number int64, i int) string { return fmt.Sprintf("proposal-%d-%d", number, i+1) }

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
	if size, known := person.Sizes[g.SizeFamily]; known && size != n.Size && len(g.Sizes) > 1 {
		return fmt.Sprintf("now wears %s", size)
	}
	return ""
}

// held are the named pieces that were not issued.
func (s *step) held(moves []programme.Movement) []reorder.Named {
	issued := make(map[string]bool, len(moves))
	for i := range moves {
		issued[moves[i].Ref] = true
	}
	var out []reorder.Named
	for i, n := range s.out.Proposal.Named {
		if !issued[refOf(s.out.Proposal.Number, i)] {
			out = append(out, n)
		}
	}
	return out
}
