package round

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// DraftsDir is where drafts lie in a shop's folder: messages that a person
// opens in the mail program, looks at and sends.
const DraftsDir = "drafts"

// WriteDraft writes a draft into the shop's folder, over an older one of the
// same name, and returns its path. It appears whole or not at all.
func WriteDraft(home string, m message.Mail, from programme.Contact, at time.Time) (string, error) {
	raw, err := m.Bytes(message.Envelope{From: from, Date: at})
	if err != nil {
		return "", err
	}
	dir := filepath.Join(home, DraftsDir)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("make the folder for drafts: %w", err)
	}
	path := filepath.Join(dir, m.ID+".eml")
	if err := os.WriteFile(path+".part", raw, 0o600); err != nil {
		return "", fmt.Errorf("write draft: %w", err)
	}
	return path, os.Rename(path+".part", path)
}

// customerDrafts writes each reorder of the round as a draft to its customer.
func (r *Result) customerDrafts(home string, opt Options) error {
	for i := range r.Messages {
		m := &r.Messages[i]
		if m.Kind != message.KindReorder {
			continue
		}
		client := r.Plan.client(m.Client)
		if client == nil || client.Customer.Email == "" {
			continue
		}
		if _, err := WriteDraft(home, m.AsDraft(client.Customer), m.To[0], opt.Now); err != nil {
			return err
		}
	}
	return nil
}

func (p *Plan) client(code string) *programme.Client {
	for i := range p.Entries {
		if p.Entries[i].Client.Code == code {
			return p.Entries[i].Client
		}
	}
	return nil
}

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
