package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// lasting reports whether a piece is likelier to last over the cover than not:
// the customer may do without its successor.
func lasting(n reorder.Named) bool { return n.Why != programme.CauseOwed && n.PEnd < 0.5 }

// purpose says in two sentences what the pieces are for: people, and nobody yet.
func (o *offer) purpose() []string {
	replaced, missing, kits, rest, begins, who := 0, 0, 0, 0, 0, map[string]bool{}
	var swapped [programme.NewCut + 1]int
	for i := range o.Proposal.Named {
		n := &o.Proposal.Named[i]
		who[n.StaffID] = true
		switch n.Why {
		case programme.CauseOwed:
			if e := o.t.exchanged(o.People, n); e != programme.NoExchange {
				swapped[e] += n.Pieces
				continue
			}
			missing += n.Pieces
		case programme.CauseHires:
			if p := findPerson(o.People, n.StaffID); p.ActiveOn(o.Proposal.AsOf) && p.ShareOn(o.Proposal.AsOf) > 0 {
				rest += n.Pieces
			} else {
				kits += n.Pieces
			}
		case programme.CauseKit:
			begins += n.Pieces
		default: // the causes that end pieces
			replaced += n.Pieces
		}
	}
	var out []string
	switch {
	case missing == 0 && replaced > 0:
		out = append(out, fmt.Sprintf("%d replace pieces of %s.", replaced, programme.NumberOf(len(who), "person")))
	case missing > 0 && replaced == 0:
		out = append(out, fmt.Sprintf("%d are missing today, for %s.", missing, programme.NumberOf(len(who), "person")))
	case missing > 0:
		out = append(out, fmt.Sprintf("%d replace pieces and %d are missing today: for %s.", replaced, missing,
			programme.NumberOf(len(who), "person")))
	}
	for e, pieces := range swapped {
		if pieces > 0 {
			out = append(out, fmt.Sprintf("%d are %s: what fits no more comes back.", pieces,
				programme.Exchange(e).Word()))
		}
	}
	if kits > 0 && !o.byName() {
		out = append(out, fmt.Sprintf("%d are for kits of people who start.", kits))
	}
	if rest > 0 && !o.byName() {
		out = append(out, fmt.Sprintf("%d are the rest of kits whose first part is given.", rest))
	}
	if begins > 0 {
		out = append(out, fmt.Sprintf("%d are for the season, or the change of kit, that begins.", begins))
	}
	for _, s := range []string{o.forNobody(), o.shelf()} {
		if s != "" {
			out = append(out, s)
		}
	}
	return []string{strings.Join(out, " ")}
}

// byName reports that the pieces were asked for by name, outside a round: no
// forecast stands behind them, and they replace nothing.
func (o *offer) byName() bool {
	forecast := slices.ContainsFunc(o.Proposal.Lines,
		func(l reorder.Line) bool { return l.Expected > 0 || l.AtTarget > 0 })
	return !forecast && len(o.Proposal.Named) > 0 && len(o.d.pool) == 0
}

// onlyMissing reports that all pieces are for people who lack them today, as in a first
// order: nothing is swapped, and nothing lies ready for anybody else.
func (o *offer) onlyMissing() bool {
	missing := 0
	for i := range o.Proposal.Named {
		if n := &o.Proposal.Named[i]; n.Why == programme.CauseOwed &&
			o.t.exchanged(o.People, n) == programme.NoExchange {
			missing += n.Pieces
		}
	}
	return missing > 0 && missing == o.Proposal.Pieces()
}

// stillNeed says who waits for the pieces: Tove Ashlock, who starts Mon 9 Mar, still needs.
func (o *offer) stillNeed() string {
	people := o.d.people
	if len(people) > 4 {
		return fmt.Sprintf("%d of your people still need", len(people))
	}
	one := "s"
	if len(people) != 1 {
		one = ""
	}
	sameDay := !slices.ContainsFunc(people, func(p personRow) bool { return p.Start != people[0].Start })
	var names []string
	for i := range people {
		words := people[i].Name
		if !sameDay && people[i].Start > o.Proposal.AsOf {
			words += " (from " + o.t.day(people[i].Start) + ")"
		}
		names = append(names, words)
	}
	who := sentence(names)
	if sameDay && people[0].Start > o.Proposal.AsOf {
		who += fmt.Sprintf(", who start%s %s,", one, o.t.day(people[0].Start))
	}
	return who + " still need" + one
}

// forNobody says what no person is named for, with its price, why it is in the
// order, and whose it is.
func (o *offer) forNobody() string {
	n := o.d.starters + o.d.spare
	if n == 0 {
		return ""
	}
	by := map[string]int{}
	var order []string
	price := programme.Money(0)
	for _, x := range o.d.pool {
		if by[x.Garment] == 0 {
			order = append(order, x.Garment)
		}
		by[x.Garment] += x.n
		price += programme.Money(x.n) * o.unitPrice(x.SKU)
	}
	var what []string
	for _, code := range order {
		what = append(what, fmt.Sprintf("%d × %s", by[code], o.t.garment(code)))
	}
	money := ""
	if o.priced {
		money = " (" + o.t.money(price) + ")"
	}
	verb := "are"
	if n == 1 {
		verb = "is"
	}
	lie := "Until somebody needs them they lie in your cupboard."
	if o.Client.PoolBelongsTo == programme.OwnedByShop {
		lie = "Until somebody needs them we keep them for you; they are paid when they are issued."
	}
	return fmt.Sprintf("%d %s for %s%s: %s; %s. %s", n, verb, noName, money, sentence(what), o.forWhat(), lie)
}

