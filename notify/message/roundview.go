package message

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// task is one thing to do by a day.
type task struct {
	on   programme.Date
	Day  string
	What string
	Note string
}

// page is what the owner reads.
func (r *Round) page(m *Mail, d detail) (page.Page, error) {
	t := r.tongue()
	slices.SortStableFunc(r.Due, func(a, b Due) int { return cmp.Compare(a.Proposal.OrderBy, b.Proposal.OrderBy) })
	m.Subject = r.subject(t)
	p := letter(clean.Short(r.Shop.Name), m.Subject, "Muster of "+tongue{shop: r.Shop}.day(r.AsOf))
	p.Say("%s", r.lead())
	if f := r.figures(t); len(f) > 0 {
		p.Add(page.Facts{Pairs: f})
	}
	blanks := r.blanksViews(t)
	r.tasksOn(&p, t, blanks)
	if err := r.dueOn(&p, m, t, d); err != nil {
		return p, err
	}
	r.heldOn(&p, t, d)
	if err := r.sheetsOn(&p, m, t); err != nil {
		return p, err
	}
	blanksOn(&p, blanks)
	section(&p, "At the press", r.pressLines())
	section(&p, "Proposals that wait for a step", r.waitingLines(t))
	r.nextOn(&p, t)
	section(&p, "What went wrong", r.troubleLines(t))
	section(&p, "Taken in since the last mail", r.takenLines(t))
	if learnt := r.learntLines(); len(learnt) > 0 {
		section(&p, "What your records taught", learnt)
		p.Aside("How many washes half of such pieces outlast, by their cloth alone; in brackets, where that lies with 8 chances in 10.")
	}
	if len(r.Due) > 0 {
		p.Aside("Every number can be traced: “kitmuster proposal show %d --explain” prints its arithmetic.", r.Due[0].Proposal.Number)
	}
	return p, nil
}

// section adds a list under its title, or nothing where there is none.
func section(p *page.Page, title string, items []string) {
	if len(items) == 0 {
		return
	}
	p.Heading(2, title)
	p.List(items)
}

func (r *Round) tasksOn(p *page.Page, t tongue, blanks []blanksView) {
	tasks := r.tasks(t, blanks)
	if len(tasks) == 0 {
		return
	}
	p.Heading(2, "To do, by date")
	table := page.Table{Columns: []page.Column{{Keep: true}, {}}}
	for _, x := range tasks {
		table.Row(page.Strong(x.Day), page.Plain(x.What).Below(page.Quiet(x.Note)))
	}
	p.Add(table)
}

// tongue leaves out the year: a weekly mail is about the weeks around it.
func (r *Round) tongue() tongue { return tongue{shop: r.Shop, near: r.AsOf} }

// words says where to find what a long mail leaves out.
func (d detail) words() string {
	switch d {
	case brief:
		return "With so many clients due, pictures and reasons are left out here: “kitmuster proposal show NUMBER --explain” has them, and the attached list has every number."
	case listed, counted:
		return "With so many clients due, little is said of each here: “kitmuster proposal show NUMBER --explain” has the rest, and the attached list has every number."
	case full:
	}
	return ""
}

func (r *Round) pieces() int {
	n := 0
	for i := range r.Due {
		n += r.Due[i].Proposal.Pieces()
	}
	return n
}

func (r *Round) subject(t tongue) string {
	if len(r.Due) == 0 {
		return fmt.Sprintf("Kit muster %s: nobody is due", t.date(r.AsOf))
	}
	return fmt.Sprintf("Kit muster %s: %s due, %s, order by %s", t.date(r.AsOf), count(len(r.Due), "client"), count(r.pieces(), "piece"), t.day(r.Due[0].Proposal.OrderBy))
}

