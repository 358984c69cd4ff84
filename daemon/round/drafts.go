package round

import (
	"context"
	"encoding/json"
	"fmt"
	"sort"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// SupplierOrders composes one order to each supplier for the accepted
// proposals (or those numbered): blanks to buy, and the planned sheets that
// carry their transfers.
func SupplierOrders(ctx context.Context, b *books.Books, asOf programme.Date, numbers ...int64) ([]message.Mail, error) {
	list, err := acceptedProposals(ctx, b, numbers)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	orders := map[string]*message.SupplierOrder{}
	order := func(supplier string) *message.SupplierOrder {
		if orders[supplier] == nil {
			orders[supplier] = &message.SupplierOrder{Shop: b.Shop, Supplier: supplier, Number: list[0].Number, AsOf: asOf}
		}
		return orders[supplier]
	}
	addBlanks(b.Shop, list, order)
	if err := addSheets(ctx, b, list, order); err != nil {
		return nil, err
	}
	codes := make([]string, 0, len(orders))
	for code := range orders {
		codes = append(codes, code)
	}
	sort.Strings(codes)
	var out []message.Mail
	for _, code := range codes {
		m, err := message.ComposeSupplierOrder(*orders[code])
		if err != nil {
			return nil, err
		}
		out = append(out, m)
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

// addSheets adds the planned sheets of each proposal, every sheet order once.
func addSheets(ctx context.Context, b *books.Books, list []reorder.Proposal, order func(string) *message.SupplierOrder) error {
	seen := map[int64]bool{}
	for i := range list {
		sheets, err := b.Store.SheetOrdersOf(ctx, list[i].Number)
		if err != nil {
			return err
		}
		for _, so := range sheets {
			if seen[so.ID] || so.State != "planned" {
				continue
			}
			seen[so.ID] = true
			if err := addSheet(b, &so, &list[i], order); err != nil {
				return err
			}
		}
	}
	return nil
}

func addSheet(b *books.Books, so *store.SheetOrder, p *reorder.Proposal, order func(string) *message.SupplierOrder) error {
	var plan SheetPlan
	if err := json.Unmarshal(so.Plan, &plan); err != nil {
		return fmt.Errorf("read sheets of %s: %w", so.Kind, err)
	}
	proofs, _, err := proofsOf(b.Home, b.Shop, p.AsOf, &plan.Order, plan.Lines) // the round has told its warnings
	if err != nil {
		return err
	}
	o := order(plan.Order.Printer)
	o.Sheets = append(o.Sheets, message.SheetToOrder{Order: plan.Order, OrderBy: p.OrderBy, Lines: plan.Lines, Proposals: so.Numbers, Proofs: proofs})
	return nil
}