// forWhat says why pieces without a name are in the order.
func (o *offer) forWhat() string {
	var why []string
	if o.d.starters > 0 {
		why = append(why, fmt.Sprintf("%d for people who will probably start by %s", o.d.starters,
			o.t.day(o.Proposal.CoverUntil)))
	}
	filler := 0
	var packs []string
	for _, table := range o.t.sizeTables(o.d.pool) {
		g, ok := o.Shop.Garment(table.code)
		if n := o.filler(table.code); ok && n > 0 && g.Pack > 1 {
			filler += n
			packs = append(packs, fmt.Sprintf("%s comes in packs of %d", o.t.garment(table.code), g.Pack))
		}
	}
	if spare := o.d.spare - filler; spare > 0 {
		why = append(why, fmt.Sprintf("%d spare in case more are needed", spare))
	}
	if len(packs) > 0 {
		why = append(why, fmt.Sprintf("%d only because %s", filler, sentence(packs)))
	}
	return sentence(why)
}

// filler returns pieces of a garment that are in the order only since it is sold in packs.
func (o *offer) filler(garment string) int {
	n := 0
	for i := range o.Proposal.Lines {
		if l := &o.Proposal.Lines[i]; l.Garment == garment {
			n += max(0, l.Order-max(l.Wanted, 0))
		}
	}
	return n
}

func (o *offer) unitPrice(k programme.SKU) programme.Money {
	if l := o.Proposal.Line(k); l != nil {
		return l.UnitPrice
	}
	return 0
}

// shelf says what lies ready: it is counted, and what is missing today is handed out.
func (o *offer) shelf() string {
	lies := 0
	for i := range o.Proposal.Lines {
		lies += o.Proposal.Lines[i].OnHand
	}
	now := o.t.reasonPieces(o.Proposal, reorder.HandOut)
	var out []string
	if lies > 0 {
		out = append(out, fmt.Sprintf("We have counted the %s on our shelf.", programme.NumberOf(lies, "piece")))
	}
	if len(now) > 0 {
		out = append(out, "What is missing today and lies there you get at once: "+strings.Join(o.t.pieceWords(now),
			"; ")+".")
	}
	return strings.Join(out, " ")
}

// why is a row a garment and colour: sizes, causes and washes.
func (o *offer) why(p *page.Page) {
	table := page.Table{Columns: page.Columns("", "", "")}
	for _, t := range o.t.sizeTables(orders(o.Proposal)) {
		for _, r := range t.Rows {
			sizes := t.sizesOf(r)
			if t.oneSize() {
				sizes = fmt.Sprint(r.Total)
			}
			table.Row(page.Plain(t.Garment).Below(page.Quiet(r.Colour)), sizes, o.causeOf(t.code, r.Colour))
		}
	}
	p.Heading(2, "Sizes, and why")
	p.Add(table)
}

// causeOf says why pieces of a garment and colour are needed, so that the numbers add up to what is ordered:
// each cause with its pieces, how often those that wear out were washed so far, and what the others are for.
func (o *offer) causeOf(garment, colour string) string {
	by := map[string]int{}
	var causes []string
	var washed []float64
	assumed := false
	for i := range o.Proposal.Named {
		n := &o.Proposal.Named[i]
		if n.Garment != garment || n.Colour != colour || lasting(*n) {
			continue
		}
		word := o.t.reason(o.People, n)
		if by[word] == 0 {
			causes = append(causes, word)
		}
		by[word] += n.Pieces
		if n.Assumed {
			assumed = true
		} else if n.Why.Words().Washed {
			washed = append(washed, n.Washes)
		}
	}
	slices.SortStableFunc(causes, func(a, b string) int { return by[b] - by[a] })
	for i, c := range causes {
		causes[i] = fmt.Sprintf("%d %s", by[c], c)
	}
	var out []string
	if len(causes) > 0 {
		said := strings.Join(causes, ", ")
		if len(washed) > 0 {
			said += washedWords(slices.Min(washed), slices.Max(washed))
		}
		if assumed {
			said += "; by ages assumed from past orders"
		}
		out = append(out, said)
	}
	return strings.Join(append(out, o.otherwise(garment, colour)...), "; ")
}

