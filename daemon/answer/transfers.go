package answer

import (
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// transfersAside takes transfers off the shelf for the pieces that are still to
// be pressed, misprints allowed for: good ones, oldest first.
func (s *step) transfersAside() error {
	p := &s.out.Proposal
	people, err := s.tx.People(p.Client)
	if err != nil {
		return err
	}
	need := p.TransfersFor(s.shop, s.client, people, p.ToPress(false))
	for _, art := range slices.Sorted(maps.Keys(need)) {
		spoilage, oldest := 0.0, programme.Date(0)
		if a, ok := s.shop.Artwork(art); ok {
			if k, ok := s.shop.Kind(a.Kind); ok {
				spoilage = a.Spoilage(k)
				if k.ShelfDays > 0 {
					oldest = s.answer.Day.Add(-k.ShelfDays)
				}
			}
			oldest = max(oldest, a.GoodFrom())
		}
		taken, err := s.tx.TakeGood(programme.TransferGoods(art), need[art]+sheet.Allowance(need[art], spoilage),
			oldest)
		if err != nil {
			return err
		}
		p.SetAside(taken)
	}
	return nil
}

// bookTransfers takes in the sheets of the proposal that have come without a
// word, since their pieces are pressed, and uses up what the pieces carry. What
// was set aside and is not needed any more goes back once all has come.
func (s *step) bookTransfers(handed []reorder.Handed, list []reorder.Delivery) error {
	orders, err := s.tx.SheetOrdersOf(s.answer.Number)
	if err != nil {
		return err
	}
	for i := range orders {
		if o := &orders[i]; o.State != sheet.Received && o.State != sheet.Dropped {
			if err := s.sheetsCame(o); err != nil {
				return err
			}
		}
	}
	if err := s.useTransfers(handed, list); err != nil {
		return err
	}
	p := &s.out.Proposal
	if p.Outstanding() > 0 {
		return nil
	}
	if err := s.handedOver(); err != nil {
		return err
	}
	return s.tx.AddStock(p.GiveBack())
}

// sheetsCame puts all transfers of a sheet order onto the shelf, once, and sets
// those aside that were printed for proposals that are to come. What is left is
// there for the next job, overs and the share of declined proposals included.
func (s *step) sheetsCame(o *store.SheetOrder) error {
	if err := s.tx.AddStock(printed(&o.Plan.Order, s.answer.Day)); err != nil {
		return err
	}
	if err := s.tx.MoveSheetOrder(o.ID, sheet.Received); err != nil {
		return err
	}
	for _, n := range o.Numbers {
		if err := s.keepFor(n, o); err != nil {
			return err
		}
	}
	return nil
}

// keepFor sets aside for a proposal that is to come what was printed for it.
func (s *step) keepFor(number int64, o *store.SheetOrder) error {
	return s.onProposal(number, func(p *reorder.Proposal) error {
		if !p.State.Coming() {
			return nil
		}
		for _, l := range supply.PrintedFor(o, p) {
			taken, err := s.tx.TakeGood(l.Goods, l.Pieces, 0)
			if err != nil {
				return err
			}
			p.SetAside(taken)
		}
		return nil
	})
}

// printed returns what a sheet order holds, by artwork.
func printed(o *sheet.Order, day programme.Date) []programme.StockLine {
	pieces := map[string]int{}
	for _, l := range o.Layouts {
		for i := range l.Items {
			pieces[l.Items[i].Artwork] += l.Copies
		}
	}
	lines := make([]programme.StockLine, 0, len(pieces))
	for _, art := range slices.Sorted(maps.Keys(pieces)) {
		lines = append(lines, programme.StockLine{AsOf: day, Goods: programme.TransferGoods(art),
			Pieces: pieces[art], Made: day})
	}
	return lines
}

// useTransfers uses up what was pressed or spoilt: what is set aside first, then
// the shelf. What is in neither was never counted, so nothing is said about it.
func (s *step) useTransfers(handed []reorder.Handed, list []reorder.Delivery) error {
	people, err := s.tx.People(s.out.Proposal.Client)
	if err != nil {
		return err
	}
	for i := range list {
		if n := list[i].Spoilt; n > 0 {
			handed = append(handed, reorder.Handed{SKU: list[i].SKU, Pieces: n})
		}
	}
	used := s.out.Proposal.TransfersFor(s.shop, s.client, people, handed)
	for _, art := range slices.Sorted(maps.Keys(used)) {
		missing := s.fromAside(art, used[art])
		if _, err := s.tx.TakeStock(programme.TransferGoods(art), missing); err != nil {
			return err
		}
	}
	return nil
}

// fromAside uses transfers that are set aside and returns how many more it takes.
func (s *step) fromAside(art string, pieces int) (missing int) {
	var left []reorder.Aside
	for _, l := range s.out.Proposal.Aside {
		if l.Artwork == art {
			n := min(l.Pieces, pieces)
			pieces -= n
			l.Pieces -= n
		}
		if l.Pieces > 0 {
			left = append(left, l)
		}
	}
	s.out.Proposal.Aside = left
	return pieces
}
