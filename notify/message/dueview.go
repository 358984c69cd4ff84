package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// dueOn writes what is to know of each client that is due.
func (r *Round) dueOn(p *page.Page, m *Mail, t tongue, much detail) error {
	if len(r.Due) == 0 {
		return nil
	}
	p.Heading(2, "Clients that are due")
	if w := much.words(); w != "" {
		p.Aside("%s", w)
	}
	for i := range r.Due {
		d := &r.Due[i]
		p.Heading(3, clientName(d.Client))
		d.on(p, t, much)
		if much == full && d.Ahead != nil && d.Ahead.Weeks >= 2 {
			png, err := chart.Demand(d.picture(t))
			if err != nil {
				return err
			}
			pic := page.Picture{CID: id("ahead", d.Proposal.Number), Alt: d.alt(t), Width: 560, Height: 280}
			m.Inline = append(m.Inline, Part{Name: pic.CID + ".png", Type: typePNG, CID: pic.CID, Data: png})
			p.Add(pic)
		}
	}
	return nil
}

func (d *Due) on(p *page.Page, t tongue, much detail) {
	o := d.Proposal
	if much == counted {
		p.Say("Proposal %d: %s, yes by %s.", o.Number, count(o.Pieces(), "piece"), t.day(o.OrderBy))
		return
	}
	p.Say("Proposal %d: %s. Yes by %s; in hands %s; meant to last until %s.", o.Number, count(o.Pieces(), "piece"), t.day(o.OrderBy), t.day(o.Arrives), t.day(o.CoverUntil))
	if o.Late && much != listed {
		p.Warn("Already late: even an order of today arrives after stock is expected to run short.%s", largestPart(o))
	}
	if w := t.pulled(o.Pulled); w != "" {
		p.Add(page.Paragraph{Words: page.Strong(w)})
	}
	switch much {
	case full:
		t.garments(p, o, true)
		for _, w := range t.reasons(o) {
			p.Say("%s", w)
		}
		if w := d.outlook(); w != "" {
			p.Say("%s", w)
		}
		p.Say("%s", t.costs(o))
	case brief:
		t.garments(p, o, false)
		p.Say("%s", t.shortCosts(o))
	case listed, counted:
		p.List(t.sizeLines(o))
		p.Say("%s", t.shortCosts(o))
	}
}

// largestPart says what most of the need is for: of a late client the first question.
func largestPart(p *reorder.Proposal) string {
	var sum reorder.Line
	for i := range p.Lines {
		addUp(&sum, &p.Lines[i])
	}
	most, what := -1.0, ""
	for c, pieces := range sum.Causes.Each() {
		if pieces > most {
			most, what = pieces, c.Word()
		}
	}
	if most < 0.5 {
		return ""
	}
	return fmt.Sprintf(" Most of the need is %s: %.0f of %.0f pieces.", what, most, sum.Expected)
}

// sizeLines writes quantities as a line for each garment and colour.
func (t tongue) sizeLines(p *reorder.Proposal) []string {
	var out []string
	for _, table := range t.sizeTables(orders(p)) {
		for _, r := range table.Rows {
			out = append(out, fmt.Sprintf("%s, %s: %s, together %d", table.Garment, r.Colour, table.sizesOf(r), r.Total))
		}
	}
	return out
}

// shortCosts is cost and margin without their parts.
func (t tongue) shortCosts(p *reorder.Proposal) string {
	if !p.Priced() {
		return fmt.Sprintf("Cost %s; not every piece has a selling price.", t.money(p.Cost()))
	}
	return fmt.Sprintf("Cost %s, margin %s.", t.money(p.Cost()), t.margin(p.Margin(), p.Price))
}

// pulled says why a client that is not due yet is in the round.
func (t tongue) pulled(x *reorder.Pulled) string {
	if x == nil {
		return ""
	}
	why := map[string]string{"sheet": "sharing a transfer sheet", "minimum": "reaching a supplier's minimum", "freight": "reaching free freight", "price": "reaching a lower price"}[x.Reason]
	if why == "" {
		why = clean.Short(x.Reason)
	}
	if x.Supplier != "" {
		why += " of " + t.supplier(x.Supplier)
	}
	return fmt.Sprintf("Not due before %s; ordering now saves %s by %s%s.", t.day(x.NextDue), t.money(x.Saving), why, x.Words(t.money))
}

// reasons turns the facts behind the decision into sentences.
func (t tongue) reasons(p *reorder.Proposal) []string {
	var owed, handOut, tooLate []tally
	var short []string
	for _, r := range p.Reasons {
		pieces := tally{r.SKU, int(r.Pieces + 0.5)}
		switch r.Kind {
		case reorder.OwedNow:
			owed = append(owed, pieces)
		case reorder.HandOut:
			handOut = append(handOut, pieces)
		case reorder.ComesTooLate:
			tooLate = append(tooLate, pieces)
		case reorder.ShortestLine:
			short = append(short, fmt.Sprintf("%s (about %s)", t.what(r.SKU), oneDecimal(r.Pieces)))
		case reorder.BelowTarget, reorder.AboveTarget, reorder.NothingToBuy, reorder.NoDemand, reorder.WaitsForAYes, reorder.PulledForward:
		}
	}
	out := []string{fmt.Sprintf("Without this order, %s pieces asked for will be there in time until one of the next round could arrive; with it, %s until %s. The target is %s.",
		ofHundred(p.FillNow), ofHundred(p.FillAfter), t.day(p.CoverUntil), ofHundred(p.TargetFill))}
	say := func(what string, list []string) {
		if len(list) > 0 {
			out = append(out, what+strings.Join(list, "; ")+".")
		}
	}
	say("Hand out now, since they lie on the shelf and are missing from people's kits: ", t.pieceWords(handOut))
	say("Missing from people's kits today, with none on the shelf: ", t.pieceWords(owed))
	say("On order, but they come too late: ", t.pieceWords(tooLate))
	say("Shortest before an order of the next round would arrive: ", short)
	return out
}

