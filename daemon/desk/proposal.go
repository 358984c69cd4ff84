package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func proposalAddress(number int64) string { return fmt.Sprintf("/proposal/%d", number) }

// proposal returns the proposal that the address names, its client, and the fingerprint of what the page shows.
func (v *visit) proposal() (p reorder.Proposal, c *programme.Client, seen string, err error) {
	n, err := strconv.ParseInt(v.r.PathValue("number"), 10, 64)
	if err != nil {
		return p, nil, "", errMissing
	}
	if p, err = v.Books.Store.Proposal(v.ctx(), n); err != nil {
		return p, nil, "", err
	}
	if seen, err = store.ProposalMark(&p); err != nil {
		return p, nil, "", err
	}
	c, err = v.Books.Client(v.ctx(), p.Client)
	return p, c, seen, err
}

// proposalMark returns the fingerprint of the proposal that the address names.
func (v *visit) proposalMark(tx *store.Tx) (string, error) {
	n, err := strconv.ParseInt(v.r.PathValue("number"), 10, 64)
	if err != nil {
		return "", errMissing
	}
	p, err := tx.Proposal(n)
	if err != nil {
		return "", err
	}
	return store.ProposalMark(&p)
}

func (v *visit) proposalPage() error {
	p, c, seen, err := v.proposal()
	if err != nil {
		return err
	}
	people, err := v.Books.Store.People(v.ctx(), p.Client)
	if err != nil {
		return err
	}
	on := titled(fmt.Sprintf("Proposal %d for %s", p.Number, c.Name))
	on.Add(page.Facts{Pairs: v.proposalFacts(&p)})
	on.Add(page.Paragraph{Words: page.Leading(c.Name,
		clientAddress(c.Code)).And(page.Plain("  ")).And(page.Leading("How the numbers came about",
		proposalAddress(p.Number)+"/why"))})
	if n := len(p.Holds); n > 0 {
		on.Add(page.Caution{Words: fmt.Sprintf("Beside this, protective clothing waits for a person's yes (%s). Its label, the maker and local rules decide on print and washes. Once somebody who may decide has looked, the answer is given on a page of its own.",
			v.holdWords(p.Holds))}, page.Paragraph{Words: page.Leading("Answer about protective clothing",
			heldAddress(p.Client))})
	}
	v.addAnswers(&on, &p, c, seen)
	if p.State.Coming() && p.State != reorder.Accepted || p.State == reorder.Received {
		v.addArrivals(&on, &p, c, seen, proposalAddress(p.Number))
	}
	v.addNamed(&on, &p, people)
	if err := v.addHistory(&on, p.Number); err != nil {
		return err
	}
	if err := v.addEntries(&on, p.Client); err != nil {
		return err
	}
	return v.show(on)
}

func (v *visit) holdWords(list []reorder.Hold) string {
	return programme.Listing(list,
		func(h reorder.Hold) string { return fmt.Sprintf("%d × %s", h.Pieces, v.what(h.SKU)) })
}

func (v *visit) proposalFacts(p *reorder.Proposal) []page.Fact {
	facts := []page.Fact{{Label: "It is", Value: p.State.Word(), Strong: true},
		{Label: "Pieces", Value: strconv.Itoa(p.Pieces()), Strong: true}}
	if p.Priced() {
		facts = append(facts, page.Fact{Label: "Price", Value: v.money(p.Price), Strong: true})
	}
	if p.State.Open() || p.State == reorder.PutOff {
		facts = append(facts, page.Fact{Label: "A yes by", Value: v.date(p.OrderBy)})
	}
	if p.State == reorder.PutOff || p.State == reorder.Declined && !p.Until.IsZero() {
		facts = append(facts, page.Fact{Label: "Until", Value: v.date(p.Until)})
	}
	if p.Because != "" {
		facts = append(facts, page.Fact{Label: "Because", Value: p.Because})
	}
	facts = append(facts, page.Fact{Label: "In hands by", Value: v.date(p.Arrives)})
	if p.State == reorder.PartReceived || p.State == reorder.Ordered {
		facts = append(facts, page.Fact{Label: "Still to come", Value: programme.NumberOf(p.Outstanding(), "piece")})
	}
	return facts
}

