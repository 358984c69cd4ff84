package answer

import (
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// bookTransfers puts all transfers of sheets that have come in onto the shelf,
// once a sheet order, and takes off what the proposal's pieces carry. What is
// left is there for the next job, overs and the share of declined proposals
// included.
func (s *step) bookTransfers(handed []reorder.Handed, list []reorder.Delivery) error {
	orders, err := s.tx.SheetOrdersOf(s.answer.Number)
	if err != nil {
		return err
	}
	for i := range orders {
		o := &orders[i]
		if o.State == sheet.Received || o.State == sheet.Dropped {
			continue
		}
		if err := s.tx.AddStock(s.printed(&o.Plan.Order)); err != nil {
			return err
		}
		if err := s.tx.MoveSheetOrder(o.ID, sheet.Received); err != nil {
			return err
		}
	}
	return s.useTransfers(handed, list)
}

// printed is what a sheet order holds, by artwork.
func (s *step) printed(o *sheet.Order) []programme.StockLine {
	pieces := map[string]int{}
	for _, l := range o.Layouts {
		for i := range l.Items {
			pieces[l.Items[i].Artwork] += l.Copies
		}
	}
	lines := make([]programme.StockLine, 0, len(pieces))
	for _, art := range slices.Sorted(maps.Keys(pieces)) {
		lines = append(lines, programme.StockLine{AsOf: s.answer.Day, Goods: programme.TransferGoods(art), Pieces: pieces[art], Made: s.answer.Day})
	}
	return lines
}

// useTransfers takes what was pressed or spoilt off the shelf; what is not there
// was never counted, so nothing is said about it.
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
	used := reorder.TransfersFor(s.client, people, handed)
	for _, art := range slices.Sorted(maps.Keys(used)) {
		if _, err := s.tx.TakeStock(programme.TransferGoods(art), used[art]); err != nil {
			return err
		}
	}
	return nil
}
