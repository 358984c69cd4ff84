package message

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Explain returns the arithmetic behind every number of a proposal, for the owner:
// it shows costs. People name the staff; they may be nil.
func Explain(shop *programme.Shop, client *programme.Client, p *reorder.Proposal, people []programme.Person) page.Page {
	e := explanation{t: notation{shop: shop, client: client}, client: client, p: p, people: people}
	e.Title = fmt.Sprintf("Why: proposal %d for %s", p.Number, clientName(client))
	e.Heading(1, fmt.Sprintf("Proposal %d for %s, from the records of %s", p.Number, clientName(client),
		e.t.day(p.AsOf)))
	e.plans()
	e.dates()
	e.fill()
	for i := range e.lines() {
		e.line(&e.lines()[i])
	}
	e.names()
	e.money()
	e.holds()
	return e.Page
}

type explanation struct {
	page.Page
	t      notation
	client *programme.Client
	p      *reorder.Proposal
	people []programme.Person
	sorted []reorder.Line
}

// plans are the proposal beside less and more, with what an order and its delay cost.
func (e *explanation) plans() {
	if len(e.p.Curve) < 2 {
		return
	}
	e.section("Less or more")
	table := page.Table{Columns: page.Columns("Plan", "#Pieces", "#Price", "#A year, goods aside")}
	for _, c := range e.p.Curve {
		price := page.Plain("")
		if c.Price > 0 {
			price = page.Plain(e.t.money(c.Price))
		}
		table.Row(page.Plain(c.Kind.Words()).Below(page.Quiet("next order "+e.t.day(c.NextOrder))),
			piecesOf(c.Pieces, &nobody{starters: c.Starters, spare: c.Unnamed - c.Starters}),
			price.Below(page.Quiet("cost "+e.t.money(c.Cost))), e.t.money(c.CostYear))
	}
	e.Add(table)
	for _, w := range e.t.curveWords(e.p) {
		e.Say("%s", w)
	}
}

// item writes a step of the arithmetic into the list of its section.
func (e *explanation) item(format string, args ...any) {
	last := len(e.Blocks) - 1
	list, ok := e.Blocks[last].(page.Bullets)
	if !ok {
		e.Add(page.Bullets{})
		last++
	}
	list.Items = append(list.Items, page.Plain(fmt.Sprintf(format, args...)))
	e.Blocks[last] = list
}

func (e *explanation) section(title string) { e.Heading(2, title) }

// lines returns the proposal's lines as people look for them.
func (e *explanation) lines() []reorder.Line {
	if e.sorted == nil {
		e.sorted = slices.Clone(e.p.Lines)
		slices.SortStableFunc(e.sorted, func(a, b reorder.Line) int { return e.t.compare(a.SKU, b.SKU) })
	}
	return e.sorted
}

func (e *explanation) dates() {
	p, t := e.p, e.t
	e.section("Dates")
	if p.Late {
		e.item("Yes by %s, the first day on which an answer can be expected. Even that is late: more than one piece in ten that is needed before the pieces arrive will be missing.", t.day(p.OrderBy))
	} else {
		e.item("Yes by %s, the last working day before the next round on which an order still comes soon enough: until it arrives at least nine in ten pieces needed are there.", t.day(p.OrderBy))
	}
	lead := reorder.LeadOfClient(t.shop, e.client)
	e.item("In hands %s = the yes, then the slower of blanks (%s) and transfers (%s), %s of work in the shop, %s on the way; %s do not count as working days. The longest lead time over the days of the week is %s.",
		t.day(p.Arrives), programme.NumberOf(lead.Blanks, "day"), programme.NumberOf(lead.Transfers, "day"),
		programme.NumberOf(lead.Press, "day"), programme.NumberOf(lead.Delivery, "day"), e.idle(),
		programme.NumberOf(lead.Days(), "day"))
	if more := p.LeadDays - lead.Days(); more > 0 {
		e.item("Closed days make it up to %s longer for a yes at this time; on them nothing is printed, packed or delivered.",
			programme.NumberOf(more, "day"))
	}
	e.item("Meant to last until %s, when an order after this one is expected to arrive%s.", t.day(p.CoverUntil),
		limitWords(e.client))
}

// limitWords state the longest cover that the programme allows, if any.
func limitWords(c *programme.Client) string {
	if c.CoverWeeks == 0 {
		return ""
	}
	return fmt.Sprintf(" (the programme lets one order last %s at most)", programme.NumberOf(c.CoverWeeks, "week"))
}