// may reports whether an event can happen to the proposal now.
func may(p *reorder.Proposal, e reorder.Event) bool {
	_, err := reorder.Next(p.State, e)
	return err == nil
}

// addAnswers asks what the client said, and whether it is ordered.
func (v *visit) addAnswers(on *page.Page, p *reorder.Proposal, c *programme.Client, seen string) {
	action := proposalAddress(p.Number)
	if may(p, reorder.Order) {
		on.Heading(2, "Order it")
		on.Say("Orders for all accepted proposals together are written on the page Orders. Where blanks and sheets are ordered already by another way, say so here.")
		on.Add(v.form("order", action, seen, nil, eventButton("It is ordered", reorder.Order)))
	}
	v.addYes(on, p, c, seen)
	if may(p, reorder.Wait) {
		on.Heading(2, "Not now")
		on.Add(v.form("wait", action, seen, []page.Block{page.Fields{List: []*page.Field{
			{Name: "until", Label: "Ask again on", Ask: page.AskDay, Least: v.today.Add(1).String(), Needed: true},
			v.dayField("Said on"),
		}}}, eventButton("Not now", reorder.Wait)))
	}
	no, event := "No", reorder.Decline
	if p.State == reorder.Ordered {
		no, event = "The suppliers took the order back", reorder.Cancel
	}
	if may(p, event) {
		on.Heading(2, no)
		on.Add(v.form("no", action, seen, []page.Block{page.Fields{List: []*page.Field{
			{Name: "because", Label: "Because", Ask: page.AskText, Hint: "in the client's words; may stay empty"},
			{Name: "until", Label: "Do not propose it again before", Ask: page.AskDay, Least: v.today.Add(1).String(),
				Hint: "empty: until more is missing"},
			v.dayField("Said on"),
		}}}, page.Button{Words: no, Name: "do", Value: string(event), Grave: true}))
	}
}

// addYes asks in which numbers the client wants the proposal.
func (v *visit) addYes(on *page.Page, p *reorder.Proposal, c *programme.Client, seen string) {
	var buttons []page.Button
	if may(p, reorder.Accept) {
		yes := eventButton("Yes, in these numbers", reorder.Accept)
		yes.Main = true
		buttons = append(buttons, yes)
	}
	if may(p, reorder.Change) {
		buttons = append(buttons, eventButton("Only change the numbers", reorder.Change))
	}
	if len(buttons) == 0 {
		return
	}
	body := []page.Block{v.linesToChange(p)}
	if list := v.kitChoices(c); len(list) > 1 {
		body = append(body, page.Fields{List: []*page.Field{
			{Name: "more", Label: "Something else besides", Ask: page.AskChoice, Choices: list},
			{Name: "more-size", Label: "Its size", Ask: page.AskText},
			{Name: "more-pieces", Label: "Pieces", Ask: page.AskNumber, Least: "0", Most: "10000"},
		}})
	}
	body = append(body, page.Fields{List: []*page.Field{v.dayField("Said on"),
		{Name: "note", Label: "A remark to keep", Ask: page.AskText}}})
	on.Heading(2, "What the client said")
	on.Add(v.form("yes", proposalAddress(p.Number), seen, body, buttons...))
}

// eventButton sends a form that says what happened to a proposal.
func eventButton(words string, e reorder.Event) page.Button {
	return page.Button{Words: words, Name: "do", Value: string(e)}
}

// linesToChange are the lines of a proposal with their pieces to be changed.
func (v *visit) linesToChange(p *reorder.Proposal) page.Table {
	t := page.Table{Columns: page.Columns("Garment", "#On hand", "#On order", "#Price each", "#Pieces")}
	for i := range p.Lines {
		l := &p.Lines[i]
		price := ""
		if l.UnitPrice > 0 {
			price = v.money(l.UnitPrice)
		}
		t.Row(v.what(l.SKU), l.OnHand, l.OnOrder, price, page.Asking(&page.Field{
			Name: "n:" + l.String(), Label: "Pieces of " + v.what(l.SKU), Bare: true, Ask: page.AskNumber,
			Value: strconv.Itoa(l.Order), Least: "0", Most: "10000",
		}))
	}
	return t
}

