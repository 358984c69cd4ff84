package message

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// howToCount explains the form, in the mail and in the workbook; %s is what its numbers are.
var howToCount = [...]string{
	"Look at what each person on the list has of the garment, and write the number of presentable pieces into the yellow column. 0 or none: nothing is left.",
	"Presentable means: you would let it be seen by your customers. Torn, stained for good, faded, out of shape, or with the print cracked or peeling does not count.",
	"Leave a cell empty if you could not look: the number on record is kept, and nobody takes it for none.",
	"The column “On record” is %s. If the true number is higher, write the true number.",
	"Somebody or something is missing? Write it into the empty rows at the foot: name, garment, number. Colour and size may stay empty.",
	"One day counts for the whole list: write it at the top, as you like. Left empty, it is the day on which the list reaches us. The number in the last column tells people of one name apart; leave it as it is.",
}

// onRecordLine is the line of howToCount that says what the numbers on record are.
const onRecordLine = 3

// how explains the form.
func (c *CountForm) how() []string {
	how := slices.Clone(howToCount[:])
	record := "what we have noted so far"
	if c.Assumed {
		record = "only what we assume, from past orders"
	}
	how[onRecordLine] = fmt.Sprintf(how[onRecordLine], record)
	return how
}

// Parts returns the form in parts: one for each place that has a contact of its own, who
// fills it in there, and one for the customer with all other rows.
func (c *CountForm) Parts() []CountForm {
	at := map[string]programme.Contact{}
	for _, k := range c.Client.Contacts {
		if k.Site != "" && k.Email != "" {
			at[match.Plain(k.Site)] = k.Contact
		}
	}
	by := map[string]*CountForm{}
	for _, r := range c.Rows {
		key := match.Plain(r.Person.Site)
		who, own := at[key]
		if !own {
			key = ""
		}
		if by[key] == nil {
			part := *c
			part.Rows, part.Site, part.To = nil, r.Person.Site, who
			by[key] = &part
		}
		by[key].Rows = append(by[key].Rows, r)
		if by[key].Site != r.Person.Site && !own {
			by[key].Site = ""
		}
	}
	if len(by) == 1 && by[""] != nil {
		by[""].Site = ""
	}
	var out []CountForm
	for _, key := range slices.Sorted(maps.Keys(by)) {
		out = append(out, *by[key])
	}
	return out
}

// ComposeCount writes the count form to the client, with answers to its manager.
func ComposeCount(c CountForm) (Mail, error) {
	t := notation{shop: c.Shop}
	manager := managerOf(c.Shop, c.Client)
	to := c.Client.Customer
	if c.To.Email != "" {
		to = c.To
	}
	if to.Email == "" {
		to = manager
	}
	form := c.form(t)
	xlsx, err := form.XLSX()
	if err != nil {
		return Mail{}, fmt.Errorf("compose count of %s: %w", c.Client.Code, err)
	}
	csv, err := form.CSV()
	if err != nil {
		return Mail{}, fmt.Errorf("compose count of %s: %w", c.Client.Code, err)
	}
	key := c.Client.Code
	if c.Site != "" {
		key += "-" + c.Site
	}
	name := "count-" + clean.FileName(key) + "-" + c.AsOf.String()
	m := Mail{
		Kind: KindCount, ID: id("count", key, c.AsOf), To: []programme.Contact{to}, ReplyTo: manager,
		Subject: fmt.Sprintf("A count of %s: which uniforms are still presentable at %s?",
			programme.NumberOf(len(c.Rows), "row"), c.place()),
		Attachments: []Part{{Name: name + ".xlsx", Type: typeXLSX, Data: xlsx},
			{Name: name + ".csv", Type: typeCSV, Data: csv}},
	}
	if c.ReturnTo.Address != "" {
		m.ReplyTo = programme.Contact{Name: c.Shop.Name, Email: c.ReturnTo.Address}
	}
	return m, m.write(c.page(t, m.Subject, manager))
}

// place names the client and, where the form is for one of several, the site.
func (c *CountForm) place() string {
	if c.Site == "" {
		return clientName(c.Client)
	}
	return clientName(c.Client) + ", " + clean.Short(c.Site)
}

