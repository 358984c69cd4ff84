package message

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// ComposeJob writes the job of an accepted proposal to the owner, with the
// ticket for the press, the tags for the bags and the packing list.
func ComposeJob(j Job) (Mail, error) {
	t := notation{shop: j.Shop}
	r := Reorder{Shop: j.Shop, Client: j.Client, Proposal: j.Proposal, People: j.People}
	d, err := r.distribute(t)
	if err != nil {
		return Mail{}, fmt.Errorf("compose job %d: %w", j.Proposal.Number, err)
	}
	p := j.Proposal
	m := Mail{Kind: KindJob, ID: id("job", p.Number), To: []programme.Contact{j.Shop.Owner}, Subject: fmt.Sprintf("Job %d: %s for %s", p.Number, programme.NumberOf(p.Pieces(), "piece"), clientName(j.Client))}
	sets, notes := j.sets(t, d)
	if err := j.papers(t, &m, &r, d, sets, notes); err != nil {
		return Mail{}, fmt.Errorf("compose job %d: %w", p.Number, err)
	}
	return m, m.write(j.page(t, m.Subject, d, sets, notes))
}

// ShowJob returns the ticket in words, for the screen at the press.
func ShowJob(j Job) (page.Page, error) {
	t := notation{shop: j.Shop}
	r := Reorder{Shop: j.Shop, Client: j.Client, Proposal: j.Proposal, People: j.People}
	d, err := r.distribute(t)
	if err != nil {
		return page.Page{}, fmt.Errorf("show job %d: %w", j.Proposal.Number, err)
	}
	sets, notes := j.sets(t, d)
	var p page.Page
	j.say(&p, t, sets, notes)
	return p, nil
}

// page returns the ticket in words, for whoever reads it on a screen.
func (j *Job) page(t notation, subject string, d distribution, sets []document.PressSet, notes []string) page.Page {
	p := letter(clean.Short(j.Shop.Name), subject, subject)
	j.say(&p, t, sets, notes)
	pool := ""
	switch {
	case len(d.pool) == 0:
	case len(j.poolToSend(d)) == 0:
		pool = "; what is for nobody yet stays on our shelf"
	default:
		pool = " and one for new starters and spares"
	}
	p.Say("%s by name%s, in %s. Attached: job ticket, bag tags, a packing list for each parcel (PDF), and all of it as a list (CSV).", programme.NumberOf(len(d.people), "bag"), pool, programme.NumberOf(len(j.parcels(t, d)), "parcel"))
	return p
}

// say tells what is pressed, and how.
func (j *Job) say(p *page.Page, t notation, sets []document.PressSet, notes []string) {
	p.Add(page.Facts{Pairs: []page.Fact{
		{Label: "Pieces", Value: fmt.Sprint(j.Proposal.Pieces()), Strong: true},
		{Label: "At the press", Value: hoursWords(j.Proposal.PressHours)},
		{Label: "With the client", Value: t.day(j.Proposal.Arrives)},
	}})
	for _, n := range notes {
		p.Add(page.Caution{Words: n})
	}
	p.Heading(2, "Pieces")
	addTables(p, t.sizeTables(orders(j.Proposal)))
	p.Heading(2, "At the press")
	for i := range sets {
		s := &sets[i]
		p.Heading(3, s.Title)
		p.Say("%s", s.Placement)
		p.Add(page.Facts{Pairs: s.Settings})
		for _, c := range s.Cautions {
			p.Add(page.Caution{Words: c})
		}
	}
}