// kitChoices are the garments and colours that the client's kits have.
func (v *visit) kitChoices(c *programme.Client) []page.Choice {
	list := []page.Choice{{Words: "Nothing"}}
	for i := range c.Roles {
		for j := range c.Roles[i].Kit {
			l := &c.Roles[i].Kit[j]
			words := v.what(programme.SKU{Garment: l.Garment, Colour: l.Colour})
			if x := (page.Choice{Value: l.Garment + "/" + l.Colour, Words: words}); !slices.Contains(list, x) {
				list = append(list, x)
			}
		}
	}
	return list
}

// answer carries out what was said of the proposal of the address.
func (v *visit) answer() error {
	p, c, _, err := v.proposal()
	if err != nil {
		return err
	}
	return v.carry(proposalAddress(p.Number), v.proposalPage, v.proposalMark, func(ctx context.Context) (told, error) {
		a := answer.Answer{Number: p.Number, Event: reorder.Event(v.r.PostForm.Get("do")),
			Note: strings.TrimSpace(v.r.PostForm.Get("note")), Day: v.past("Said on"), From: v.From, Home: v.Books.Home,
			Known: v.r.PostForm.Has("known")}
		switch a.Event {
		case reorder.Accept, reorder.Change:
			var err error
			if a.Changes, err = v.changes(&p); err != nil {
				return told{}, err
			}
		case reorder.Wait:
			if a.Until = v.day("until", "Ask again on", 0); a.Until.IsZero() {
				v.wrong("name the day on which to ask again")
			}
		case reorder.Decline, reorder.Cancel:
			a.Because, a.Until = strings.TrimSpace(v.r.PostForm.Get("because")),
				v.day("until", "Do not propose it again before", 0)
		case reorder.Order:
		case reorder.Arrive:
			a.OldKept, a.Deliveries = v.r.PostForm.Has("kept"), v.deliveries(&p)
		case reorder.Remake:
			a.Came, a.Again = true, v.again(&p)
		default:
			v.wrong("press the button that says what happened")
		}
		return v.give(ctx, c, &p, a)
	})
}

// give records an answer, writes the job's papers, and tells what it changed.
func (v *visit) give(ctx context.Context, c *programme.Client, before *reorder.Proposal,
	a answer.Answer) (told, error) {
	out, err := answer.Give(ctx, v.Books.Store, v.Books.Shop, c, a, false)
	if errors.Is(err, answer.ErrAnew) {
		v.askAnew(&out)
		return told{}, err
	}
	if err != nil {
		return told{}, err
	}
	p := &out.Proposal
	notes, price := answer.Changes(v.Books.Shop, before, p)
	if price != "" {
		notes = append(notes, price)
	}
	said := told{Text: fmt.Sprintf("proposal %d is %s", p.Number, p.State.Word()), Notes: notes, Client: c.Code}
	if p.State == reorder.Accepted {
		said.Notes = append(said.Notes, fmt.Sprintf("%s, in hands by %s", programme.NumberOf(p.Pieces(), "piece"),
			v.date(p.Arrives)))
		if lasts := answer.Lasts(v.Books.Shop, p); lasts != "" {
			said.Notes = append(said.Notes, lasts)
		}
	}
	if out.Issued+out.Shelved > 0 {
		said.Notes = append(said.Notes, fmt.Sprintf("%s went to people, %d to the client's shelf",
			programme.NumberOf(out.Issued, "piece"), out.Shelved))
	}
	for _, x := range p.Coming() {
		if p.State == reorder.PartReceived {
			said.Notes = append(said.Notes, fmt.Sprintf("still to come: %d × %s, by %s", x.Pieces, v.what(x.SKU),
				v.date(x.On)))
		}
	}
	said.Notes = append(said.Notes, hint.OfDesk(out.Notices)...)
	if len(out.Papers) > 0 {
		if _, err := v.Books.WriteJob(books.JobDir(p.Number, p.Client), out.Papers); err != nil {
			said.Notes = append(said.Notes, "the papers for the press could not be written into the folder; they are on the page of the job, and in the mail to you")
		}
	}
	return said, nil
}

