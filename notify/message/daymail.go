package message

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// howToKeep explains the day sheet; it stands in the mail and in the workbook.
var howToKeep = []string{
	"One row is one person and one garment. Write into the yellow columns how many pieces it happened to this week, and leave all else empty.",
	"Worn out: the cloth is done. Print gone: the print is cracked, faded or off. Torn: torn, burnt, or stained past use. Lost: nobody knows where it is.",
	"Back: handed back in good order, by somebody who leaves or whom it no longer fits. Handed out: given to the person new.",
	"Somebody or something is missing? Write it into the empty rows at the foot. Of somebody new on the staff write the role as well, and the size.",
	"The numbers are sums of the week. You may send the same sheet as often as you like: what is in already is not counted again.",
	"The number in the last column tells people of one name apart; leave it as it is. If somebody new has the name of another, write new there.",
}

// DaySheet is the sheet of a week for whoever keeps a client's records.
type DaySheet struct {
	Shop   *programme.Shop
	Client *programme.Client
	Week   programme.Date // its first day
	Rows   []CountRow
	// ReturnTo is the address for the filled sheet, RosterTo for a list of staff; nothing = to the manager.
	ReturnTo, RosterTo ReturnTo
}

// To are those who get it: the addresses of the programme, else the client's manager.
func (d *DaySheet) to() []programme.Contact {
	var out []programme.Contact
	for _, e := range d.Client.ByMail.DaySheets {
		out = append(out, programme.Contact{Name: d.nameOf(e), Email: e})
	}
	if len(out) == 0 {
		out = append(out, managerOf(d.Shop, d.Client))
	}
	return out
}

// nameOf finds the name of an address among the programme's contacts.
func (d *DaySheet) nameOf(email string) string {
	all := []programme.Contact{d.Client.Customer, d.Client.Approver}
	for i := range d.Client.Contacts {
		all = append(all, d.Client.Contacts[i].Contact)
	}
	for _, c := range all {
		if strings.EqualFold(c.Email, email) {
			return c.Name
		}
	}
	return ""
}

// File is the name of the workbook; the drop folder knows it by it.
func (d *DaySheet) File() string {
	return "day-sheet--" + clean.FileName(d.Client.Code) + "--" + d.Week.String() + ".xlsx"
}

// Workbook is the sheet itself.
func (d *DaySheet) Workbook() ([]byte, error) {
	b, err := d.sheet(notation{shop: d.Shop}).XLSX()
	if err != nil {
		return nil, fmt.Errorf("make the day sheet of %s: %w", d.Client.Code, err)
	}
	return b, nil
}

// DaySubject is the subject of the mail with the sheet of a week, which no other mail has.
func DaySubject(shop *programme.Shop, client *programme.Client, week programme.Date) string {
	t := notation{shop: shop}
	return fmt.Sprintf("Day sheet of %s, %s to %s", clientName(client), t.day(week), t.day(week.Add(6)))
}

// ComposeDaySheet writes the mail that carries the sheet.
func ComposeDaySheet(d DaySheet) (Mail, error) {
	t := notation{shop: d.Shop}
	book, err := d.Workbook()
	if err != nil {
		return Mail{}, err
	}
	m := Mail{
		Kind: KindDaySheet, ID: id("day-sheet", d.Client.Code, d.Week), To: d.to(),
		ReplyTo:     managerOf(d.Shop, d.Client),
		Subject:     DaySubject(d.Shop, d.Client, d.Week),
		Attachments: []Part{{Name: d.File(), Type: typeXLSX, Data: book}},
	}
	if d.ReturnTo.Address != "" {
		m.ReplyTo = programme.Contact{Name: d.Shop.Name, Email: d.ReturnTo.Address}
	}
	return m, m.write(d.page(t, m.Subject))
}

