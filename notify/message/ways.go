package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// ways says which goods cost more to bring than to buy, and why they are bought
// all the same, or that they wait for a later order.
func (t notation) ways(p *reorder.Proposal) (out []string) {
	for i := range p.Suppliers {
		if w := t.dearWay(&p.Suppliers[i]); w != "" {
			out = append(out, w)
		}
	}
	for i := range p.Waits {
		out = append(out, t.waits(&p.Waits[i]))
	}
	return out
}

// dearWay speaks of freight that is more than the goods; none where it is not.
func (t notation) dearWay(s *reorder.SupplierOrder) string {
	if s.Freight <= s.Value || s.Pieces == 0 {
		return ""
	}
	if s.Saves == 0 { // a starter's kit is not weighed
		return fmt.Sprintf("%s freight for %s of goods from %s: people wait for the %s made with them.",
			t.money(s.Freight), t.money(s.Value), t.supplier(s.Supplier), programme.NumberOf(s.Pieces, "piece"))
	}
	return fmt.Sprintf("%s freight for %s of goods from %s: still worth it: the %s made with them would be missing until the next order, %s by the shares under missing: in shop.yaml.",
		t.money(s.Freight), t.money(s.Value), t.supplier(s.Supplier), programme.NumberOf(s.Pieces, "piece"),
		t.about(s.Saves))
}

// waits says what is left for a later order, and why.
func (t notation) waits(w *reorder.Waiting) string {
	var lines []tally
	for _, l := range w.Lines {
		lines = append(lines, tally{l.SKU, l.Pieces})
	}
	return fmt.Sprintf("Left for a later order: %s. %s would charge %s to bring what they need now; missing them until then costs %s.",
		sentence(t.pieceWords(lines)), t.supplier(w.Supplier), t.money(w.Charge), t.about(w.Missing))
}

// ways says the same of all proposals of the round together.
func (r *Round) ways(t notation) (out []string) {
	var together []reorder.SupplierOrder
	at := map[string]int{}
	for i := range r.Due {
		for _, s := range r.Due[i].Proposal.Suppliers {
			j, seen := at[s.Supplier]
			if !seen {
				j, at[s.Supplier] = len(together), len(together)
				together = append(together, reorder.SupplierOrder{Supplier: s.Supplier})
			}
			sum := &together[j]
			sum.Value, sum.Freight, sum.Pieces, sum.Saves = sum.Value+s.Value, sum.Freight+s.Freight,
				sum.Pieces+s.Pieces, sum.Saves+s.Saves
		}
	}
	for i := range together {
		if w := t.dearWay(&together[i]); w != "" {
			out = append(out, w)
		}
	}
	for i := range r.Due {
		for j := range r.Due[i].Proposal.Waits {
			out = append(out, clientName(r.Due[i].Client)+": "+t.waits(&r.Due[i].Proposal.Waits[j]))
		}
	}
	return out
}
