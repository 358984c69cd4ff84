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
	m := Mail{Kind: KindJob, ID: id("job", p.Number), To: []programme.Contact{j.Shop.Owner},
		Subject: fmt.Sprintf("Job %d: %s for %s", p.Number, programme.NumberOf(p.Pieces(), "piece"),
			clientName(j.Client))}
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
		pool = "; " + noName + " stay on our shelf"
	default:
		pool = " and one for " + noName
	}
	p.Say("%s by name%s, in %s. Attached: job ticket, bag tags, a packing list for each parcel (PDF), and all of it as a list (CSV).",
		programme.NumberOf(len(d.people), "bag"), pool, programme.NumberOf(len(j.parcels(t, d)), "parcel"))
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
		Head: head, Title: fmt.Sprintf("Job ticket %d", p.Number), Sets: sets, Notes: notes,
		Ref: clean.Short(j.Shop.Name) + " · " + ref,
		Facts: []page.Fact{
			{Label: "Client", Value: clientName(j.Client)}, {Label: "Pieces", Value: fmt.Sprint(p.Pieces())},
			{Label: "With the client on", Value: t.day(p.Arrives)},
			{Label: "Time at the press", Value: hoursWords(p.PressHours)},
		},
		Checks: []string{"Every garment and size counted against the tables",
			"Print straight, edges down, no scorch or press marks", "Bagged by person; tag on every bag"},
	}
	name := fmt.Sprintf("job-%d", p.Number)
	if err := m.attachPDF(name+"-ticket", &ticket); err != nil {
		return err
	}
	if err := m.attachPDF(name+"-packing-lists",
		&document.Parcels{Head: head, Ref: ref, Parcels: j.parcels(t, d)}); err != nil {
		return err
	}
	if err := m.attachPDF(name+"-bag-tags", &document.Tags{Head: head, Sheet: j.Shop.Labels, Ref: ref,
		Tags: j.tags(t, d)}); err != nil {
		return err
	}
	rows := r.list(d)
	csv, err := document.CSV(listColumns(t, rows), rows)
	m.Attachments = append(m.Attachments, Part{Name: name + "-packing-list.csv", Type: typeCSV, Data: csv})
	return err
}

// tags returns a bag for each person and one for the pool.
func (j *Job) tags(t notation, d distribution) []document.Tag {
	var out []document.Tag
	for _, row := range d.people {
		under := []string{}
		if site := clean.Short(row.Site); site != "" {
			under = append(under, site)
		}
		if no := clean.Short(row.StaffID); !strings.HasPrefix(row.Name, "staff no. ") &&
			!strings.HasSuffix(row.Name, "("+no+")") {
			under = append(under, "staff no. "+no)
		}
		tag := document.Tag{Name: row.Name, Under: strings.Join(under, " · ")}
		tag.Lines = row.onTag(t)
		out = append(out, tag)
	}
	if len(d.pool) == 0 {
		return out
	}
	pool := document.Tag{Name: clean.Sentence(noName), Under: clientName(j.Client)}
	for _, x := range d.pool {
		pool.Lines = append(pool.Lines, fmt.Sprintf("%d × %s", x.n, t.what(x.SKU)))
	}
	return append(out, pool)
}
