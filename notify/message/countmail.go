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
)

// howToCount explains the form; it stands in the mail and in the workbook.
var howToCount = []string{
	"Look at what each person has, and write the number of presentable pieces into the yellow column.",
	"Presentable means: you would let it be seen by your customers. Torn, stained for good, faded, out of shape, or with the print cracked or peeling does not count.",
	"Write 0 if a person has none left. Leave the cell empty if you could not look; empty is not counted as none.",
	"The column “on record” is what our records say. If the true number is higher, write the true number.",
	"Change the date if you counted on another day. Please leave the other columns as they are.",
}

// ComposeCount writes the count form to the client, with answers to its manager.
func ComposeCount(c CountForm) (Mail, error) {
	t := tongue{shop: c.Shop}
	manager := managerOf(c.Shop, c.Client)
	to := c.Client.Customer
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
	name := "count-" + clean.FileName(c.Client.Code) + "-" + c.AsOf.String()
	m := Mail{
		Kind: KindCount, ID: id("count", c.Client.Code, c.AsOf), To: []programme.Contact{to}, ReplyTo: manager,
		Subject:     fmt.Sprintf("Five minutes: which uniforms are still presentable at %s?", clientName(c.Client)),
		Attachments: []Part{{Name: name + ".xlsx", Type: typeXLSX, Data: xlsx}, {Name: name + ".csv", Type: typeCSV, Data: csv}},
	}
	return m, m.write(c.page(t, m.Subject, manager))
}

func (c *CountForm) page(t tongue, subject string, manager programme.Contact) page.Page {
	back := "next week"
	if !c.ReturnBy.IsZero() {
		back = t.day(c.ReturnBy)
	}
	shop := clean.Short(c.Shop.Name)
	p := letter(shop, subject, "Which uniforms are still presentable?")
	p.Say("%s", hello(c.Client.Customer.Name))
	p.Say("A short count tells us what your people really have, so that new pieces come in time and none too many. The attached form lists %s: %s, %s. Please fill it in and send it back by %s.",
		clientName(c.Client), people(c.people()), count(len(c.Rows), "row"), back)
	p.Add(page.Answers{List: []page.Answer{{Words: "Send the form back", To: clean.Line(manager.Email), Subject: "Count of " + clientName(c.Client), Body: "The filled form is attached.\n"}}})
	p.Aside("Opens a mail to %s; attach the filled form to it.", nameAndAddress(manager))
	p.Heading(2, "How to count")
	p.List(howToCount)
	c.sites(&p)
	p.Say("Attached: the form as a workbook (XLSX), and the same as a plain list (CSV). Either will do.")
	p.Add(regards(clean.Short(manager.Name), shop))
	return p
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
		t.Row(cmp.Or(clean.Short(site), "no site"), people(at[site]))
	}
	p.Add(t)
}

func (c *CountForm) people() int {
	seen := map[string]bool{}
	for i := range c.Rows {
		seen[c.Rows[i].Person.StaffID] = true
	}
	return len(seen)
}

// form sorts the rows as somebody walks through them: by place, name, garment.
func (c *CountForm) form(t tongue) *document.CountForm {
	rows := slices.Clone(c.Rows)
	slices.SortStableFunc(rows, func(a, b CountRow) int {
		for _, pair := range [][2]string{{a.Person.Site, b.Person.Site}, {strings.ToLower(a.Person.Name), strings.ToLower(b.Person.Name)}, {a.Person.StaffID, b.Person.StaffID}} {
			if x := strings.Compare(pair[0], pair[1]); x != 0 {
				return x
			}
		}
		return t.compare(a.SKU, b.SKU)
	})
	f := &document.CountForm{
		Head: document.NewHead(c.Shop, clientName(c.Client), c.AsOf),
		Date: c.AsOf, How: howToCount,
	}
	for _, r := range rows {
		f.Rows = append(f.Rows, document.CountRow{
			StaffID: r.Person.StaffID, Name: r.Person.Name, Site: r.Person.Site,
			Garment: r.Garment, Colour: r.Colour, Size: r.Size, What: t.what(r.SKU), OnRecord: r.OnRecord,
		})
	}
	return f
}
