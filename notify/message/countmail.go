package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
)

// countView is what the client's supervisor reads.
type countView struct {
	Subject string
	Shop    string
	Hello   string
	Client  string
	Size    string
	Back    string
	How     []string
	Sites   []siteRow
	Reply   replyLink
	Manager string
	Email   string
}

type siteRow struct {
	Site   string
	People string
}

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
	v := c.view(t, manager)
	m := Mail{
		Kind: KindCount, ID: id("count", c.Client.Code, c.AsOf), Subject: v.Subject, To: []programme.Contact{to}, ReplyTo: manager,
		Attachments: []Part{{Name: name + ".xlsx", Type: typeXLSX, Data: xlsx}, {Name: name + ".csv", Type: typeCSV, Data: csv}},
	}
	m.HTML, m.Text, err = render("count", v)
	return m, err
}

func (c *CountForm) view(t tongue, manager programme.Contact) countView {
	v := countView{
		Subject: fmt.Sprintf("Five minutes: which uniforms are still presentable at %s?", clientName(c.Client)),
		Shop:    clean.Short(c.Shop.Name), Hello: hello(c.Client.Customer.Name), Client: clientName(c.Client),
		Size: fmt.Sprintf("%s, %s", count(c.people(), "person"), count(len(c.Rows), "row")), Back: t.day(c.ReturnBy),
		How: howToCount, Manager: clean.Short(manager.Name), Email: clean.Line(manager.Email),
		Reply: letter(manager.Email, fmt.Sprintf("Count of %s", clientName(c.Client)), "The filled form is attached.\n"),
	}
	v.Size = strings.Replace(v.Size, "persons", "people", 1)
	if c.ReturnBy.IsZero() {
		v.Back = "next week"
	}
	at := map[string]int{}
	seen := map[string]bool{}
	for i := range c.Rows {
		p := &c.Rows[i].Person
		if !seen[p.StaffID] {
			seen[p.StaffID] = true
			at[p.Site]++
		}
	}
	for site, n := range at {
		v.Sites = append(v.Sites, siteRow{clean.Short(site), strings.Replace(count(n, "person"), "persons", "people", 1)})
	}
	slices.SortFunc(v.Sites, func(a, b siteRow) int { return strings.Compare(a.Site, b.Site) })
	if len(v.Sites) < 2 {
		v.Sites = nil // one place needs no table
	}
	return v
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
		Head: document.Head{Shop: c.Shop.Name, Client: clientName(c.Client), Units: c.Shop.Units, AsOf: c.AsOf},
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