// askAnew shows what a yes would come to where that is not what the client was told, with a form that repeats it
// as known to the client.
func (v *visit) askAnew(out *answer.Outcome) {
	f := v.form("", v.r.URL.Path, v.r.PostForm.Get(seenName), nil,
		page.Button{Words: "They know, it counts", Main: true})
	for name, values := range v.r.PostForm {
		if name == markName || name == seenName {
			continue
		}
		for _, x := range values {
			f.Hidden = append(f.Hidden, page.Hidden{Name: name, Value: x})
		}
	}
	slices.SortFunc(f.Hidden, func(a, b page.Hidden) int { return strings.Compare(a.Name, b.Name) })
	f.Hidden = append(f.Hidden, page.Hidden{Name: "known", Value: "yes"})
	n := &page.Notice{Bad: true,
		Words: "What the client was told has changed since, so nothing is entered yet. Tell them first.", Then: &f}
	for _, x := range out.Notices {
		n.Notes = append(n.Notes, clean.Sentence(x.Desk))
	}
	v.notice = n
}

// changes reads the lines whose pieces are other than they were.
func (v *visit) changes(p *reorder.Proposal) (list []reorder.LineChange, err error) {
	for i := range p.Lines {
		l := &p.Lines[i]
		if n := v.number("n:"+l.String(), v.what(l.SKU), 0, 10000, l.Order); n != l.Order {
			list = append(list, reorder.LineChange{SKU: l.SKU, Pieces: n})
		}
	}
	more, n := v.r.PostForm.Get("more"), v.number("more-pieces", "Pieces", 0, 10000, 0)
	if more == "" && n > 0 {
		v.wrong("choose what else is wanted, or leave its pieces empty")
	}
	if more == "" {
		return list, nil
	}
	k, err := answer.FindLine(v.Books.Shop, p,
		strings.TrimRight(more+"/"+strings.TrimSpace(v.r.PostForm.Get("more-size")), "/"))
	if err != nil {
		return nil, err
	}
	return append(list, reorder.LineChange{SKU: k, Pieces: n}), nil
}

// addNamed tells who gets what.
func (v *visit) addNamed(on *page.Page, p *reorder.Proposal, people programme.Roster) {
	if len(p.Named) > 0 {
		on.Heading(2, "Who gets what")
		t := page.Table{Columns: page.Columns("Name", "Garment", "#Pieces", "#Came")}
		for i := range p.Named {
			n := &p.Named[i]
			name := page.Plain(n.StaffID)
			if x, ok := people.Find(n.StaffID); ok {
				name = page.Leading(nameOf(x), personAddress(p.Client, x.StaffID))
			}
			t.Row(name, v.what(n.SKU), n.Pieces, n.Got)
		}
		on.Add(t)
	}
	t := page.Table{Columns: page.Columns("Garment", "#For starters", "#Spare", "#Came")}
	for _, n := range p.Pool {
		if n.ForStarters+n.Spare > 0 {
			t.Row(v.what(n.SKU), n.ForStarters, n.Spare, n.Got)
		}
	}
	if len(t.Rows) > 0 {
		on.Heading(2, "For the client's shelf")
		on.Add(t)
	}
}

func (v *visit) addHistory(on *page.Page, number int64) error {
	steps, err := v.Books.Store.Steps(v.ctx(), number)
	if err != nil {
		return err
	}
	var list []string
	for _, s := range steps {
		at := s.At.In(v.Books.Zone())
		words := fmt.Sprintf("%s %s: %s", v.date(programme.DateOf(at)), at.Format("15:04"), s.To.Word())
		if s.Note != "" {
			words += " (" + s.Note + ")"
		}
		list = append(list, words)
	}
	on.Heading(2, "Its history")
	on.List(list)
	return nil
}

// whyPage shows all that is known of a proposal, and the arithmetic behind its numbers.
func (v *visit) whyPage() error {
	p, c, _, err := v.proposal()
	if err != nil {
		return err
	}
	people, err := v.Books.Store.People(v.ctx(), p.Client)
	if err != nil {
		return err
	}
	on := titled(fmt.Sprintf("How proposal %d came about", p.Number))
	on.Add(page.Paragraph{Words: page.Leading("Back to the proposal", proposalAddress(p.Number))})
	on.Add(message.Explain(v.Books.Shop, c, &p, people).Blocks...)
	return v.show(on)
}
