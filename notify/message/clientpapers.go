package message

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// papers adds the order form, the list and the calendar entries.
func (o *offer) papers(m *Mail) error {
	name := o.name()
	if err := m.attachPDF(name+"-order-form", o.form()); err != nil {
		return err
	}
	rows := o.list(o.d)
	csv, err := document.CSV(listColumns(o.t, rows), rows)
	if err != nil {
		return err
	}
	if o.Client.ShowPrices && !o.priced {
		m.Warnings = append(m.Warnings,
			"Not every piece has a selling price in the programme, so the message shows none.")
	}
	m.Attachments = append(m.Attachments, Part{Name: name + "-list.csv", Type: typeCSV, Data: csv},
		Part{Name: name + "-dates.ics", Type: typeICS, Data: o.calendar(o.Proposal, false)})
	for _, old := range o.Replaces {
		m.Attachments = append(m.Attachments, Part{Name: id("proposal", old.Number) + "-dates-withdrawn.ics",
			Type: typeICS, Data: o.calendar(old, true)})
	}
	return nil
}

// calendar is the two dates of a proposal. A later form has the entries of the
// one before, changed; of a proposal that another takes the place of they are withdrawn.
func (r *Reorder) calendar(p *reorder.Proposal, withdrawn bool) []byte {
	what := fmt.Sprintf("proposal %d, %s", p.Number, programme.NumberOf(p.Pieces(), "piece"))
	uid := func(part string) string {
		return fmt.Sprintf("proposal-%d-%s@%s", p.Number, part, clean.FileName(r.Shop.Name))
	}
	dates := document.Dates{Shop: r.Shop.Name, Stamp: r.Proposal.AsOf, Sequence: p.Form() - 1, Withdrawn: withdrawn,
		Entries: []document.Entry{
			{UID: uid("answer"), On: p.OrderBy, What: "Last day to say yes to the uniform reorder",
				Note: "From " + clean.Short(r.Shop.Name) + ": " + what},
			{UID: uid("arrival"), On: p.Arrives, What: "Uniforms arrive, if the yes came in time",
				Note: "From " + clean.Short(r.Shop.Name) + ": " + what},
		}}
	if withdrawn {
		dates.Sequence++
	}
	return dates.Calendar()
}

// listRow is pieces for one person, or for the pool, of the attached list.
type listRow struct {
	proposal int64
	person   programme.Person
	programme.SKU
	pieces int
	why    string
	prints string // the name on the pieces
}

// listColumns returns the columns of a list; the column of names only where a piece has one.
func listColumns(t notation, rows []listRow) []document.Column[listRow] {
	list := []document.Column[listRow]{
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
	if slices.ContainsFunc(rows, func(r listRow) bool { return r.prints != "" }) {
		list = append(list, document.Column[listRow]{Heading: "print_name",
			Value: func(r listRow) string { return r.prints }})
	}
	return list
}

// list returns who gets what, a row for each person and piece, then the pool.
func (r *Reorder) list(d distribution) []listRow {
	var rows []listRow
	for _, row := range d.people {
		for _, n := range row.named {
			rows = append(rows, listRow{r.Proposal.Number, row.Person, n.SKU, n.Pieces,
				notation{shop: r.Shop, client: r.Client}.reason(r.People, &n), row.printed[n.SKU]})
		}
	}
	for _, x := range d.pool {
		rows = append(rows, listRow{r.Proposal.Number, programme.Person{}, x.SKU, x.n, noName, ""})
	}
	return rows
}

func orders(p *reorder.Proposal) []tally {
	var out []tally
	for i := range p.Lines {
		out = append(out, tally{p.Lines[i].SKU, p.Lines[i].Order})
	}
	return out
}
