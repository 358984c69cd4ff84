package desk

import (
	"context"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"path/filepath"
	"strconv"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func jobAddress(number int64) string { return fmt.Sprintf("/job/%d", number) }

// addArrivals adds the forms for what of a proposal is handed over, delayed or spoilt, and for what must be made
// again.
func (v *visit) addArrivals(on *page.Page, p *reorder.Proposal, c *programme.Client, seen, action string) {
	if may(p, reorder.Arrive) && p.Outstanding() > 0 {
		on.Heading(2, "Pressed and handed over")
		on.Say("Write what became of each line. What is left out stays on order.")
		t := page.Table{Columns: page.Columns("Garment", "#To come", "#Handed over", "#Comes later",
			"#Spoilt at the press", "#Came wrong", "#Comes no more")}
		for i := range p.Lines {
			l := &p.Lines[i]
			n := l.Outstanding()
			if n == 0 {
				continue
			}
			ask := func(name, label string, value int) page.Text {
				return page.Asking(&page.Field{Name: name + ":" + l.String(), Label: label + ", " + v.what(l.SKU),
					Bare: true, Ask: page.AskNumber, Value: strconv.Itoa(value), Least: "0", Most: strconv.Itoa(n)})
			}
			t.Row(v.what(l.SKU), n, ask("came", "Handed over", n-reorder.PiecesLater(l.BackOrders, v.today)), ask("back", "Comes later", 0),
				ask("spoilt", "Spoilt", 0), ask("wrong", "Came wrong", 0), ask("never", "Comes no more", 0))
		}
		on.Add(v.form("arrive", action, seen, []page.Block{t, page.Fields{List: []*page.Field{
			v.dayField("On"),
			{Name: "later", Label: "What comes later comes on", Ask: page.AskDay, Least: v.today.String()},
			{Name: "kept", Label: "The old pieces stay in use",
				Hint: "else those that the new ones replace count as thrown out", Ask: page.AskTick, Value: "yes",
				Ticked: c.OldPiecesKept},
		}}}, page.Button{Words: "Enter it", Name: "do", Value: string(reorder.Arrive), Main: true}))
	}
	t := page.Table{Columns: page.Columns("Garment", "#On the shelf", "#Make again")}
	for i := range p.Pool {
		n := &p.Pool[i]
		if n.Got > 0 {
			t.Row(v.what(n.SKU), n.Got, page.Asking(&page.Field{Name: "again:" + n.String(),
				Label: "Make again of " + v.what(n.SKU), Bare: true, Ask: page.AskNumber, Value: "0", Least: "0",
				Most: strconv.Itoa(n.Got)}))
		}
	}
	if may(p, reorder.Remake) && len(t.Rows) > 0 {
		on.Heading(2, "Must be made again")
		on.Say("Pieces that came and lie on the client's shelf. What is in somebody's hands is ended on the page of the person.")
		on.Add(v.form("again", action, seen, []page.Block{t}, page.Button{Words: "Make these again", Name: "do",
			Value: string(reorder.Remake), Grave: true}))
	}
}

// deliveries reads what became of the pieces of each line.
func (v *visit) deliveries(p *reorder.Proposal) (list []reorder.Delivery) {
	later := v.day("later", "What comes later comes on", 0)
	for i := range p.Lines {
		l := &p.Lines[i]
		pieces := func(name, label string) int {
			return v.number(name+":"+l.String(), v.what(l.SKU)+", "+label, 0, 10000, 0)
		}
		d := reorder.Delivery{
			SKU: l.SKU, BackOn: later, Came: pieces("came", "handed over"), Back: pieces("back", "comes later"),
			Spoilt: pieces("spoilt", "spoilt"), Wrong: pieces("wrong", "came wrong"),
			GivenUp: pieces("never", "comes no more"),
		}
		if d.Back > 0 && later.IsZero() {
			v.wrong("say on which day what comes later comes")
		}
		if d.Came+d.Back+d.Spoilt+d.Wrong+d.GivenUp > 0 {
			list = append(list, d)
		}
	}
	if len(list) == 0 {
		v.wrong("write what became of one piece at least")
	}
	return list
}

// again reads the pieces on the client's shelf that must be made again.
func (v *visit) again(p *reorder.Proposal) (list []reorder.LineChange) {
	for i := range p.Pool {
		if n := v.number("again:"+p.Pool[i].String(), v.what(p.Pool[i].SKU), 0, 10000, 0); n > 0 {
			list = append(list, reorder.LineChange{SKU: p.Pool[i].SKU, Pieces: n})
		}
	}
	if len(list) == 0 {
		v.wrong("write how many must be made again")
	}
	return list
}

// hasPapers reports whether the proposal is accepted, ordered or received, so that there are papers for the press.
func hasPapers(p *reorder.Proposal) bool { return p.State.Coming() || p.State == reorder.Received }

// job returns what the papers for the press are made of.
func (v *visit) job(p *reorder.Proposal, c *programme.Client) (message.Job, error) {
	return answer.JobOf(v.Books.Store.View(v.ctx()), v.Books.Home, v.Books.Shop, c, p)
}

// papers composes the papers for the press of the proposal that the address names; the same proposal gives the
// same papers.
func (v *visit) papers() (p reorder.Proposal, m message.Mail, err error) {
	p, c, _, err := v.proposal()
	if err != nil {
		return p, m, err
	}
	if !hasPapers(&p) {
		return p, m, errMissing
	}
	job, err := v.job(&p, c)
	if err != nil {
		return p, m, err
	}
	m, err = message.ComposeJob(job)
	return p, m, err
}

// papersPage lists the papers.
func (v *visit) papersPage() error {
	p, m, err := v.papers()
	if err != nil {
		return err
	}
	on := titled(fmt.Sprintf("Papers of job %d", p.Number))
	var links page.Bullets
	for _, part := range m.Attachments {
		links.Items = append(links.Items, page.Leading(part.Name,
			jobAddress(p.Number)+"/paper/"+url.PathEscape(part.Name)))
	}
	on.Add(links, page.Paragraph{Words: page.Leading("Back to the job", jobAddress(p.Number))})
	return v.show(on)
}

func (v *visit) jobPage() error {
	p, c, seen, err := v.proposal()
	if err != nil {
		return err
	}
	on := titled(fmt.Sprintf("Job %d for %s", p.Number, c.Name))
	on.Add(page.Paragraph{Words: page.Plain(clean.Sentence(p.State.Word()) + ". ").And(page.Leading("The proposal",
		proposalAddress(p.Number)))})
	if !hasPapers(&p) {
		on.Say("It is not accepted, so there is nothing to press.")
		return v.show(on)
	}
	job, err := v.job(&p, c)
	if err != nil {
		return err
	}
	ticket, err := message.ShowJob(job)
	if err != nil {
		return err
	}
	on.Add(page.Form{Action: jobAddress(p.Number) + "/papers", Get: true,
		Buttons: []page.Button{{Words: "Job ticket, bag tags and packing lists", Main: true}}})
	v.addArrivals(&on, &p, c, seen, jobAddress(p.Number))
	on.Add(ticket.Blocks...)
	return v.show(on)
}

// pressed records deliveries, or pieces to be made again, from the page of the job.
func (v *visit) pressed() error {
	p, c, _, err := v.proposal()
	if err != nil {
		return err
	}
	return v.carry(jobAddress(p.Number), v.jobPage, v.proposalMark, func(ctx context.Context) (told, error) {
		a := answer.Answer{Number: p.Number, Event: reorder.Event(v.r.PostForm.Get("do")),
			OldKept: v.r.PostForm.Has("kept"), Day: v.past("On"), From: v.From, Home: v.Books.Home}
		if a.Event == reorder.Remake {
			a.Came, a.Again = true, v.again(&p)
		} else {
			a.Event, a.Deliveries = reorder.Arrive, v.deliveries(&p)
		}
		return v.give(ctx, c, &p, a)
	})
}

// paper shows one of the papers.
func (v *visit) paper() error {
	_, m, err := v.papers()
	if err != nil {
		return err
	}
	for _, part := range m.Attachments {
		if part.Name != v.r.PathValue("name") {
			continue
		}
		kind, how := mime.TypeByExtension(filepath.Ext(part.Name)), "attachment"
		if kind == "application/pdf" {
			how = "inline"
		} else {
			kind = "application/octet-stream"
		}
		v.w.Header().Set("Content-Type", kind)
		v.w.Header().Set("Content-Disposition", mime.FormatMediaType(how, map[string]string{"filename": part.Name}))
		v.w.WriteHeader(http.StatusOK)
		_, err := v.w.Write(part.Data)
		return err
	}
	return errMissing
}