// idle says on which days nobody works.
func (e *explanation) idle() string {
	if len(e.t.shop.Closed) > 0 {
		return "weekends and the closed days of shop.yaml"
	}
	return "weekends"
}

func (e *explanation) fill() {
	p := e.p
	e.section("Why now")
	e.item("Fill rate = 1 − pieces expected short ÷ pieces expected to be needed, over all sizes.")
	e.item("Over review and lead time without this order: %.4f%s.", p.FillNow, floorWords(p))
	e.item("Until %s with this order: %.4f (lines that need no order count too).", e.t.day(p.CoverUntil), p.FillAfter)
	e.item("Now: waiting another week would cost more in missing pieces (%s in the first week) than putting this and all later orders off by a week saves.",
		e.t.about(p.LateWeek))
	if o := p.OrderCost; len(p.Curve) < 2 { // else it stands beside the plans
		e.item("An order costs %s whatever is in it = %s ordering + %s freight + %s set-ups.", e.t.money(o.Sum()),
			e.t.money(o.Handling), e.t.money(o.Freight), e.t.money(o.SetUp))
	}
	e.item("How much of each: what costs least a year in orders, in keeping and in missing pieces, with a look at the stock every week and an order whenever it pays. Of plans within 3 %% of that, one with fewer pieces that nobody is named for.")
	for _, w := range e.t.since(p, e.people) {
		e.item("%s", w)
	}
	for _, r := range p.Reasons {
		if r.Kind != reorder.BelowTarget { // said above, in money
			e.item("%s", r.Words(e.t.what))
		}
	}
	if p.Pulled != nil {
		e.item("%s", e.t.pulled(p.Pulled))
	}
}

// line explains one garment, colour and size from need to money.
func (e *explanation) line(l *reorder.Line) {
	t := e.t
	e.section(fmt.Sprintf("%s: order %d", t.what(l.SKU), l.Order))
	var parts []string
	for c, pieces := range l.Each() {
		if (c == programme.CauseKit || c == programme.CauseResize) && pieces == 0 {
			continue // most kits know of no seasons, and some of one size alone
		}
		parts = append(parts, fmt.Sprintf("%.2f %s", pieces, c.Word()))
	}
	e.item("needed until %s: %.2f expected = %s", t.day(e.p.CoverUntil), l.Expected, strings.Join(parts, " + "))
	if q := spreadWords(l.Demand); q != "" {
		e.item("%s", q)
	}
	stock := l.OnHand + l.OnOrder - l.Owed
	if stock < 0 {
		e.item("there: %d on hand + %d on order, %d owed to staff: %d missing", l.OnHand, l.OnOrder, l.Owed, -stock)
		e.item("wanted: enough with %d + %d missing = %d", l.AtTarget, -stock, l.Wanted)
	} else {
		e.item("there: %d on hand + %d on order − %d owed to staff = %d", l.OnHand, l.OnOrder, l.Owed, stock)
		e.item("wanted: enough with %d − %d there = %d", l.AtTarget, stock, l.Wanted)
	}
	if c := l.LineCost; c.MissingWeek > 0 {
		e.item("weighed by: a piece kept costs %.0f %% of its cost a year (of that the chance that it is never used in its size: %.0f %%, with %s of it), a missing one %s a week",
			100*c.KeptPerYear, 100*c.NeverNeeded, programme.NumberOf(c.Wearers, "wearer"), t.money(c.MissingWeek))
	}
	if l.Rounding != "" {
		e.item("rounding: %s", clean.Line(l.Rounding))
	}
	e.item("blanks: %d from the shelf + %d to buy = %d pressed now + %d that stay blank", l.BlanksOnShelf, l.Buy,
		l.Order, l.StayBlank)
	e.item("expected short: %.2f without, %.2f with this order", l.ShortBefore, l.ShortAfter)
	if l.Buy > 0 {
		e.item("blanks to buy: %d × %s = %s, ordered by %s", l.Buy, t.money(l.UnitCost),
			t.money(l.UnitCost*programme.Money(l.Buy)), t.day(l.OrderBlanksBy))
	}
	if l.UnitPrice > 0 {
		e.item("price: %d × %s = %s", l.Order, t.money(l.UnitPrice), t.money(l.UnitPrice*programme.Money(l.Order)))
	}
}

