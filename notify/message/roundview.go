package message

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// section adds a list under its title, or nothing where there is none.
func section(p *page.Page, title string, items []string) {
	if len(items) == 0 {
		return
	}
	p.Heading(2, title)
	p.List(items)
}

// notation leaves out the year: a weekly mail is about the weeks around it.
func (r *Round) notation() notation { return notation{shop: r.Shop, near: r.AsOf} }

func (r *Round) pieces() int {
	n := 0
	for i := range r.Due {
		n += r.Due[i].Proposal.Pieces()
	}
	return n
}

func (r *Round) subject(t notation) string {
	if len(r.Due) == 0 {
		return fmt.Sprintf("Muster of %s: nobody is due", t.date(r.AsOf))
	}
	first := "first yes needed "
	if r.Due[0].overdue() {
		first = "first yes was needed "
	}
	return fmt.Sprintf("%s, %s; %s%s", programme.NumberOf(len(r.Due), "reorder"),
		programme.NumberOf(r.pieces(), "piece"), first, t.day(r.Due[0].Proposal.OrderBy))
}

// lead returns the first sentence: all that a hurried reader needs.
func (r *Round) lead() string {
	of := ""
	if r.Clients > 0 {
		of = fmt.Sprintf(" of %s", programme.NumberOf(r.Clients, "client"))
	}
	if r.Clients == 1 && len(r.Due) == 1 {
		return clientName(r.Due[0].Client) + " is due."
	}
	switch len(r.Due) {
	case 0:
		return fmt.Sprintf("None%s is due for a reorder this week.", of)
	case 1:
		return fmt.Sprintf("One%s is due.", of)
	}
	return fmt.Sprintf("%d%s are due.", len(r.Due), of)
}

func (t notation) margin(m, price programme.Money) string {
	if price <= 0 {
		return t.money(m)
	}
	return fmt.Sprintf("%s (%.0f%%)", t.money(m), 100*m.Float()/price.Float())
}

// pressMinutes returns press time as people plan it: to five minutes, from ten on.
// Sums are of these, so that what stands in a list adds up.
func pressMinutes(h float64) int {
	m := int(h*60 + 0.5)
	if m >= 10 {
		m = (m + 4) / 5 * 5
	}
	return m
}

func hoursWords(h float64) string { return minutesWords(pressMinutes(h)) }

func minutesWords(m int) string {
	switch {
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m%60 == 0:
		return fmt.Sprintf("%d h", m/60)
	}
	return fmt.Sprintf("%d h %d min", m/60, m%60)
}

func (r *Round) nextOn(p *page.Page, m *Mail, t notation) {
	if len(r.Next) == 0 {
		return
	}
	list := slices.Clone(r.Next)
	slices.SortStableFunc(list, func(a, b NextDue) int {
		if a.On.IsZero() != b.On.IsZero() {
			if a.On.IsZero() {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.Client, b.Client))
	})
	table := page.Table{Columns: []page.Column{{Keep: true}, {}}}
	last, who := "", ""
	for _, n := range list {
		day, one := t.day(n.On), clean.Short(n.Client)
		if n.On.IsZero() {
			day = "not within two years"
		}
		if n.Remark != "" {
			one += " (" + clean.Line(n.Remark) + ")"
		} else if n.Pieces > 0 {
			one += fmt.Sprintf(" (about %s)", programme.NumberOf(n.Pieces, "piece"))
		}
		if day == last {
			who += ", " + one
			table.Rows = table.Rows[:len(table.Rows)-1]
		} else {
			who = one
		}
		last = day
		table.Row(day, who)
	}
	var lines []string
	for _, row := range table.Rows {
		lines = append(lines, row[0].String()+" "+row[1].String())
	}
	fresh := r.news(m, lines)
	table.Rows = slices.DeleteFunc(table.Rows,
		func(row []page.Text) bool { return !slices.Contains(fresh, row[0].String()+" "+row[1].String()) })
	if len(table.Rows) == 0 {
		return
	}
	p.Heading(2, "Next")
	p.Add(table)
}

func (r *Round) changeLines() []string {
	out := make([]string, 0, len(r.Changes))
	for _, x := range r.Changes {
		out = append(out, clean.Short(x.Client)+": "+clean.Line(x.What))
	}
	return out
}

func (r *Round) troubleLines(t notation) []string {
	var out []string
	for _, x := range r.Troubles {
		s := clean.Line(x.What)
		if x.Client != "" {
			s = clean.Short(x.Client) + ": " + s
		}
		if !x.On.IsZero() {
			s = t.day(x.On) + ": " + s
		}
		out = append(out, strings.TrimSpace(s+" "+clean.Line(x.Do)))
	}
	return out
}

// priceLines say whose price of what changes when, from what to what.
func (r *Round) priceLines(t notation) []string {
	var out []string
	for i := range r.NewPrices {
		n := &r.NewPrices[i]
		what := t.garment(n.Garment)
		if n.Size != "" {
			what += ", " + clean.Short(n.Size)
		}
		until := "none before"
		if was, ok := n.Client.PriceOf(n.Garment, n.Size, n.From-1); ok {
			until = t.money(was) + " before"
		}
		out = append(out, fmt.Sprintf("%s: %s %s from %s, %s.", clientName(n.Client), what, t.money(n.Price.Price),
			t.day(n.From), until))
	}
	return out
}

// takenUpTo is the number of files up to which each gets a line; whoever hands
// over more keeps the reports beside them.
const takenUpTo = 20

