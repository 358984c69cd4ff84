package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Show returns one proposal as the owner looks at it: what, for whom, why, and what
// it costs. With explained, the arithmetic behind it takes the place of what Explain says
// as well; the proposal then needs its client. Without the client, whose programme may
// be gone, an exchange of cuts is told as missing.
func Show(shop *programme.Shop, name string, client *programme.Client, p *reorder.Proposal, people []programme.Person,
	explained bool) page.Page {
	s := shown{t: notation{shop: shop, client: client}, p: p, people: people}
	s.head(name)
	if explained {
		s.lines()
		s.Add(Explain(shop, client, p, people).Blocks...)
		return s.Page
	}
	s.why()
	s.lines()
	s.named()
	s.pool()
	s.held()
	s.money()
	return s.Page
}

type shown struct {
	page.Page
	t      notation
	p      *reorder.Proposal
	people []programme.Person
}

func (s *shown) head(client string) {
	p, t := s.p, s.t
	s.Say("Proposal %d for %s: %s", p.Number, client, p.State.Word())
	lasts := fmt.Sprintf("; they are meant to last until %s.", t.date(p.CoverUntil))
	if n, until := suggested(p), p.Lasts(); n > p.Pieces() {
		fewer := "fewer last less long" // or some garments are left out, and the others last as long
		if until < p.CoverUntil {
			fewer = "these are meant to last until about " + t.date(until)
		}
		lasts = fmt.Sprintf(". %d were suggested, to last until %s; %s.", n, t.date(p.CoverUntil), fewer)
	}
	s.Say("Decided on %s. A yes by %s brings %s by %s%s", t.date(p.AsOf),
		t.date(p.OrderBy), programme.NumberOf(p.Pieces(), "piece"), t.date(p.Arrives), lasts)
}

// suggested returns the pieces that were wanted before somebody took other numbers.
func suggested(p *reorder.Proposal) int {
	n := 0
	for i := range p.Lines {
		n += max(p.Lines[i].Wanted, p.Lines[i].Order)
	}
	return n
}

// why says what makes an order necessary now.
func (s *shown) why() {
	p, t := s.p, s.t
	if p.Late {
		s.Say("Even an order of that day comes late: until it arrives more than one piece in ten that is needed will be missing. The sooner the better.")
	}
	with := "this order"
	if n := suggested(p); n > p.Pieces() {
		with = fmt.Sprintf("the %d pieces that were suggested", n)
	}
	s.Say("Needs met from the shelf: %s until an order of the next round would arrive, %s until %s with %s%s.",
		share(p.FillNow), share(p.FillAfter), t.date(p.CoverUntil), with, floorWords(p))
	for _, w := range t.since(p, s.people) {
		s.Say("%s", w)
	}
	if w := t.pulled(p.Pulled); w != "" {
		s.Say("%s", w)
	}
	var why []string
	for _, r := range p.Reasons {
		if r.Kind != reorder.BelowTarget && r.Kind != reorder.AboveTarget {
			why = append(why, r.Words(t.what))
		}
	}
	s.List(why)
}

// floorWords state the fill rate that the programme insists on, if any.
func floorWords(p *reorder.Proposal) string {
	if p.TargetFill <= 0 {
		return ""
	}
	return fmt.Sprintf(" (the programme asks for at least %s until an order of the next round would arrive)",
		share(p.TargetFill))
}

func share(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }

func (s *shown) lines() {
	t := page.Table{Columns: page.Columns("Garment", "Colour", "Size", "#Expected", "#Enough with", "#On hand",
		"#On order", "#Owed", "#Wanted", "#Order", "#From shelf", "#Buy blanks", "#Price each")}
	for i := range s.p.Lines {
		l := &s.p.Lines[i]
		price := ""
		if l.UnitPrice > 0 {
			price = s.t.money(l.UnitPrice)
		}
		t.Row(s.t.garment(l.Garment), l.Colour, l.Size, fmt.Sprintf("%.1f", l.Expected), l.AtTarget, l.OnHand,
			l.OnOrder, some(l.Owed), l.Wanted, l.Order, some(l.BlanksOnShelf), some(l.Buy), price)
	}
	s.Add(t)
}

// some leaves the place of a zero empty.
func some(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

func (s *shown) named() {
	if len(s.p.Named) == 0 {
		return
	}
	t := page.Table{Columns: page.Columns("Staff no.", "Name", "Garment", "#Pieces", "Why", "#Washes",
		"Half such pieces end by")}
	for i := range s.p.Named {
		n := &s.p.Named[i]
		washes, by := fmt.Sprintf("%.0f", n.Washes)+assumedWord(n.Assumed), s.t.date(n.By)
		if n.Why == programme.CauseOwed {
			washes, by = "", ""
		}
		t.Row(n.StaffID, findPerson(s.people, n.StaffID).Name, s.t.what(n.SKU), n.Pieces,
			s.t.reason(s.people, n), washes, by)
	}
	s.Say("Who gets what:")
	s.Add(t)
}

func (s *shown) pool() {
	if len(s.p.Pool) == 0 {
		return
	}
	t := page.Table{Columns: page.Columns("Garment", "#For new starters", "#Spare")}
	for _, n := range s.p.Pool {
		t.Row(s.t.what(n.SKU), some(n.ForStarters), some(n.Spare))
	}
	s.Say("For the shelf:")
	s.Add(t)
}

// held names the protective clothing that waits for a person.
func (s *shown) held() {
	if len(s.p.Holds) == 0 {
		return
	}
	s.Say("Held for a person's yes, not part of this order (protective clothing: its label, the maker and local rules decide on decoration and washes):")
	s.List(s.t.holdWords(s.p.Holds))
	s.Say("Once somebody who may decide has looked: kitmuster held yes %s, or held no %s.", clean.Line(s.p.Client),
		clean.Line(s.p.Client))
}

func (s *shown) money() {
	p, t := s.p, s.t
	s.Say("%s", t.costs(p))
	if len(p.Curve) > 1 {
		s.Say("Plans to choose from:")
		s.Add(t.curve(p.Curve))
	}
	for _, w := range t.curveWords(p) {
		s.Say("%s", w)
	}
	for _, w := range t.ways(p) {
		s.Say("%s", w)
	}
	for _, x := range p.Suppliers {
		if x.ToFreeFreight > 0 {
			s.Say("%s more from %s in this round would make its freight free.", t.money(x.ToFreeFreight),
				t.supplier(x.Supplier))
		}
		if x.ToMinimum > 0 {
			s.Say("The round is %s short of the smallest order that %s takes.", t.money(x.ToMinimum),
				t.supplier(x.Supplier))
		}
	}
}