// spreadWords gives three quantiles of a distribution.
func spreadWords(pmf []float64) string {
	if len(pmf) == 0 {
		return ""
	}
	return fmt.Sprintf("chances: 1 in 10 for %d or fewer, 1 in 2 for %d or fewer, 9 in 10 for %d or fewer",
		demand.Quantile(pmf, 0.1), demand.Quantile(pmf, 0.5), demand.Quantile(pmf, 0.9))
}

func (e *explanation) names() {
	p, t := e.p, e.t
	if len(p.Named) == 0 && len(p.Pool) == 0 {
		return
	}
	e.section("Who gets what")
	for _, n := range p.Named {
		s := fmt.Sprintf("%s: %d × %s, %s", personName(e.people, n.StaffID), n.Pieces, t.what(n.SKU),
			t.reason(e.people, &n))
		switch n.Why {
		case programme.CauseOwed:
		case programme.CauseKit:
			s += " that begins on " + t.day(n.By)
		default:
			s += fmt.Sprintf("; oldest piece %.0f washes%s, %s will have ended by then", n.Washes,
				assumedWord(n.Assumed), chance(n.PEnd))
			if !n.By.IsZero() {
				s += ", half of such pieces by " + t.day(n.By)
			}
		}
		e.item("%s", s)
	}
	for _, x := range p.Pool {
		e.item(noName+", %s: %d for starters, %d spare", t.what(x.SKU), x.ForStarters, x.Spare)
	}
}

// assumedWord marks an age that nobody wrote down.
func assumedWord(assumed bool) string {
	if assumed {
		return " (assumed)"
	}
	return ""
}

// chance begins a sentence with a probability.
func chance(p float64) string { return fmt.Sprintf("%.0f chances in 100 that it", 100*p) }

func (e *explanation) money() {
	p, t := e.p, e.t
	e.section("Money")
	var blanks, price programme.Money
	for i := range p.Lines {
		l := &p.Lines[i]
		blanks, price = blanks+l.UnitCost*programme.Money(l.Buy), price+l.UnitPrice*programme.Money(l.Order)
	}
	e.item("blanks: the lines add up to %s%s", t.money(blanks), differs(t, blanks, p.Blanks))
	e.item("transfers: this client's share of the sheets, %s", t.money(p.Transfers))
	e.item("pressing: %s at %s an hour = %s", hoursExact(p.PressHours), t.money(t.shop.Press.CostPerHour),
		t.money(p.Pressing))
	for _, s := range p.Suppliers {
		e.item("freight, %s: %s for goods of %s%s", t.supplier(s.Supplier), t.money(s.Freight), t.money(s.Value),
			toFree(t, &s))
	}
	for _, w := range t.ways(p) {
		e.item("%s", w)
	}
	e.item("cost: %s + %s + %s + %s = %s", t.money(p.Blanks), t.money(p.Transfers), t.money(p.Pressing),
		t.money(p.Freight), t.money(p.Cost()))
	e.item("price: the lines add up to %s%s", t.money(price), differs(t, price, p.Price))
	if p.Priced() {
		e.item("margin: %s − %s = %s", t.money(p.Price), t.money(p.Cost()), t.margin(p.Margin(), p.Price))
	} else {
		e.item("margin: not stated, since not every piece has a selling price in the programme")
	}
}

// differs tells when a stated sum is not what its lines add up to.
func differs(t notation, sum, stated programme.Money) string {
	if sum == stated {
		return ""
	}
	return fmt.Sprintf(", but the proposal says %s", t.money(stated))
}

func hoursExact(h float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.2f", math.Round(h*100)/100), ".00") + " h"
}

func toFree(t notation, s *reorder.SupplierOrder) string {
	w := ""
	if s.ToFreeFreight > 0 {
		w += fmt.Sprintf("; %s more over the whole round would make it free", t.money(s.ToFreeFreight))
	}
	if s.ToMinimum > 0 {
		w += fmt.Sprintf("; %s below the supplier's minimum", t.money(s.ToMinimum))
	}
	return w
}

func (e *explanation) holds() {
	if len(e.p.Holds) == 0 {
		return
	}
	e.section("Held, not ordered")
	for _, h := range e.t.holdWords(e.p.Holds) {
		e.item("%s", h)
	}
	e.Add(page.Caution{Words: heldCaution})
}
