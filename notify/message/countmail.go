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

// howToCount explains the form; it stands in the mail and in the workbook.
var howToCount = []string{
	"Look at what each person on the list has of the garment, and write the number of presentable pieces into the yellow column. 0 or none: nothing is left.",
	"Presentable means: you would let it be seen by your customers. Torn, stained for good, faded, out of shape, or with the print cracked or peeling does not count.",
	"Leave a cell empty if you could not look: the number on record is kept, and nobody takes it for none.",
	"The column “On record” is what we have noted so far. If the true number is higher, write the true number.",
	"Somebody or something is missing? Write it into the empty rows at the foot: name, garment, number. Colour and size may stay empty.",
	"One day counts for the whole list; write it at the top, as you like. The number in the last column tells people of one name apart; leave it as it is.",
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
			part.Rows = nil
			if own {
				part.Site, part.To = r.Person.Site, who
			}
			by[key] = &part
		}
		by[key].Rows = append(by[key].Rows, r)
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
	place, key := clientName(c.Client), c.Client.Code
	if c.Site != "" {
		place, key = clientName(c.Client)+", "+clean.Short(c.Site), c.Client.Code+"-"+c.Site
	}
	name := "count-" + clean.FileName(key) + "-" + c.AsOf.String()
	m := Mail{
		Kind: KindCount, ID: id("count", key, c.AsOf), To: []programme.Contact{to}, ReplyTo: manager,
		Subject:     fmt.Sprintf("A count of %s: which uniforms are still presentable at %s?", programme.NumberOf(len(c.Rows), "row"), place),
		Attachments: []Part{{Name: name + ".xlsx", Type: typeXLSX, Data: xlsx}, {Name: name + ".csv", Type: typeCSV, Data: csv}},
	}
	if c.ReturnTo.Address != "" {
		m.ReplyTo = programme.Contact{Name: c.Shop.Name, Email: c.ReturnTo.Address}
	}
	return m, m.write(c.page(t, m.Subject, manager))
}

func (c *CountForm) page(t notation, subject string, manager programme.Contact) page.Page {
	back := "next week"
	if !c.ReturnBy.IsZero() {
		back = t.day(c.ReturnBy)
	}
	shop := clean.Short(c.Shop.Name)
	p := letter(shop, subject, "Which uniforms are still presentable?")
	p.Say("%s", hello(cmp.Or(c.To.Name, c.Client.Customer.Name)))
	p.Say("A short count tells us what your people really have, so that new pieces come in time and none too many. We do not ask for everything: the attached form lists the part of %s that tells most now: %s, %s. Please fill it in and send it back by %s.",
		clientName(c.Client), programme.NumberOf(people(c.Rows), "person"), programme.NumberOf(len(c.Rows), "row"), back)
	p.Add(page.Answers{List: []page.Answer{c.ReturnTo.answer("Send the form back", "Count of "+clientName(c.Client), manager, "The filled form is attached.\n")}})
	to := nameAndAddress(manager)
	if c.ReturnTo.Address != "" {
		to = clean.Line(c.ReturnTo.Address)
	}
	p.Aside("Opens a mail to %s; attach the filled form to it.", to)
	p.Heading(2, "How to count")
	p.List(howToCount)
	c.sites(&p)
	p.Say("Attached: the form as a workbook (XLSX), and the same as a plain list (CSV). Either will do.")
	p.Add(regards(clean.Short(manager.Name), shop))
	return p
}

// answer is a link that opens a mail with the mark in its subject, to the address that
// answers go to or, without one, to the manager.
func (r ReturnTo) answer(words, subject string, manager programme.Contact, body string) page.Answer {
	if r.Mark != "" {
		subject += " [" + clean.Line(r.Mark) + "]"
	}
	return page.Answer{Words: words, To: clean.Line(cmp.Or(r.Address, manager.Email)), Subject: subject, Body: body}
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
		Head: document.Head{Shop: c.Shop.Name, Client: clientName(c.Client), Units: c.Shop.Units, AsOf: c.AsOf},
		Site: c.Site, ReturnBy: c.ReturnBy, Date: c.AsOf, Day: t.day, How: howToCount,
	}
	for _, r := range rows {
		f.Rows = append(f.Rows, document.CountRow{
			Site: r.Person.Site, Name: r.Person.Name, Role: c.Client.RoleName(r.Person.Role), Garment: t.garment(r.Garment), Colour: r.Colour, Size: r.Size, OnRecord: r.OnRecord, StaffID: r.Person.StaffID,
		})
	}
	return f
}