// pieceWords is a phrase for each garment and colour: Crew tee, sage: S 1, M 2.
func (t tongue) pieceWords(pieces []tally) []string {
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

// garments gives each garment its size table and one sentence of arithmetic.
func (t tongue) garments(on *page.Page, p *reorder.Proposal, whole bool) {
	var all []tally
	sums := map[string]*reorder.Line{}
	rounding := map[string][]string{}
	for i := range p.Lines {
		l := &p.Lines[i]
		all = append(all, tally{l.SKU, l.Order})
		s, ok := sums[l.Garment]
		if !ok {
			s = &reorder.Line{}
			sums[l.Garment] = s
		}
		addUp(s, l)
		if l.Rounding != "" && !slices.Contains(rounding[l.Garment], l.Rounding) {
			rounding[l.Garment] = append(rounding[l.Garment], clean.Line(l.Rounding))
		}
	}
	for _, table := range t.sizeTables(all) {
		why := shortArithmetic(sums[table.code])
		if whole {
			why = t.arithmetic(sums[table.code], &table, rounding[table.code], p.CoverUntil)
		}
		on.Add(table.table())
		on.Aside("%s", why)
	}
}

func addUp(s, l *reorder.Line) {
	s.Expected, s.Causes = s.Expected+l.Expected, s.Causes.Plus(l.Causes)
	s.AtTarget, s.OnHand, s.OnOrder, s.Owed = s.AtTarget+l.AtTarget, s.OnHand+l.OnHand, s.OnOrder+l.OnOrder, s.Owed+l.Owed
	s.Wanted, s.Order, s.BlanksOnShelf, s.Buy, s.StayBlank = s.Wanted+l.Wanted, s.Order+l.Order, s.BlanksOnShelf+l.BlanksOnShelf, s.Buy+l.Buy, s.StayBlank+l.StayBlank
}

// arithmetic says how a garment's number came about: expected, for the target,
// what is there, what is wanted, what is ordered. Only sizes with an order are
// in it, so it says so where there is more than one.
func (t tongue) arithmetic(s *reorder.Line, table *sizeTable, rounding []string, until programme.Date) string {
	sizes := "in these sizes "
	if table.oneSize() {
		sizes = ""
	}
	w := fmt.Sprintf("Expected need %suntil %s: %s", sizes, t.day(until), oneDecimal(s.Expected))
	if c := causes(s.Causes); c != "" {
		w += " (" + c + ")"
	}
	w += fmt.Sprintf(". For the target %d, less %d on hand", s.AtTarget, s.OnHand)
	if s.OnOrder > 0 {
		w += fmt.Sprintf(", less %d on order", s.OnOrder)
	}
	if s.Owed > 0 {
		w += fmt.Sprintf(", plus %d owed to staff", s.Owed)
	}
	w += fmt.Sprintf(": %d wanted", s.Wanted)
	if s.Order != s.Wanted {
		w += fmt.Sprintf(", %d ordered", s.Order)
	}
	w += "."
	if s.BlanksOnShelf > 0 {
		w += fmt.Sprintf(" Blanks on the shelf %d, to buy %d.", s.BlanksOnShelf, s.Buy)
	}
	if s.Hires > 0.1*s.Expected && float64(s.AtTarget) > 2*s.Expected && !table.oneSize() {
		w += " Much of it waits for new starters: they are few, but each takes a whole kit in a size that nobody knows yet."
	}
	if len(rounding) > 0 {
		w += " Rounding: " + strings.Join(rounding, "; ") + "."
	}
	return w
}

// shortArithmetic is the numbers behind a garment without their parts.
func shortArithmetic(s *reorder.Line) string {
	return fmt.Sprintf("Expected %s, for the target %d, there %d, wanted %d.", oneDecimal(s.Expected), s.AtTarget, s.OnHand+s.OnOrder-s.Owed, s.Wanted)
}

// costs is what the shop pays and keeps.
func (t tongue) costs(p *reorder.Proposal) string {
	s := fmt.Sprintf("Cost %s: blanks %s, transfers %s, pressing %s (%s), freight %s.", t.money(p.Cost()), t.money(p.Blanks), t.money(p.Transfers), t.money(p.Pressing), hoursWords(p.PressHours), t.money(p.Freight))
	if !p.Priced() {
		return s + " Not every piece has a selling price in the programme, so no margin is stated."
	}
	return s + fmt.Sprintf(" Price %s, margin %s.", t.money(p.Price), t.margin(p.Margin(), p.Price))
}
