package message

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// personRow is one person and all that they get.
type personRow struct {
	Name, Site string
	Items      []personItem
	id         string
	named      []reorder.Named
}

// personItem is pieces of one garment, colour and size with the reason for them.
type personItem struct{ What, Why string }

// ComposeReorder writes one client's reorder: to the manager who looks after
// the client, worded for the customer, to be forwarded as it stands. AsDraft
// with the customer's address makes the draft for the folder.
func ComposeReorder(r Reorder) (Mail, error) {
	t := tongue{shop: r.Shop}
	d, err := r.distribute(t)
	if err != nil {
		return Mail{}, fmt.Errorf("compose proposal %d: %w", r.Proposal.Number, err)
	}
	p := r.Proposal
	m := Mail{
		Kind: KindReorder, ID: id("proposal", p.Number), To: []programme.Contact{r.manager()},
		Subject: fmt.Sprintf("Uniform reorder for %s: %s (proposal %d)", clientName(r.Client), count(p.Pieces(), "piece"), p.Number),
	}
	if err := r.papers(t, &m, d); err != nil {
		return Mail{}, fmt.Errorf("compose proposal %d: %w", p.Number, err)
	}
	return m, m.write(r.page(t, m.Subject, d))
}

// manager is who looks after the client; the owner where nobody is named.
func (r *Reorder) manager() programme.Contact { return managerOf(r.Shop, r.Client) }

func managerOf(shop *programme.Shop, client *programme.Client) programme.Contact {
	if m, ok := shop.Manager(client.Manager); ok && m.Email != "" {
		return m.Contact
	}
	return shop.Owner
}

// distribution is who gets which pieces, and what is left for the pool.
type distribution struct {
	people   []personRow
	pool     []tally
	starters int
	spare    int
}

// distribute gives the pieces of the order to people; what is not named is the
// pool, so that both together are always the order.
func (r *Reorder) distribute(t tongue) (distribution, error) {
	p := r.Proposal
	left := map[programme.SKU]int{}
	for i := range p.Lines {
		left[p.Lines[i].SKU] += p.Lines[i].Order
	}
	rows := map[string]*personRow{}
	var ids []string
	for _, n := range p.Named {
		left[n.SKU] -= n.Pieces
		if left[n.SKU] < 0 {
			return distribution{}, fmt.Errorf("more pieces of %s are named than ordered", n.SKU)
		}
		row := rows[n.StaffID]
		if row == nil {
			row = &personRow{id: n.StaffID}
			rows[n.StaffID] = row
			ids = append(ids, n.StaffID)
		}
		row.named = append(row.named, n)
	}
	var d distribution
	for _, staff := range r.rosterOrder(ids) {
		row := rows[staff]
		r.fillRow(t, row)
		d.people = append(d.people, *row)
	}
	d.pool, d.starters, d.spare = r.poolOf(t, left)
	return d, nil
}

// rosterOrder sorts staff numbers by name, as a list is read out; the nameless come last.
func (r *Reorder) rosterOrder(ids []string) []string {
	out := slices.Clone(ids)
	slices.SortStableFunc(out, func(a, b string) int {
		na, nb := r.person(a).Name, r.person(b).Name
		if (na == "") != (nb == "") {
			return strings.Compare(nb, na)
		}
		if c := strings.Compare(strings.ToLower(na), strings.ToLower(nb)); c != 0 {
			return c
		}
		return strings.Compare(a, b)
	})
	return out
}

func (r *Reorder) person(staff string) programme.Person { return findPerson(r.People, staff) }

func findPerson(people []programme.Person, staff string) programme.Person {
	if p, ok := programme.Roster(people).Find(staff); ok {
		return *p
	}
	return programme.Person{StaffID: staff}
}

// personName is what to call somebody: the name, with the staff number where
// two have the same name, or the number alone where no name is kept.
func personName(people []programme.Person, staff string) string {
	p := findPerson(people, staff)
	if p.Name == "" {
		return "staff no. " + clean.Short(staff)
	}
	same := 0
	for i := range people {
		if people[i].Name == p.Name {
			same++
		}
	}
	if same > 1 {
		return clean.Short(p.Name) + " (" + clean.Short(staff) + ")"
	}
	return clean.Short(p.Name)
}

func (r *Reorder) fillRow(t tongue, row *personRow) {
	slices.SortStableFunc(row.named, func(a, b reorder.Named) int { return t.compare(a.SKU, b.SKU) })
	row.Name, row.Site = personName(r.People, row.id), clean.Short(r.person(row.id).Site)
	for _, n := range row.named {
		w := reasonForClient(&n)
		if n.Why.Words().Washed && n.Washes >= 1 {
			w += fmt.Sprintf(", washed about %s so far", times(n.Washes))
		}
		row.Items = append(row.Items, personItem{fmt.Sprintf("%d × %s", n.Pieces, t.what(n.SKU)), w})
	}
}