// lead is the first sentence: all that a hurried reader needs.
func (r *Round) lead() string {
	of := ""
	if r.Clients > 0 {
		of = fmt.Sprintf(" of %s", count(r.Clients, "client"))
	}
	switch len(r.Due) {
	case 0:
		return fmt.Sprintf("None%s is due for a reorder this week.", of)
	case 1:
		return fmt.Sprintf("One%s is due for a reorder: %s.", of, clientName(r.Due[0].Client))
	}
	var names []string
	for i := range r.Due {
		names = append(names, clientName(r.Due[i].Client))
	}
	if len(names) > 4 {
		names = append(names[:3], fmt.Sprintf("%d more", len(names)-3))
	}
	return fmt.Sprintf("%d%s are due for a reorder: %s.", len(r.Due), of, sentence(names))
}

// figures adds up the round; without anybody due there is nothing to add up.
func (r *Round) figures(t tongue) []page.Fact {
	if len(r.Due) == 0 {
		return nil
	}
	var cost, price programme.Money
	minutes := 0
	priced := true
	for i := range r.Due {
		p := r.Due[i].Proposal
		cost, price, minutes = cost+p.Cost(), price+p.Price, minutes+pressMinutes(p.PressHours)
		priced = priced && p.Priced()
	}
	out := []page.Fact{{Label: "Pieces", Value: fmt.Sprint(r.pieces()), Strong: true}, {Label: "Cost", Value: t.money(cost), Strong: true}}
	if priced {
		out = append(out, page.Fact{Label: "Price", Value: t.money(price), Strong: true}, page.Fact{Label: "Margin", Value: t.margin(price-cost, price), Strong: true})
	} else {
		out = append(out, page.Fact{Label: "Margin", Value: "not all prices known"})
	}
	return append(out, page.Fact{Label: "At the press", Value: minutesWords(minutes), Strong: true})
}

func (t tongue) margin(m, price programme.Money) string {
	if price <= 0 {
		return t.money(m)
	}
	return fmt.Sprintf("%s (%.0f%%)", t.money(m), 100*m.Float()/price.Float())
}

// pressMinutes is press time as people plan it: to five minutes, from ten on.
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

// tasks is what to do this week, in order of date.
func (r *Round) tasks(t tongue, blanks []blanksView) []task {
	var out []task
	add := func(on programme.Date, what, note string) { out = append(out, task{on, t.day(on), what, note}) }
	if len(r.Due) <= picturesUpTo {
		r.answers(add)
	} else {
		r.manyAnswers(add)
	}
	for i := range blanks {
		b := &blanks[i]
		add(b.orderBy, fmt.Sprintf("Order blanks from %s: %s, %s", b.Supplier, count(b.Pieces, "piece"), b.Value), b.Freight)
	}
	for i := range r.Sheets {
		s := &r.Sheets[i]
		on := s.OrderBy
		if on.IsZero() {
			on = r.AsOf
		}
		add(on, fmt.Sprintf("Order transfers from %s: %s, %s", t.supplier(s.Printer), t.copies(s), t.money(s.Cost.Total())), r.carriage(t, i))
	}
	r.decisions(add)
	for i := range r.Troubles {
		if r.Troubles[i].Kind == MailRefused {
			add(r.AsOf, "See to a message that was not delivered", "see “What went wrong”")
			break
		}
	}
	slices.SortStableFunc(out, func(a, b task) int { return cmp.Compare(a.on, b.on) })
	return out
}

// answers is a task for each client that must say yes.
func (r *Round) answers(add func(programme.Date, string, string)) {
	for i := range r.Due {
		p := r.Due[i].Proposal
		note := ""
		if p.Late {
			note = "already late: the sooner the better"
		}
		add(p.OrderBy, fmt.Sprintf("Get a yes from %s: proposal %d, %s", clientName(r.Due[i].Client), p.Number, count(p.Pieces(), "piece")), note)
	}
}

// decisions is a task for each client with protective clothing held, or one
// for all of them when they are many.
func (r *Round) decisions(add func(programme.Date, string, string)) {
	held := r.allHeld()
	const note = "see “Held for your yes”"
	if len(held) > picturesUpTo {
		add(r.AsOf, fmt.Sprintf("Decide on protective clothing for %s", count(len(held), "client")), note)
		return
	}
	for _, h := range held {
		add(r.AsOf, fmt.Sprintf("Decide on protective clothing for %s: %s, not ordered", clientName(h.Client), count(h.pieces(), "piece")), note)
	}
}