func (d *DaySheet) page(t notation, subject string) page.Page {
	manager, shop := managerOf(d.Shop, d.Client), clean.Short(d.Shop.Name)
	p := letter(shop, subject, "What happens to the uniforms this week?")
	to := d.to()
	name := ""
	if len(to) == 1 {
		name = to[0].Name
	}
	p.Say("%s", hello(name))
	p.Say("The attached sheet is for the week from %s to %s at %s: %s, a row for each person and garment. Print it and hang it up, or keep it open on a screen; write a number whenever a piece ends or is handed out, and send it back when the week is over. What is entered is replaced before anybody has to ask.",
		t.day(d.Week), t.day(d.Week.Add(6)), clientName(d.Client), programme.NumberOf(people(d.Rows), "person"))
	p.Add(page.Answers{Links: "Each opens a mail; attach the file to it.", List: []page.Answer{
		d.ReturnTo.answer("Send the sheet back", "Day sheet of "+clientName(d.Client), manager, "the filled day sheet",
			"The filled day sheet is attached.\n"),
		d.RosterTo.answer("Send a list of staff", "Staff of "+clientName(d.Client), manager, "the list of your staff",
			"The list of our staff is attached.\n"),
	}})
	p.Aside("Starters, leavers and changed sizes are best told by a list of staff.")
	p.Heading(2, "How to fill it in")
	p.List(howToKeep)
	p.Say("Nothing happened? Then nothing need come back.")
	p.Add(regards(clean.Short(manager.Name), shop))
	return p
}

// sheet sorts the rows as people are looked up: by site and name.
func (d *DaySheet) sheet(t notation) *document.DaySheet {
	rows := slices.Clone(d.Rows)
	slices.SortStableFunc(rows, func(a, b CountRow) int {
		return cmp.Or(
			cmp.Compare(strings.ToLower(a.Person.Site), strings.ToLower(b.Person.Site)),
			cmp.Compare(strings.ToLower(a.Person.Name), strings.ToLower(b.Person.Name)),
			cmp.Compare(a.Person.StaffID, b.Person.StaffID), t.compare(a.SKU, b.SKU))
	})
	f := &document.DaySheet{
		Head: document.NewHead(d.Shop, clientName(d.Client), d.Week),
		Week: d.Week, Day: t.day, How: howToKeep,
	}
	for _, r := range rows {
		f.Rows = append(f.Rows, document.DayRow{
			Site: r.Person.Site, Name: r.Person.Name, Role: d.Client.RoleName(r.Person.Role),
			Garment: t.garment(r.Garment), Colour: r.Colour, Size: r.Size,
			OnRecord: r.OnRecord, StaffID: r.Person.StaffID,
		})
	}
	return f
}

// DayRows are the rows of a client's sheet of a week: what each person there holds,
// by holds, and what the kit says besides; of leavers, for so long as they are asked for
// it, what they still hold.
func DayRows(shop *programme.Shop, client *programme.Client, people []programme.Person,
	holds map[string]map[programme.SKU]int, week programme.Date) []CountRow {
	sizes := ledger.NewCatalogue(shop.Garments)
	var out []CountRow
	for i := range people {
		p := &people[i]
		there := p.Start <= week.Add(6) && (p.End.IsZero() || p.End >= week)
		if p.Start > week.Add(6) || !there && p.End < week.Add(-backFromLeavers) {
			continue
		}
		held := holds[p.StaffID]
		row := map[programme.SKU]bool{}
		for k, n := range held {
			if n > 0 {
				row[k] = true
			}
		}
		if role, ok := client.Role(p.Role); ok && there {
			for _, k := range role.For(shop, p).Kit {
				if k.From > week.Add(6) || !k.Until.IsZero() && k.Until < week {
					continue
				}
				if sku, wrong := sizes.Find(k.Garment, k.Colour, p.Sizes[sizes.Family(k.Garment)]); wrong == nil {
					row[sku] = true
				} else if !holdsAny(held, k.Garment, k.Colour) {
					row[programme.SKU{Garment: k.Garment, Colour: k.Colour}] = true // the size is to be written in
				}
			}
		}
		for k := range row {
			out = append(out, CountRow{Person: *p, SKU: k, OnRecord: held[k]})
		}
	}
	slices.SortFunc(out, func(a, b CountRow) int {
		return cmp.Or(cmp.Compare(a.Person.StaffID, b.Person.StaffID), cmp.Compare(a.String(), b.String()))
	})
	return out
}

// backFromLeavers is for how many days after the last one a leaver's pieces stand on
// the sheet (common practice, no source).
const backFromLeavers = 35

func holdsAny(held map[programme.SKU]int, garment, colour string) bool {
	for k, n := range held {
		if n > 0 && k.Garment == garment && k.Colour == colour {
			return true
		}
	}
	return false
}
