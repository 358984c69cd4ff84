package message

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

const (
	// dueInMail is the number of due clients that the owner's mail has a row for, and
	// toDecide how many things to decide; the attached list has the rest.
	dueInMail = 60
	toDecide  = 12
	// manyForNobody is the share of an order from which pieces that nobody is
	// named for are a question to the owner.
	manyForNobody = 0.4
)

// page returns what the owner reads on Monday: what to decide, who is due, what to
// buy, what comes next, and what happened. Why stands in the attached pages.
func (r *Round) page(m *Mail) (page.Page, error) {
	t := r.notation()
	slices.SortStableFunc(r.Due, func(a, b Due) int { return cmp.Compare(a.Proposal.OrderBy, b.Proposal.OrderBy) })
	m.Subject = r.subject(t)
	p := letter(clean.Short(r.Shop.Name), m.Subject, "Muster of "+notation{shop: r.Shop}.day(r.AsOf))
	p.Say("%s", r.lead())
	r.decideOn(&p, m, t)
	r.dueTable(&p, t)
	r.lessOrMore(&p, t)
	r.buyTable(&p, t)
	if err := r.shopPicture(&p, m, t); err != nil {
		return p, err
	}
	section(&p, "Ordered or accepted before", r.news(m, r.waitingLines(t)))
	section(&p, "No, and not now", r.news(m, r.refusedLines(t)))
	section(&p, "Counts", r.news(m, r.countLines(t)))
	r.nextOn(&p, m, t)
	section(&p, "Kits that change", r.news(m, r.changeLines()))
	section(&p, "What went wrong", r.news(m, r.troubleLines(t)))
	section(&p, "Prices that change", r.news(m, r.priceLines(t)))
	section(&p, "Taken in since the last mail", r.takenLines(t))
	section(&p, "Half of them last, by your records", r.news(m, r.learntLines()))
	if len(r.Due) > 0 {
		p.Aside("Attached: why, proofs, every line. A yes: kitmuster proposal accept NUMBER.")
	}
	return p, nil
}

// decideOn lists what asks for a decision of the owner.
func (r *Round) decideOn(p *page.Page, m *Mail, t notation) {
	var list []string
	for i := range r.Due {
		if w := r.Due[i].decision(t); w != "" {
			list = append(list, w)
		}
	}
	for _, h := range r.allHeld() {
		list = append(list, fmt.Sprintf("%s: %s, not ordered. Label, maker's word and local rules first; then: kitmuster held yes %s, or held no %s.",
			clientName(h.Client), sentence(t.heldWords(h.Holds)), clean.Line(h.Client.Code), clean.Line(h.Client.Code)))
	}
	for i := range r.Troubles {
		if r.Troubles[i].Kind == programme.MailRefused {
			list = append(list, "A message was not delivered: see “What went wrong”.")
			break
		}
	}
	all := len(list)
	list = r.news(m, list)
	again := all - len(list)
	if more := len(list) - toDecide; more > 0 {
		list = append(list[:toDecide], fmt.Sprintf("and %d more: kitmuster proposal list", more))
	}
	section(p, "Decide today", list)
	decideAgain(p, again)
}

// decision says in one line what is unusual about one client's order; empty = nothing.
func (d *Due) decision(t notation) string {
	p, now := d.Proposal, d.now()
	var out []string
	if d.Stands || p.Form() > 1 && p.Since() < p.AsOf {
		out = append(out, d.unanswered(t))
	}
	if now.Late {
		late := "late"
		switch short := t.reasonPieces(now, reorder.ShortestLine); {
		case now.LateWeek > 0:
			late += fmt.Sprintf("; each week more costs %s in missing pieces", t.about(now.LateWeek))
		case len(short) > 0:
			late += "; in a week more about " + sentence(t.pieceWords(short)) + " short"
		}
		out = append(out, late)
	}
	again := "ordered again: "
	for _, why := range t.since(p, d.People) {
		if of, ok := strings.CutPrefix(why, "New "); ok { // within a sentence
			why = "new " + of
		}
		out = append(out, again+strings.TrimSuffix(why, "."))
		again = "and "
	}
	if shelf := t.reasonPieces(now, reorder.HandOut); len(shelf) > 0 {
		out = append(out, "hand out now from the shelf "+sentence(t.pieceWords(shelf)))
	}
	if n := nobodyOf(p); float64(n.pieces()) > manyForNobody*float64(p.Pieces()) {
		money := ""
		if p.Priced() {
			money = " (" + t.money(n.price) + ")"
		}
		out = append(out, n.sentence()+money)
	}
	if now.Pulled != nil {
		out = append(out, fmt.Sprintf("could wait until %s; joining now saves %s", t.day(now.Pulled.NextDue),
			t.money(now.Pulled.Saving)))
	}
	if len(out) == 0 {
		return ""
	}
	return clientName(d.Client) + ": " + strings.Join(out, "; ") + "."
}