func (j *Job) papers(t notation, m *Mail, r *Reorder, d distribution, sets []document.PressSet, notes []string) error {
	p := j.Proposal
	head := document.NewHead(j.Shop, clientName(j.Client), p.AsOf)
	ref := fmt.Sprintf("proposal %d", p.Number)
	ticket := document.Ticket{
		Head: head, Title: fmt.Sprintf("Job ticket %d", p.Number), Sets: sets, Notes: notes, Ref: clean.Short(j.Shop.Name) + " · " + ref,
		Facts: []page.Fact{
			{Label: "Client", Value: clientName(j.Client)}, {Label: "Pieces", Value: fmt.Sprint(p.Pieces())},
			{Label: "With the client on", Value: t.day(p.Arrives)}, {Label: "Time at the press", Value: hoursWords(p.PressHours)},
		},
		Checks: []string{"Every garment and size counted against the tables", "Print straight, edges down, no scorch or press marks", "Bagged by person; tag on every bag"},
	}
	pdf, warnings, err := ticket.PDF()
	if err != nil {
		return err
	}
	m.Warnings = append(m.Warnings, warnings...)
	name := fmt.Sprintf("job-%d", p.Number)
	m.Attachments = append(m.Attachments, Part{Name: name + "-ticket.pdf", Type: typePDF, Data: pdf})
	lists := document.Parcels{Head: head, Ref: ref, Parcels: j.parcels(t, d)}
	if pdf, warnings, err = lists.PDF(); err != nil {
		return err
	}
	m.Warnings = append(m.Warnings, warnings...)
	m.Attachments = append(m.Attachments, Part{Name: name + "-packing-lists.pdf", Type: typePDF, Data: pdf})
	rows := r.list(d)
	csv, err := document.CSV(listColumns(t, rows), rows)
	if err != nil {
		return err
	}
	tags := document.Tags{Head: head, Sheet: labels(j.Shop.Labels, j.Shop.Units), Ref: ref, Tags: j.tags(t, d)}
	if pdf, warnings, err = tags.PDF(); err != nil {
		return err
	}
	m.Warnings = append(m.Warnings, warnings...)
	m.Attachments = append(m.Attachments, Part{Name: name + "-bag-tags.pdf", Type: typePDF, Data: pdf}, Part{Name: name + "-packing-list.csv", Type: typeCSV, Data: csv})
	return nil
}

// labels returns the shop's label sheet; a shop that states none gets two
// columns of five on plain paper, to be cut.
func labels(s programme.LabelSheet, u programme.Units) programme.LabelSheet {
	if s.Columns > 0 {
		return s
	}
	mm := programme.Millimetre
	if u.Metric() {
		return programme.LabelSheet{PageWidth: 210 * mm, PageHeight: 297 * mm, Columns: 2, Rows: 5, Width: 95 * mm, Height: 53 * mm, Left: 10 * mm, Top: 16 * mm, PitchX: 95 * mm, PitchY: 53 * mm}
	}
	in := programme.Inch
	return programme.LabelSheet{PageWidth: 8*in + in/2, PageHeight: 11 * in, Columns: 2, Rows: 5, Width: 4 * in, Height: 2 * in, Left: in / 4, Top: in / 2, PitchX: 4 * in, PitchY: 2 * in}
}

// tags returns a bag for each person and one for the pool.
func (j *Job) tags(t notation, d distribution) []document.Tag {
	var out []document.Tag
	for _, row := range d.people {
		under := []string{}
		if site := clean.Short(row.Site); site != "" {
			under = append(under, site)
		}
		if no := clean.Short(row.StaffID); !strings.HasPrefix(row.Name, "staff no. ") && !strings.HasSuffix(row.Name, "("+no+")") {
			under = append(under, "staff no. "+no)
		}
		tag := document.Tag{Name: row.Name, Under: strings.Join(under, " · ")}
		tag.Lines = row.onTag(t)
		out = append(out, tag)
	}
	if len(d.pool) == 0 {
		return out
	}
	pool := document.Tag{Name: "New starters and spares", Under: clientName(j.Client)}
	for _, x := range d.pool {
		pool.Lines = append(pool.Lines, fmt.Sprintf("%d × %s", x.n, t.what(x.SKU)))
	}
	return append(out, pool)
}
