package round

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Ordering is the orders to suppliers for some proposals, and the sheets that
// were laid out for these alone.
type Ordering struct {
	Mails []message.Mail
	// Sheets are the orders of sheets, with what else they have room for.
	Sheets    []sheet.Order
	proposals []reorder.Proposal
	sheets    []store.SheetOrder
}

// Commit makes the sheets those of the proposals, in place of what a round had
// planned for others with them. It refuses when a proposal was answered otherwise
// in the meantime.
func (o *Ordering) Commit(tx *store.Tx) error {
	for i := range o.proposals {
		p := &o.proposals[i]
		now, err := tx.Proposal(p.Number)
		if err != nil {
			return err
		}
		if now.State != p.State || now.Pieces() != p.Pieces() {
			return fmt.Errorf("proposal %d was answered otherwise while its orders were written; write them again", p.Number)
		}
		if err := tx.UnlinkSheets(p.Number); err != nil {
			return err
		}
	}
	for i := range o.sheets {
		s := o.sheets[i]
		var err error
		if s.RoundID, err = tx.RoundOf(s.Numbers[0]); err != nil {
			return err
		}
		if _, err := tx.AddSheetOrder(s); err != nil {
			return err
		}
	}
	return nil
}

// SupplierOrders composes one order to each supplier for the accepted
// proposals (or those numbered): blanks to buy, and sheets laid out anew for
// their transfers alone, those on the shelf first. With fill, what else fits on
// the sheets at no cost is printed too.
func SupplierOrders(ctx context.Context, b *books.Books, asOf programme.Date, fill bool, numbers ...int64) (*Ordering, error) {
	list, err := acceptedProposals(ctx, b, numbers)
	out := &Ordering{proposals: list}
	if err != nil || len(list) == 0 {
		return out, err
	}
	orders := map[string]*message.SupplierOrder{}
	order := func(supplier string) *message.SupplierOrder {
		if orders[supplier] == nil {
			orders[supplier] = &message.SupplierOrder{Shop: b.Shop, Supplier: supplier, Number: list[0].Number, AsOf: asOf}
		}
		return orders[supplier]
	}
	addBlanks(b.Shop, list, order)
	if out.sheets, err = addSheets(ctx, b, asOf, fill, list, order); err != nil {
		return nil, err
	}
	for i := range out.sheets {
		out.Sheets = append(out.Sheets, out.sheets[i].Plan.Order)
	}
	codes := make([]string, 0, len(orders))
	for code := range orders {
		codes = append(codes, code)
	}
	sort.Strings(codes)
	for _, code := range codes {
		m, err := message.ComposeSupplierOrder(*orders[code])
		if err != nil {
			return nil, err
		}
		out.Mails = append(out.Mails, m)
	}
	return out, nil
}

// acceptedProposals are those to order for, the oldest first.
func acceptedProposals(ctx context.Context, b *books.Books, numbers []int64) ([]reorder.Proposal, error) {
	var list []reorder.Proposal
	for _, n := range numbers {
		p, err := b.Store.Proposal(ctx, n)
		if err != nil {
			return nil, err
		}
		if p.State != reorder.Accepted {
			return nil, fmt.Errorf("proposal %d is %s; orders are written for accepted proposals that are not ordered yet", n, p.State)
		}
		list = append(list, p)
	}
	if len(numbers) == 0 {
		var err error
		if list, err = b.Store.Proposals(ctx, "", reorder.Accepted); err != nil {
			return nil, err
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Number < list[j].Number })
	return list, nil
}

func addBlanks(shop *programme.Shop, list []reorder.Proposal, order func(string) *message.SupplierOrder) {
	at := map[programme.SKU]int{}
	for i := range list {
		for j := range list[i].Lines {
			l := &list[i].Lines[j]
			g, ok := shop.Garment(l.Garment)
			if !ok || l.Buy == 0 {
				continue
			}
			o := order(g.Supplier)
			if k, there := at[l.SKU]; there {
				o.Blanks[k].Pieces += l.Buy
				continue
			}
			at[l.SKU] = len(o.Blanks)
			o.Blanks = append(o.Blanks, message.BlankLine{SKU: l.SKU, Pieces: l.Buy, UnitCost: l.UnitCost})
		}
	}
}

// addSheets lays out the transfers of these proposals and adds each kind's
// sheets to its printer's order.
func addSheets(ctx context.Context, b *books.Books, asOf programme.Date, fill bool, list []reorder.Proposal, order func(string) *message.SupplierOrder) ([]store.SheetOrder, error) {
	shelf, err := b.Store.Stock(ctx)
	if err != nil {
		return nil, err
	}
	f, err := NewForecaster(ctx, b, asOf)
	if err != nil {
		return nil, err
	}
	req := sheet.Request{AsOf: asOf, Shop: b.Shop, Shelf: shelf, Budget: thoroughly(b), Fill: fill}
	for i := range list {
		client, err := b.Client(ctx, list[i].Client)
		if err != nil {
			return nil, err
		}
		people, err := b.Store.People(ctx, list[i].Client)
		if err != nil {
			return nil, err
		}
		weeks := reorder.Horizons(b.Shop, client, asOf).Quantity
		req.Needs = append(req.Needs, needsOf(client, people, &list[i], weeks)...)
		in, err := f.Inspect(ctx, client)
		if err != nil {
			return nil, err
		}
		ahead := in.Muster(weeks)
		req.Spares = append(req.Spares, sparesOf(b.Shop, client, &list[i], &ahead)...)
	}
	plan, err := sheet.Arrange(req)
	if err != nil {
		return nil, fmt.Errorf("lay out the transfers: %w", err)
	}
	var out []store.SheetOrder
	for i := range plan.Orders {
		so, err := addSheet(b, asOf, &plan, &plan.Orders[i], list, order)
		if err != nil {
			return nil, err
		}
		out = append(out, so)
	}
	return out, nil
}

// addSheet adds the sheets of one kind, for the proposals whose transfers they carry.
func addSheet(b *books.Books, asOf programme.Date, plan *sheet.Plan, o *sheet.Order, list []reorder.Proposal, order func(string) *message.SupplierOrder) (store.SheetOrder, error) {
	kept := plan.Part(o)
	so := store.SheetOrder{Kind: o.Kind, State: sheet.Planned, Plan: kept}
	to := message.SheetToOrder{Order: *o, Lines: kept.Lines}
	for i := range list {
		if !slices.ContainsFunc(kept.Lines, func(l sheet.Line) bool { return l.Client == list[i].Client }) {
			continue
		}
		so.Numbers = append(so.Numbers, list[i].Number)
		if to.OrderBy.IsZero() || list[i].OrderBy < to.OrderBy {
			to.OrderBy = list[i].OrderBy
		}
	}
	if len(so.Numbers) == 0 { // artwork that belongs to no client in particular
		so.Numbers = append(so.Numbers, list[0].Number)
	}
	var err error
	if to.Proofs, _, err = proofsOf(b.Home, b.Shop, asOf, o, kept.Lines); err != nil { // the round has told its warnings
		return so, err
	}
	to.Prints, to.Unprinted = printsOf(b.Home, b.Shop, asOf, o, kept.Lines)
	to.Proposals = so.Numbers
	s := order(o.Printer)
	s.Sheets = append(s.Sheets, to)
	return so, nil
}