// reasonPieces returns the pieces of the reasons of one kind.
func (t notation) reasonPieces(p *reorder.Proposal, kind reorder.ReasonKind) []tally {
	var out []tally
	for _, x := range p.Reasons {
		if n := int(x.Pieces + 0.5); x.Kind == kind && n > 0 {
			out = append(out, tally{x.SKU, n})
		}
	}
	return out
}

// nobody is the pieces of an order that nobody is named for: for people who are
// expected to start, and to spare.
type nobody struct {
	starters, spare int
	price           programme.Money
}

func nobodyOf(p *reorder.Proposal) (n nobody) {
	left := map[programme.SKU]int{}
	for i := range p.Lines {
		left[p.Lines[i].SKU] = p.Lines[i].Order
	}
	for i := range p.Named {
		left[p.Named[i].SKU] -= p.Named[i].Pieces
	}
	for i := range p.Lines {
		l := &p.Lines[i]
		n.spare, n.price = n.spare+left[l.SKU], n.price+programme.Money(left[l.SKU])*l.UnitPrice
	}
	for _, x := range p.Pool {
		starters := max(0, min(x.ForStarters, left[x.SKU]))
		n.starters, n.spare = n.starters+starters, n.spare-starters
	}
	return n
}

func (n *nobody) pieces() int { return n.starters + n.spare }

// words are such as "55 for starters" and "29 spare"; none where there are none.
func (n *nobody) words() (out []string) {
	if n.starters > 0 {
		out = append(out, fmt.Sprintf("%d for starters", n.starters))
	}
	if n.spare > 0 {
		out = append(out, fmt.Sprintf("%d spare", n.spare))
	}
	return out
}

// sentence is such as "55 pieces for starters, 29 spare".
func (n *nobody) sentence() string {
	switch {
	case n.starters == 0:
		return programme.NumberOf(n.spare, "piece") + " to spare"
	case n.spare == 0:
		return programme.NumberOf(n.starters, "piece") + " for starters"
	}
	return fmt.Sprintf("%s for starters, %d spare", programme.NumberOf(n.starters, "piece"), n.spare)
}

// heldWords returns a phrase for each garment that is held: 49 × Road vest (label: 25 washes; 6 people wear
// pieces that have had them all).
func (t notation) heldWords(holds []reorder.Hold) []string {
	var out []string
	n, spent := map[string]int{}, map[string][]string{}
	for i := range holds {
		n[holds[i].Garment] += holds[i].Pieces
		spent[holds[i].Garment] = append(spent[holds[i].Garment], holds[i].LabelSpent()...)
	}
	for i := range holds {
		h := &holds[i]
		if n[h.Garment] == 0 {
			continue
		}
		label := ""
		if h.LabelWashes > 0 {
			label = fmt.Sprintf(" (label: %.0f washes%s)", h.LabelWashes, spentWords(headcount(spent[h.Garment])))
		}
		out = append(out, fmt.Sprintf("%d × %s%s", n[h.Garment], t.garment(h.Garment), label))
		n[h.Garment] = 0
	}
	return out
}

func spentWords(spent int) string {
	switch spent {
	case 0:
		return ""
	case 1:
		return "; 1 person wears pieces that have had them all"
	}
	return fmt.Sprintf("; %d people wear pieces that have had them all", spent)
}