// poolOf is what nobody is named for, split into new starters and spares.
func (r *Reorder) poolOf(t tongue, left map[programme.SKU]int) (pool []tally, starters, spare int) {
	meant := map[programme.SKU]int{}
	for _, p := range r.Proposal.Pool {
		meant[p.SKU] += p.ForStarters
	}
	for k, n := range left {
		if n == 0 {
			continue
		}
		pool = append(pool, tally{k, n})
		starters += min(n, meant[k])
		spare += n - min(n, meant[k])
	}
	slices.SortFunc(pool, func(a, b tally) int { return t.compare(a.SKU, b.SKU) })
	return pool, starters, spare
}

// page is what the customer reads: nothing in it is a cost, a margin or a note of the shop.
func (r *Reorder) page(t tongue, subject string, d distribution) page.Page {
	m, shop := r.manager(), clean.Short(r.Shop.Name)
	p := letter(shop, subject, subject)
	p.Say("%s", hello(r.Client.Customer.Name))
	for _, s := range r.intro(t) {
		p.Say("%s", s)
	}
	p.Add(page.Facts{Pairs: r.facts(t)}, r.answers())
	p.Aside("Both open a mail to %s, with the subject filled in.", nameAndAddress(m))
	p.Heading(2, "By size")
	addTables(&p, t.sizeTables(orders(r.Proposal)))
	if len(d.people) > 0 {
		p.Heading(2, "Who gets what")
		p.Add(whoGetsWhat(d))
	}
	if w := d.poolWords(); w != "" {
		p.Heading(2, "For new starters and surprises")
		p.Say("%s", w)
		addTables(&p, t.sizeTables(d.pool))
	}
	if held := t.holdWords(r.Proposal.Holds); len(held) > 0 {
		p.Heading(2, "Not part of this order")
		p.List(held)
		p.Add(page.Caution{Words: heldForClient})
	}
	p.Say("Attached: the order form with a place to sign (PDF), the list of who gets what (CSV), and both dates for your calendar.")
	p.Add(regards(clean.Short(m.Name), shop))
	return p
}

// answers are the ways to say yes.
func (r *Reorder) answers() page.Answers {
	to, p := clean.Line(r.manager().Email), r.Proposal
	return page.Answers{List: []page.Answer{
		{Words: "Yes, go ahead", To: to, Subject: fmt.Sprintf("Yes to proposal %d", p.Number), Body: fmt.Sprintf("Yes, please go ahead with proposal %d: %s.\n\nName:\nOrder number, if any:\n", p.Number, count(p.Pieces(), "piece"))},
		{Words: "Yes, with changes", To: to, Subject: fmt.Sprintf("Changes to proposal %d", p.Number), Body: fmt.Sprintf("Please go ahead with proposal %d with these changes:\n\n", p.Number)},
	}}
}

func whoGetsWhat(d distribution) page.Table {
	out := page.Table{Columns: page.Columns("Name", "Pieces and why")}
	for _, row := range d.people {
		var what page.Text
		for _, x := range row.Items {
			what = what.Below(page.Plain(x.What + " ").And(page.Quiet(x.Why)))
		}
		out.Row(page.Plain(row.Name).Below(page.Quiet(row.Site)), what)
	}
	return out
}

func hello(name string) string {
	if name = clean.Short(name); name != "" {
		return "Dear " + name + ","
	}
	return "Good day,"
}

func (r *Reorder) intro(t tongue) []string {
	p := r.Proposal
	out := []string{fmt.Sprintf("To keep everybody at %s well dressed until %s, we suggest %s. The records of what your people wear, and how often it has been washed, say what will be due by then; the list below says whose.",
		clientName(r.Client), t.day(p.CoverUntil), count(p.Pieces(), "piece"))}
	promise := fmt.Sprintf("With your yes by %s, everything is in your hands on %s.", t.day(p.OrderBy), t.day(p.Arrives))
	if p.Late {
		promise += " Some sizes may run short before that day, so the sooner the better."
	}
	return append(out, promise)
}

func (r *Reorder) priced() bool { return r.Client.ShowPrices && r.Proposal.Priced() }