// manyAnswers is a task for each day on which clients must say yes.
func (r *Round) manyAnswers(add func(programme.Date, string, string)) {
	for i := 0; i < len(r.Due); {
		day, n, pieces := r.Due[i].Proposal.OrderBy, 0, 0
		for ; i < len(r.Due) && r.Due[i].Proposal.OrderBy == day; i++ {
			n, pieces = n+1, pieces+r.Due[i].Proposal.Pieces()
		}
		add(day, fmt.Sprintf("Get a yes from %s: %s", count(n, "client"), count(pieces, "piece")), "see “Clients that are due”, which stand in order of date")
	}
}

func (r *Round) pressLines() []string {
	if len(r.Due) == 0 {
		return nil
	}
	total := 0
	var out []string
	for i := range r.Due {
		h := r.Due[i].Proposal.PressHours
		total += pressMinutes(h)
		out = append(out, clientName(r.Due[i].Client)+": "+hoursWords(h))
	}
	switch {
	case len(out) == 1:
		return out
	case len(out) > picturesUpTo:
		return []string{fmt.Sprintf("%s together: %s", count(len(out), "client"), minutesWords(total))}
	}
	return append(out, "together: "+minutesWords(total))
}

func (r *Round) nextOn(p *page.Page, t tongue) {
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
		if n.Pieces > 0 {
			one += fmt.Sprintf(" (about %s)", count(n.Pieces, "piece"))
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
	p.Heading(2, "Due next")
	p.Add(table)
}

func (r *Round) troubleLines(t tongue) []string {
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

// takenUpTo is the number of files up to which each gets a line; whoever hands
// over more keeps the reports beside them.
const takenUpTo = 20

func (r *Round) takenLines(t tongue) []string {
	var out []string
	for _, x := range r.Taken[:min(len(r.Taken), takenUpTo)] {
		s := t.day(x.On) + ": "
		if x.Client != "" {
			s += clean.Short(x.Client) + ": "
		}
		out = append(out, s+clean.Line(x.What))
	}
	if more := len(r.Taken) - len(out); more > 0 {
		out = append(out, fmt.Sprintf("and %s more", count(more, "file")))
	}
	return out
}

func (r *Round) learntLines() []string {
	var out []string
	for _, l := range r.Learnt {
		who := ""
		if l.Client != "" {
			who = clean.Short(l.Client) + ", "
		}
		out = append(out, fmt.Sprintf("%s%s: shipped figure %.0f washes; %s say %.0f (%.0f to %.0f)",
			who, clean.Short(l.What), l.Baseline, count(l.Endings, "recorded ending"), l.Median, l.Low, l.High))
	}
	return out
}

func (r *Round) waitingLines(t tongue) []string {
	var out []string
	for _, w := range r.Waiting {
		p := w.Proposal
		s := fmt.Sprintf("%s, proposal %d of %s: %s, %s", clientName(w.Client), p.Number, t.date(p.AsOf), count(p.Pieces(), "piece"), stateWords(p.State))
		if p.State == reorder.PartReceived {
			s += fmt.Sprintf("; %s still to come", count(p.Outstanding(), "piece"))
		}
		if p.OrderBy < r.AsOf && (p.State == reorder.Drafted || p.State == reorder.Sent) {
			s += fmt.Sprintf("; the last day for a yes was %s", t.day(p.OrderBy))
		}
		out = append(out, s)
	}
	return out
}

// stateWords says what a proposal waits for.
func stateWords(s reorder.State) string {
	switch s {
	case reorder.Drafted:
		return "written, not yet sent"
	case reorder.Sent:
		return "sent, no answer yet"
	case reorder.Accepted:
		return "accepted, to be ordered"
	case reorder.Ordered:
		return "ordered, not yet received"
	case reorder.PartReceived:
		return "received in part"
	case reorder.PutOff, reorder.Declined, reorder.Received, reorder.Lapsed:
	}
	return string(s)
}

// id makes a content ID or file name part from words and numbers.
func id(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = clean.FileName(fmt.Sprint(p))
	}
	return strings.Join(words, "-")
}
