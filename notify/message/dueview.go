package message

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// why returns the arithmetic of the client's proposal, with how sure the forecast is.
func (d *Due) why(shop *programme.Shop) page.Page {
	t := notation{shop: shop}
	p := Explain(shop, d.Client, d.Proposal, d.People)
	p.Heading(2, "In short")
	for _, w := range append(t.reasons(d.Proposal), d.outlook(), t.costs(d.Proposal)) {
		if w != "" {
			p.Say("%s", w)
		}
	}
	return p
}

// pulled says why a client that is not due yet is in the round.
func (t notation) pulled(x *reorder.Pulled) string {
	if x == nil {
		return ""
	}
	why := sharedWords(x.Reason)
	if x.Supplier != "" {
		why += " of " + t.supplier(x.Supplier)
	}
	return fmt.Sprintf("Not due before %s; ordering now saves %s by %s%s.", t.day(x.NextDue), t.money(x.Saving), why,
		x.Words(t.money))
}

func sharedWords(s reorder.Shared) string {
	switch s {
	case reorder.SharesSheet:
		return "sharing a transfer sheet"
	case reorder.SharesMinimum:
		return "reaching a supplier's minimum"
	case reorder.SharesFreight:
		return "reaching free freight"
	case reorder.SharesPrice:
		return "reaching a lower price"
	}
	return "ordering together"
}

// reasons turns the facts behind the decision into sentences.
func (t notation) reasons(p *reorder.Proposal) []string {
	var short []string
	for _, r := range p.Reasons {
		if r.Kind == reorder.ShortestLine {
			short = append(short, fmt.Sprintf("%s (about %s)", t.what(r.SKU), oneDecimal(r.Pieces)))
		}
	}
	pieces := func(kind reorder.ReasonKind) []string { return t.pieceWords(t.reasonPieces(p, kind)) }
	out := []string{fmt.Sprintf("Without this order, %s pieces asked for will be there in time until one of the next round could arrive; with it, %s until %s.%s",
		ofHundred(p.FillNow), ofHundred(p.FillAfter), t.day(p.CoverUntil), floorSentence(p))}
	say := func(what string, list []string) {
		if len(list) > 0 {
			out = append(out, what+strings.Join(list, "; ")+".")
		}
	}
	say("Hand out now, since they lie on the shelf and are missing from people's kits: ", pieces(reorder.HandOut))
	say("Missing from people's kits today, with none on the shelf: ", pieces(reorder.OwedNow))
	say("On order, but they come too late: ", pieces(reorder.ComesTooLate))
	say("Shortest before an order of the next round would arrive: ", short)
	return out
}

// floorSentence states the fill rate that the programme insists on, if any.
func floorSentence(p *reorder.Proposal) string {
	if p.TargetFill <= 0 {
		return ""
	}
	return fmt.Sprintf(" The programme asks for at least %s until one of the next round could arrive.",
		ofHundred(p.TargetFill))
}

// pieceWords returns a phrase for each garment and colour: Crew tee, sage: S 1, M 2.
func (t notation) pieceWords(pieces []tally) []string {
	var out []string
	for _, table := range t.sizeTables(pieces) {
		for _, r := range table.Rows {
			n := table.sizesOf(r)
			if table.oneSize() {
				n = fmt.Sprint(r.Total)
			}
			out = append(out, fmt.Sprintf("%s, %s: %s", table.Garment, r.Colour, n))
		}
	}
	return out
}

// costs returns what the shop pays and keeps.
func (t notation) costs(p *reorder.Proposal) string {
	s := fmt.Sprintf("Cost %s: blanks %s, transfers %s, pressing %s (%s), freight %s.", t.money(p.Cost()),
		t.money(p.Blanks), t.money(p.Transfers), t.money(p.Pressing), hoursWords(p.PressHours), t.money(p.Freight))
	if !p.Priced() {
		return s + " Not every piece has a selling price in the programme, so no margin is stated."
	}
	return s + fmt.Sprintf(" Price %s, margin %s.", t.money(p.Price), t.margin(p.Margin(), p.Price))
}