func (c *CountForm) page(t notation, subject string, manager programme.Contact) page.Page {
	back := "next week"
	if !c.ReturnBy.IsZero() {
		back = t.day(c.ReturnBy)
	}
	shop := clean.Short(c.Shop.Name)
	p := letter(shop, subject, "Which uniforms are still presentable?")
	p.Say("%s", hello(cmp.Or(c.To.Name, c.Client.Customer.Name)))
	asks := "We do not ask for everything: the attached form lists the part of %s that tells most now: %s, %s."
	if c.Assumed {
		asks = "So far we know what was ordered, not what of it is still there: all that we have on record is only assumed. The attached form is for %s: %s, %s."
	}
	p.Say("A short count tells us what your people really have, so that new pieces come in time and none too many. "+
		asks+" Please fill it in and send it back by %s.",
		c.place(), programme.NumberOf(people(c.Rows), "person"), programme.NumberOf(len(c.Rows), "row"), back)
	to := nameAndAddress(manager)
	if c.ReturnTo.Address != "" {
		to = clean.Line(c.ReturnTo.Address)
	}
	p.Add(page.Answers{Links: "Opens a mail to " + to + "; attach the filled form to it.", List: []page.Answer{
		c.ReturnTo.answer("Send the form back", "Count of "+clientName(c.Client), manager, "the filled form",
			"The filled form is attached.\n"),
	}})
	p.Heading(2, "How to count")
	p.List(c.how())
	c.sites(&p)
	p.Say("Attached: the form as a workbook (XLSX), and the same as a plain list (CSV). Either will do.")
	p.Add(regards(clean.Short(manager.Name), shop))
	return p
}

// answer is a link that opens a mail with the mark in its subject, to the address that
// answers go to or, without one, to the manager.
func (r ReturnTo) answer(words, subject string, manager programme.Contact, attach, body string) page.Answer {
	if r.Mark != "" {
		subject += " [" + clean.Line(r.Mark) + "]"
	}
	return page.Answer{Words: words, To: clean.Line(cmp.Or(r.Address, manager.Email)), Subject: subject, Body: body,
		Attach: attach}
}

// sites counts the people of each place; one place needs no table.
func (c *CountForm) sites(p *page.Page) {
	at := map[string]int{}
	seen := map[string]bool{}
	for i := range c.Rows {
		if who := &c.Rows[i].Person; !seen[who.StaffID] {
			seen[who.StaffID] = true
			at[who.Site]++
		}
	}
	if len(at) < 2 {
		return
	}
	p.Heading(2, "Who is on the form")
	t := page.Table{Columns: page.Columns("", "")}
	for _, site := range slices.Sorted(maps.Keys(at)) {
		t.Row(cmp.Or(clean.Short(site), "no site"), programme.NumberOf(at[site], "person"))
	}
	p.Add(t)
}

// people returns how many people have a row.
func people(rows []CountRow) int {
	seen := map[string]bool{}
	for i := range rows {
		seen[rows[i].Person.StaffID] = true
	}
	return len(seen)
}

// form sorts the rows as somebody walks through them: by site, role, name, garment.
func (c *CountForm) form(t notation) *document.CountForm {
	rows := slices.Clone(c.Rows)
	slices.SortStableFunc(rows, func(a, b CountRow) int {
		return cmp.Or(
			cmp.Compare(match.Plain(a.Person.Site), match.Plain(b.Person.Site)),
			cmp.Compare(c.Client.RoleName(a.Person.Role), c.Client.RoleName(b.Person.Role)),
			cmp.Compare(strings.ToLower(a.Person.Name), strings.ToLower(b.Person.Name)),
			cmp.Compare(a.Person.StaffID, b.Person.StaffID), t.compare(a.SKU, b.SKU))
	})
	f := &document.CountForm{
		Head: document.NewHead(c.Shop, clientName(c.Client), c.AsOf),
		Site: c.Site, ReturnBy: c.ReturnBy, Day: t.day, How: c.how(),
	}
	for _, r := range rows {
		f.Rows = append(f.Rows, document.CountRow{
			Site: r.Person.Site, Name: r.Person.Name, Role: c.Client.RoleName(r.Person.Role),
			Garment: t.garment(r.Garment), Colour: r.Colour, Size: r.Size, OnRecord: r.OnRecord,
			StaffID: r.Person.StaffID,
		})
	}
	return f
}