func (r *Round) takenLines(t notation) []string {
	var out []string
	for _, x := range r.Taken[:min(len(r.Taken), takenUpTo)] {
		s := t.day(x.On) + ": "
		if x.Client != "" {
			s += clean.Short(x.Client) + ": "
		}
		out = append(out, s+clean.Line(x.What))
	}
	if more := len(r.Taken) - len(out); more > 0 {
		out = append(out, fmt.Sprintf("and %s more", programme.NumberOf(more, "file")))
	}
	return out
}

// countLines says which counts come, so that the owner can stop them.
func (r *Round) countLines(t notation) []string {
	var out []string
	for _, c := range r.Counting {
		s := clientName(c.Client) + ": "
		if c.Assumed {
			s += "all holdings are only assumed. "
		}
		s += fmt.Sprintf("%s of %s", programme.NumberOf(c.Rows, "row"), programme.NumberOf(c.People, "person"))
		switch {
		case c.Sent && c.ByItself:
			s += fmt.Sprintf(", sent; back by %s", t.day(c.ReturnBy))
		case c.Sent:
			s += fmt.Sprintf(", in drafts/ to send; back by %s", t.day(c.ReturnBy))
		default:
			s += fmt.Sprintf(" go out %s", t.day(c.SendOn))
		}
		if c.Came > 0 {
			s += fmt.Sprintf("; %s came", programme.NumberOf(c.Came, "row"))
		}
		if c.Saving > 0 && !c.Assumed {
			s += fmt.Sprintf("; saves %s", t.about(c.Saving))
		}
		if c.Holds {
			s += "; its order waits"
		}
		out = append(out, s+".")
	}
	if len(out) > 0 {
		out[len(out)-1] += " Stop one: kitmuster counts drop CLIENT."
	}
	return out
}

// learntUpTo is the number of things learnt that a mail tells; the wear command has all.
const learntUpTo = 1

func (r *Round) learntLines() []string {
	var out []string
	for _, l := range r.Learnt[:min(len(r.Learnt), learntUpTo)] {
		who := ""
		if l.Client != "" {
			who = clean.Short(l.Client) + ", "
		}
		out = append(out, fmt.Sprintf("%s%s: %.0f washes (%.0f to %.0f; %s), not %.0f", who, clean.Short(l.What),
			l.Median, l.Low, l.High, l.Evidence.Brief(), l.Baseline))
	}
	if more := len(r.Learnt) - learntUpTo; more > 0 {
		out = append(out, fmt.Sprintf("and %d more: kitmuster wear", more))
	}
	return out
}

func (r *Round) waitingLines(t notation) []string {
	var out []string
	for _, w := range r.Waiting {
		p := w.Proposal
		s := fmt.Sprintf("%s, proposal %d of %s: %s, %s", clientName(w.Client), p.Number, t.date(p.AsOf),
			programme.NumberOf(p.Pieces(), "piece"), p.State.Word())
		s += stillToCome(p, r.AsOf, t)
		if p.OrderBy < r.AsOf && (p.State == reorder.Drafted || p.State == reorder.Sent) {
			s += fmt.Sprintf("; the last day for a yes was %s", t.day(p.OrderBy))
		}
		out = append(out, s)
	}
	return out
}

// stillToCome says what is still to come of a proposal: of a part, until when where some of it comes later
// than promised, and what was promised for a day that is over.
func stillToCome(p *reorder.Proposal, asOf programme.Date, t notation) string {
	var last programme.Date
	late := 0
	for _, c := range p.Coming() {
		last = max(last, c.On)
		if c.On < asOf {
			late += c.Pieces
		}
	}
	said := ""
	switch {
	case p.State == reorder.PartReceived && last > p.Arrives && last >= asOf:
		said = fmt.Sprintf("; %s still to come, the last by %s", programme.NumberOf(p.Outstanding(), "piece"),
			t.day(last))
	case p.State == reorder.PartReceived:
		said = fmt.Sprintf("; %s still to come", programme.NumberOf(p.Outstanding(), "piece"))
	case p.State == reorder.Ordered && last > p.Arrives && last >= asOf:
		said = fmt.Sprintf("; some are on back-order until %s", t.day(last))
	}
	if late > 0 && (p.State == reorder.Ordered || p.State == reorder.PartReceived) {
		said += fmt.Sprintf("; %s late by now", programme.NumberOf(late, "piece"))
	}
	return said
}

// refusedLines returns a line for each no and not now.
func (r *Round) refusedLines(t notation) []string {
	var out []string
	for i := range r.Refused {
		x := &r.Refused[i]
		p := x.Proposal
		s := fmt.Sprintf("not now from %s to proposal %d (%s), asked again on %s", clientName(x.Client), p.Number,
			programme.NumberOf(p.Pieces(), "piece"), t.day(x.Until))
		if p.State == reorder.Declined {
			because := ""
			if p.Because != "" {
				because = " because “" + clean.Line(p.Because) + "”"
			}
			s = fmt.Sprintf("no from %s to proposal %d (%s)%s, not proposed again until %s", clientName(x.Client),
				p.Number, programme.NumberOf(p.Pieces(), "piece"), because, t.day(x.Until))
			if x.More {
				s += " or until more is missing"
			}
		}
		out = append(out, clean.Sentence(s))
	}
	return out
}

// id makes a content ID or file name part from words and numbers.
func id(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = clean.FileName(fmt.Sprint(p))
	}
	return strings.Join(words, "-")
}