// dueTable is a row for each client that is due.
func (r *Round) dueTable(p *page.Page, t notation) {
	if len(r.Due) == 0 {
		return
	}
	table := page.Table{Columns: []page.Column{{Head: "Client"}, {Head: "Pieces", Right: true},
		{Head: "Price", Right: true}, {Head: "Yes by", Keep: true}}}
	var sum total
	for i := range r.Due {
		d := &r.Due[i]
		sum.add(d.Proposal)
		if i >= dueInMail {
			continue
		}
		table.Row(page.Plain(clientName(d.Client)).Below(page.Quiet(d.numbered(t))),
			pieceCell(d.Proposal), t.priceCell(d.Proposal), d.dates(t))
	}
	price := "not all known"
	if sum.priced {
		price = t.money(sum.price) + fmt.Sprintf("\ncost %s, %s", t.money(sum.cost),
			together(share(float64(sum.price-sum.cost)/max(1, float64(sum.price)))))
	}
	table.Sum("Together", sum.pieces, multiline(price), "")
	p.Heading(2, "Due")
	p.Add(table)
	if more := len(r.Due) - dueInMail; more > 0 {
		p.Aside("And %d more clients: the attached list has all.", more)
	}
}

// numbered returns the number of a proposal, with what is special about it.
func (d *Due) numbered(t notation) string {
	p := d.Proposal
	s := fmt.Sprintf("no. %d%s", p.Number, urgency(d.now()))
	switch {
	case p.Form() > 1 && (d.Stands || p.Since() < p.AsOf):
		s += fmt.Sprintf(", form %d; asked %s", p.Form(), t.day(p.Since()))
	case p.Form() > 1:
		s += fmt.Sprintf(", form %d", p.Form())
	case d.Stands:
		s += "; asked " + t.day(p.Since())
	}
	return s
}

func urgency(p *reorder.Proposal) string {
	switch {
	case p.Late:
		return ", late"
	case p.Pulled != nil:
		return ", early"
	}
	return ""
}

func pieceCell(p *reorder.Proposal) page.Text {
	n := nobodyOf(p)
	return piecesOf(p.Pieces(), &n)
}

// piecesOf is a number of pieces, and below it how many of them are for nobody by name.
func piecesOf(pieces int, n *nobody) page.Text {
	cell := page.Plain(fmt.Sprint(pieces))
	for _, w := range n.words() {
		cell = cell.Below(page.Quiet(w))
	}
	return cell
}

func (t notation) priceCell(p *reorder.Proposal) page.Text {
	if !p.Priced() {
		return page.Plain("not all known").Below(page.Quiet("cost " + t.money(p.Cost())))
	}
	return page.Plain(t.money(p.Price)).Below(page.Quiet(fmt.Sprintf("cost %s, %s", t.money(p.Cost()),
		together(share(float64(p.Margin())/max(1, float64(p.Price)))))))
}

