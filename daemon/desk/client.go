package desk

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// client returns the client that the address names.
func (v *visit) client() (*programme.Client, error) {
	return v.Books.Client(v.ctx(), v.r.PathValue("client"))
}

func clientAddress(code string) string { return "/client/" + code }

func (v *visit) clientsPage() error {
	clients, faults, err := v.Books.Readable(v.ctx())
	if err != nil {
		return err
	}
	p := titled("Clients")
	p.Add(page.Paragraph{Words: page.Leading("A new client", "/new-client")})
	t := page.Table{Columns: page.Columns("Client", "Who says yes"), Empty: "There is no client yet."}
	for _, c := range clients {
		t.Row(page.Leading(c.Name, clientAddress(c.Code)), c.Customer.Name)
	}
	p.Add(t)
	for _, f := range faults {
		p.Warn("The programme of %s cannot be read any more: %v", f.Client, f.Err)
	}
	return v.show(p)
}

func (v *visit) clientPage() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	p := titled(c.Name)
	p.Add(page.Facts{Pairs: []page.Fact{{Label: "Who says yes", Value: c.Customer.Name},
		{Label: "Mail", Value: c.Customer.Email}}})
	p.Add(page.Paragraph{Words: page.Leading("Somebody starts", clientAddress(c.Code)+"/start")})
	p.Add(page.Paragraph{Words: page.Leading("A count that came on paper or by telephone", countAddress(c.Code))})
	if round.WearsProtective(v.Books.Shop, c) {
		p.Add(page.Paragraph{Words: page.Leading("Protective clothing that waits for a yes", heldAddress(c.Code))})
	}
	if err := v.addOpen(&p, c); err != nil {
		return err
	}
	if err := v.addPeople(&p, c); err != nil {
		return err
	}
	if err := v.addEntries(&p, c.Code); err != nil {
		return err
	}
	return v.show(p)
}

// addOpen lists the client's proposals that are neither declined, lapsed nor received.
func (v *visit) addOpen(p *page.Page, c *programme.Client) error {
	list, err := v.Books.Store.ProposalHeads(v.ctx(), c.Code, slices.Concat(reorder.Unsettled(), reorder.OnItsWay())...)
	if err != nil || len(list) == 0 {
		return err
	}
	p.Heading(2, "Proposals")
	t := page.Table{Columns: page.Columns("Proposal", "State", "#Pieces", "Yes by", "In hands by")}
	for i := range list {
		x := &list[i]
		t.Row(page.Leading(fmt.Sprintf("Proposal %d", x.Number), proposalAddress(x.Number)), x.State.Word(), x.Pieces(),
			v.date(x.OrderBy), v.date(x.Arrives))
	}
	p.Add(t)
	return nil
}

func (v *visit) addPeople(p *page.Page, c *programme.Client) error {
	people, err := v.Books.Store.People(v.ctx(), c.Code)
	if err != nil {
		return err
	}
	slices.SortStableFunc(people, func(a, b programme.Person) int {
		return cmp.Or(cmp.Compare(match.Bare(a.Name), match.Bare(b.Name)), match.Natural(a.StaffID, b.StaffID))
	})
	there := page.Table{Columns: page.Columns("Name", "Number", "Role", "Sizes"),
		Empty: "Nobody is on the roster yet. Say who starts, or put the list that the client has into the drop folder under the name roster--" + c.Code + ".csv."}
	left := page.Table{Columns: page.Columns("Name", "Number", "Last day")}
	who := []page.Choice{{Words: "Choose"}}
	for i := range people {
		x := &people[i]
		name := page.Leading(nameOf(x), personAddress(c.Code, x.StaffID))
		if !x.End.IsZero() && x.End < v.today {
			left.Row(name, x.StaffID, v.date(x.End))
			continue
		}
		there.Row(name, x.StaffID, c.RoleName(x.Role), sizesOf(x))
		who = append(who, page.Choice{Value: x.StaffID, Words: nameOf(x)})
	}
	p.Heading(2, "People")
	p.Add(there)
	if len(who) > 1 {
		p.Heading(2, "Somebody leaves")
		p.Add(v.form("leaves", clientAddress(c.Code)+"/leave", "", []page.Block{page.Fields{List: []*page.Field{
			{Name: "person", Label: "Who", Ask: page.AskChoice, Choices: who, Needed: true},
			{Name: "on", Label: "Last day", Ask: page.AskDay, Value: v.today.String(), Needed: true},
		}}}, page.Button{Words: "Enter the last day", Main: true}))
	}
	if len(left.Rows) > 0 {
		p.Heading(2, "People who left")
		p.Add(left)
	}
	return nil
}