func (r *Reorder) facts(t tongue) []page.Fact {
	p := r.Proposal
	out := []page.Fact{{Label: "Pieces", Value: fmt.Sprint(p.Pieces()), Strong: true}}
	if r.priced() {
		out = append(out, page.Fact{Label: "Total price", Value: t.money(p.Price), Strong: true})
	}
	return append(out, page.Fact{Label: "Yes by", Value: t.day(p.OrderBy), Strong: true}, page.Fact{Label: "In your hands", Value: t.day(p.Arrives), Strong: true})
}

func orders(p *reorder.Proposal) []tally {
	var out []tally
	for i := range p.Lines {
		out = append(out, tally{p.Lines[i].SKU, p.Lines[i].Order})
	}
	return out
}

// poolWords says what the pieces are for that nobody is named for.
func (d *distribution) poolWords() string {
	n, starters, spare := d.starters+d.spare, d.starters, d.spare
	if n == 0 {
		return ""
	}
	s := count(n, "piece") + " of the order are not meant for anybody by name: "
	if n == 1 {
		s = "1 piece of the order is not meant for anybody by name: "
	}
	switch {
	case spare == 0:
		return s + "new starters can be dressed on their first day."
	case starters == 0:
		return s + "spares for what tears, gets lost or wears out sooner than expected."
	}
	return s + fmt.Sprintf("%d so that new starters can be dressed on their first day, and %s for what tears, gets lost or wears out sooner than expected.", starters, count(spare, "spare"))
}

// papers adds the order form, the list and the calendar entries.
func (r *Reorder) papers(t tongue, m *Mail, d distribution) error {
	p := r.Proposal
	name := fmt.Sprintf("proposal-%d", p.Number)
	form := r.orderForm(t, d)
	pdf, warnings, err := form.PDF()
	if err != nil {
		return err
	}
	csv, err := document.CSV(listColumns(t), r.list(d))
	if err != nil {
		return err
	}
	m.Warnings = append(m.Warnings, warnings...)
	if r.Client.ShowPrices && !r.priced() {
		m.Warnings = append(m.Warnings, "Not every piece has a selling price in the programme, so the message shows none.")
	}
	m.Attachments = []Part{
		{Name: name + "-order-form.pdf", Type: typePDF, Data: pdf},
		{Name: name + "-list.csv", Type: typeCSV, Data: csv},
		{Name: name + "-dates.ics", Type: typeICS, Data: r.calendar()},
	}
	return nil
}

func (r *Reorder) calendar() []byte {
	p := r.Proposal
	what := fmt.Sprintf("proposal %d, %s", p.Number, count(p.Pieces(), "piece"))
	uid := func(part string) string {
		return fmt.Sprintf("proposal-%d-%s@%s", p.Number, part, clean.FileName(r.Shop.Name))
	}
	return document.Calendar(r.Shop.Name, p.AsOf, []document.Entry{
		{UID: uid("answer"), On: p.OrderBy, What: "Last day to say yes to the uniform reorder", Note: "From " + clean.Short(r.Shop.Name) + ": " + what},
		{UID: uid("arrival"), On: p.Arrives, What: "Uniforms arrive, if the yes came in time", Note: "From " + clean.Short(r.Shop.Name) + ": " + what},
	})
}

// listRow is pieces for one person, or for the pool, of the attached list.
type listRow struct {
	proposal int64
	person   programme.Person
	programme.SKU
	pieces int
	why    string
}

func listColumns(t tongue) []document.Column[listRow] {
	return []document.Column[listRow]{
		{Heading: "proposal", Value: func(r listRow) string { return strconv.FormatInt(r.proposal, 10) }},
		{Heading: "staff_id", Value: func(r listRow) string { return r.person.StaffID }},
		{Heading: "name", Value: func(r listRow) string { return r.person.Name }},
		{Heading: "site", Value: func(r listRow) string { return r.person.Site }},
		{Heading: "item", Value: func(r listRow) string { return t.garment(r.Garment) }},
		{Heading: "colour", Value: func(r listRow) string { return r.Colour }},
		{Heading: "size", Value: func(r listRow) string { return r.Size }},
		{Heading: "pieces", Value: func(r listRow) string { return strconv.Itoa(r.pieces) }},
		{Heading: "reason", Value: func(r listRow) string { return r.why }},
	}
}

// list is who gets what, a row for each person and piece, then the pool.
func (r *Reorder) list(d distribution) []listRow {
	var rows []listRow
	for _, row := range d.people {
		for _, n := range row.named {
			rows = append(rows, listRow{r.Proposal.Number, r.person(row.id), n.SKU, n.Pieces, reasonForClient(&n)})
		}
	}
	for _, x := range d.pool {
		rows = append(rows, listRow{r.Proposal.Number, programme.Person{}, x.SKU, x.n, "new starters and spares"})
	}
	return rows
}