// together keeps words on one line of a narrow column.
func together(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// multiline makes lines of a text that has line breaks, the first in full size.
func multiline(s string) page.Text {
	first, rest, _ := strings.Cut(s, "\n")
	return page.Plain(first).Below(page.Quiet(rest))
}

// total adds up proposals.
type total struct {
	pieces, minutes int
	cost, price     programme.Money
	priced          bool
	begun           bool
}

func (s *total) add(p *reorder.Proposal) {
	s.priced = p.Priced() && (s.priced || !s.begun)
	s.begun = true
	s.pieces, s.minutes = s.pieces+p.Pieces(), s.minutes+pressMinutes(p.PressHours)
	s.cost, s.price = s.cost+p.Cost(), s.price+p.Price
}

// buyTable lists what to order from whom by when, once the clients say yes.
func (r *Round) buyTable(p *page.Page, t notation) {
	type buy struct {
		on         programme.Date
		from, cost string
		what, also string
	}
	var list []buy
	for i := range r.Sheets {
		s := &r.Sheets[i]
		list = append(list, buy{s.OrderBy, t.supplier(s.Printer), t.money(s.Cost.Total()),
			t.kindName(s.Kind) + ": " + t.copies(s), unlessFree(r.carriage(t, i))})
	}
	for _, b := range r.blanks(t) {
		list = append(list, buy{b.orderBy, t.supplier(b.supplier), t.money(b.value),
			programme.NumberOf(b.pieces, "blank"), unlessFree(t.freight(b.supplier, b.value))})
	}
	if len(list) == 0 {
		return
	}
	for i := range list { // of a form whose own days are over: at once
		list[i].on = max(list[i].on, r.AsOf)
	}
	slices.SortStableFunc(list, func(a, b buy) int { return cmp.Compare(a.on, b.on) })
	table := page.Table{Columns: []page.Column{{Keep: true}, {}, {Right: true, Keep: true}}}
	for _, x := range list {
		what := x.what
		if x.also != "" {
			what += "; " + x.also
		}
		table.Row(t.day(x.on), page.Plain(x.from).Below(page.Quiet(what)), x.cost)
	}
	p.Heading(2, "Buy, once they say yes")
	p.Add(table)
	for _, w := range r.ways(t) {
		p.Aside("%s", w)
	}
	if room := r.room(t); room != "" {
		p.Aside("%s", room)
	}
	minutes := 0
	for i := range r.Due {
		minutes += pressMinutes(r.Due[i].Proposal.PressHours)
	}
	p.Aside("At the press: %s.", minutesWords(minutes))
}

// roomShown is the number of offers of free room that a mail names; orders shows them all.
const roomShown = 1

// roomWorth is the number of transfers that are worth a line of the mail.
const roomWorth = 4

// room says what else the sheets would carry at no cost, of what will be used; the
// command says when, and all of it.
func (r *Round) room(t notation) string {
	var parts []string
	for i := range r.Sheets {
		for _, o := range r.Sheets[i].Room {
			if o.From.IsZero() || o.Taken || o.Pieces < roomWorth || len(parts) == roomShown {
				continue
			}
			parts = append(parts, fmt.Sprintf("%d × %s", o.Pieces, t.artwork(o.Artwork)))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Sheet room: " + sentence(parts) + "; kitmuster orders --room"
}

// unlessFree leaves out that freight is free: nothing is to be done about it.
func unlessFree(freight string) string {
	if freight == freeFreight {
		return ""
	}
	return freight
}

// shopPicture draws the need of the due clients together over the coming weeks
// against what is there, without and with their orders.
func (r *Round) shopPicture(p *page.Page, m *Mail, t notation) error {
	var sum chart.Ahead
	clients := 0
	for i := range r.Due {
		d := &r.Due[i]
		if d.Ahead == nil || d.Ahead.Weeks < 2 {
			continue
		}
		a := d.picture(t)
		if clients++; clients == 1 {
			sum = a
			spreads(&sum)
			continue
		}
		addPicture(&sum, a)
	}
	if clients == 0 {
		return nil
	}
	unspread(&sum)
	png, err := chart.Demand(sum)
	if err != nil {
		return err
	}
	last := len(sum.Mean) - 1
	needed := fmt.Sprintf("%.0f pieces by %s (%.0f to %.0f)", sum.Mean[last], t.date(sum.AsOf.Add(7*last)),
		sum.Low[last], sum.High[last])
	pic := page.Picture{
		CID: id("ahead", r.AsOf), Lines: true, Width: 560, Height: 280,
		Alt: "The due clients together will probably need " + needed +
			", against what is there without and with these orders.",
		Text: "The due clients together will probably need " + needed + ".",
	}
	m.Inline = append(m.Inline, Part{Name: pic.CID + ".png", Type: typePNG, CID: pic.CID, Data: png})
	p.Add(pic)
	return nil
}

// spreads turns the bounds of a band into squares of their distance from the
// mean: the squares of clients add up, since clients need pieces independently.
func spreads(a *chart.Ahead) {
	for w := range a.Mean {
		a.Low[w] = (a.Mean[w] - a.Low[w]) * (a.Mean[w] - a.Low[w])
		a.High[w] = (a.High[w] - a.Mean[w]) * (a.High[w] - a.Mean[w])
	}
}

func unspread(a *chart.Ahead) {
	for w := range a.Mean {
		a.Low[w] = max(0, a.Mean[w]-math.Sqrt(a.Low[w]))
		a.High[w] = a.Mean[w] + math.Sqrt(a.High[w])
	}
}

func addPicture(sum *chart.Ahead, a chart.Ahead) {
	spreads(&a)
	for w := range sum.Mean[:min(len(sum.Mean), len(a.Mean))] {
		sum.Mean[w] += a.Mean[w]
		sum.Low[w] += a.Low[w]
		sum.High[w] += a.High[w]
		sum.There[w] += a.There[w]
		sum.WithOrder[w] += a.WithOrder[w]
	}
}