// leaves enters the last day of the person chosen on the client's page.
func (v *visit) leaves() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	return v.carry(clientAddress(c.Code), v.clientPage, nil, func(ctx context.Context) (told, error) {
		who := v.r.PostForm.Get("person")
		if who == "" {
			v.wrong("choose who leaves")
		}
		return entered(record.Alter(ctx, v.Books,
			record.Alteration{Client: c.Code, Person: who, LastDay: v.day("on", "Last day", v.today)}))
	})
}

// mostEntries is the number of entries that a page lists.
const mostEntries = 12

// addEntries lists the last entries, the newest with the form that takes it back.
func (v *visit) addEntries(p *page.Page, client string) error {
	list, err := v.Books.Store.Imports(v.ctx(), client, mostEntries)
	if err != nil || len(list) == 0 {
		return err
	}
	people, err := v.Books.Store.People(v.ctx(), client)
	if err != nil {
		return err
	}
	p.Heading(2, "Entered last")
	var last *store.Import
	var items []string
	for i := range list {
		in := &list[i]
		if last == nil && in.Kind == store.ByHand {
			last = in
		}
		at := in.At.In(v.Books.Zone())
		items = append(items, fmt.Sprintf("%s %s: %s", v.date(programme.DateOf(at)), at.Format("15:04"), record.Words(in, people)))
	}
	p.List(items)
	if last != nil {
		p.Add(page.Card{Level: 3, Title: page.Plain("The last entry: " + record.Words(last, people)),
			Body: []page.Block{v.undoForm(last)}})
	}
	return nil
}

func nameOf(p *programme.Person) string {
	if p.Name == "" {
		return p.StaffID
	}
	return p.Name
}

func sizesOf(p *programme.Person) string {
	var words []string
	for family, size := range p.Sizes {
		words = append(words, family+" "+size)
	}
	slices.Sort(words)
	return strings.Join(words, ", ")
}

// families returns the kinds of sizes that the garments of the roles' kits have, and those
// that are known of somebody, each with its sizes in the order of the catalogue.
func (v *visit) families(roles []programme.Role,
	known map[string]string) (names []string, choices map[string][]page.Choice) {
	asked := slices.Collect(maps.Keys(known))
	for i := range roles {
		for j := range roles[i].Kit {
			if g, ok := v.Books.Shop.Garment(roles[i].Kit[j].Garment); ok {
				asked = append(asked, g.SizeFamily)
			}
		}
	}
	choices = map[string][]page.Choice{}
	for family := range handover.Charts(v.Books.Shop) {
		if !slices.Contains(asked, family) {
			continue
		}
		names = append(names, family)
		list := []page.Choice{{Words: "not known"}}
		for i := range v.Books.Shop.Garments {
			g := &v.Books.Shop.Garments[i]
			for _, s := range g.Sizes {
				c := page.Choice{Value: s.Code, Words: s.Code}
				if g.SizeFamily == family && !slices.Contains(list, c) {
					list = append(list, c)
				}
			}
		}
		choices[family] = list
	}
	slices.Sort(names)
	return names, choices
}

// cutHint says who wears garments of a size family, where it belongs to another cut of the kit.
func (v *visit) cutHint(roles []programme.Role, family string) string {
	for i := range roles {
		for _, l := range roles[i].Kit {
			if g, ok := v.Books.Shop.Garment(l.Garment); ok && g.SizeFamily == family &&
				l.CutOf != (programme.Former{}) {
				return "for who wears " + cmp.Or(g.Name, g.Code)
			}
		}
	}
	return ""
}

// what returns garment, colour and size in words.
func (v *visit) what(k programme.SKU) string { return answer.Name(v.Books.Shop, k) }

// find looks for people by a part of their name or number.
func (v *visit) find() error {
	q := strings.TrimSpace(v.r.URL.Query().Get("q"))
	p := titled("Find a person")
	if q == "" {
		p.Say("Type a part of a name, or a staff number, above.")
		return v.show(p)
	}
	found, err := v.Books.Store.FindPeople(v.ctx(), q, mostFound)
	if err != nil {
		return err
	}
	t := page.Table{Columns: page.Columns("Name", "Number", "Client", ""),
		Empty: "Nobody has that in their name or number."}
	for _, x := range found {
		left := ""
		if !x.End.IsZero() && x.End < v.today {
			left = "left " + v.date(x.End)
		}
		t.Row(page.Leading(nameOf(&x.Person), personAddress(x.Client, x.StaffID)), x.StaffID,
			v.Books.ClientName(v.ctx(), x.Client), left)
	}
	p.Add(t)
	if len(found) == mostFound {
		p.Say("There are more; type more of the name.")
	}
	return v.show(p)
}

// mostFound is the number of people that a search lists.
const mostFound = 40