// otherwise says what pieces are for that replace none that has likely ended by then.
func (o *offer) otherwise(garment, colour string) (parts []string) {
	last, nobody := 0, 0
	for i := range o.Proposal.Named {
		if n := &o.Proposal.Named[i]; n.Garment == garment && n.Colour == colour && lasting(*n) {
			last += n.Pieces
		}
	}
	for _, x := range o.d.pool {
		if x.Garment == garment && x.Colour == colour {
			nobody += x.n
		}
	}
	if last > 0 {
		parts = append(parts, fmt.Sprintf("%d whose old one may last", last))
	}
	if nobody > 0 {
		parts = append(parts, fmt.Sprintf("%d for %s", nobody, noName))
	}
	return parts
}

func washedWords(low, high float64) string {
	a, b := int(low+0.5), int(high+0.5)
	switch {
	case b < 3:
		return "" // hardly washed: no reason that anybody would believe
	case a == b:
		return fmt.Sprintf("; washed %d times", a)
	}
	return fmt.Sprintf("; washed %d to %d times", a, b)
}

// fewerShown is the number of people of whom a mail names what they could do without.
const fewerShown = 3

// fewer names the pieces that the customer may best do without: those for starters where nobody starts, spares,
// and successors of pieces that probably last beyond the cover.
func (o *offer) fewer(p *page.Page) {
	lasting, starters, spares := o.lasting(), o.withoutStarters(), o.withoutSpares()
	if len(lasting) == 0 && starters == "" && spares == "" {
		return
	}
	p.Heading(2, "Want fewer?")
	for _, words := range []string{starters, spares} {
		if words != "" {
			p.Say("%s", words)
		}
	}
	if len(lasting) == 0 {
		return
	}
	pieces, saved := 0, programme.Money(0)
	for _, x := range lasting {
		pieces, saved = pieces+x.pieces, saved+x.price
	}
	verb := "are"
	if pieces == 1 {
		verb = "is"
	}
	p.Say("%s %s for people whose old one more likely lasts beyond %s than not; some may not, and nobody can say whose%s. Leave these out first:",
		programme.NumberOf(pieces, "piece"), verb, o.t.day(o.Proposal.CoverUntil), o.less(saved))
	var lines []string
	for _, x := range lasting[:min(len(lasting), fewerShown)] {
		lines = append(lines, x.words)
	}
	if more := len(lasting) - fewerShown; more > 0 {
		lines = append(lines, fmt.Sprintf("and those of %d more, marked in the list", more))
	}
	p.List(lines)
}

// dispensable holds the pieces that one person could do without.
type dispensable struct {
	words  string
	pieces int
	price  programme.Money
}

// lasting are the people with pieces that probably last, those with most first.
func (o *offer) lasting() []dispensable {
	var list []dispensable
	for i := range o.d.people {
		row := o.d.people[i]
		row.named = slices.DeleteFunc(slices.Clone(row.named), func(n reorder.Named) bool { return !lasting(n) })
		if len(row.named) == 0 {
			continue
		}
		x := dispensable{words: row.Name + ": " + row.pieces(o.t), pieces: row.count()}
		for _, n := range row.named {
			x.price += programme.Money(n.Pieces) * o.unitPrice(n.SKU)
		}
		list = append(list, x)
	}
	slices.SortStableFunc(list, func(a, b dispensable) int { return b.pieces - a.pieces })
	return list
}

// withoutStarters says what the order is without what is in it for people who may start.
func (o *offer) withoutStarters() string {
	n := nobodyOf(o.Proposal)
	if n.starters == 0 {
		return ""
	}
	price := programme.Money(0)
	for _, x := range o.Proposal.Pool {
		price += programme.Money(x.ForStarters) * o.unitPrice(x.SKU)
	}
	return fmt.Sprintf("If nobody starts until %s, leave out the %s for starters%s; if you know who does, tell us, and theirs get a name.",
		o.t.day(o.Proposal.CoverUntil), programme.NumberOf(n.starters, "piece"), o.less(price))
}

// withoutSpares says what the order is without spare pieces, other than those that come with a pack, and what
// that means. Where they are the shop's until somebody needs them, they are no question to the customer.
func (o *offer) withoutSpares() string {
	if o.Client.PoolBelongsTo == programme.OwnedByShop {
		return ""
	}
	left := o.d.spare
	for _, table := range o.t.sizeTables(o.d.pool) {
		left -= o.filler(table.code)
	}
	starters := map[programme.SKU]int{}
	for _, x := range o.Proposal.Pool {
		starters[x.SKU] += x.ForStarters
	}
	pieces, price := 0, programme.Money(0)
	for _, x := range o.d.pool {
		n := min(x.n-min(x.n, starters[x.SKU]), left-pieces)
		if n > 0 {
			pieces, price = pieces+n, price+programme.Money(n)*o.unitPrice(x.SKU)
		}
	}
	switch pieces {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("Without the spare piece%s, whoever needs more waits.", o.less(price))
	}
	return fmt.Sprintf("Without the %d spare pieces%s, whoever needs more waits.", pieces, o.less(price))
}

// less is a price that is saved, in brackets, where prices are shown.
func (o *offer) less(price programme.Money) string {
	if !o.priced {
		return ""
	}
	return " (−" + o.t.money(price) + ")"
}
