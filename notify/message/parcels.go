package message

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// parcels returns a parcel for each site. What nobody is named for goes into the customer's, unless the shop keeps
// it.
func (j *Job) parcels(t notation, d distribution) []document.Parcel {
	type parcel struct {
		site   string
		people []personRow
		pool   []tally
	}
	var list []*parcel
	at := map[string]*parcel{}
	for _, row := range d.people {
		key := match.Plain(row.Site)
		if at[key] == nil {
			at[key] = &parcel{site: clean.Short(row.Site)}
			list = append(list, at[key])
		}
		at[key].people = append(at[key].people, row)
	}
	if pool := j.poolToSend(d); len(pool) > 0 {
		to := at[""]
		switch {
		case to == nil && len(list) == 1:
			to = list[0] // one place is where the customer is
		case to == nil:
			to = &parcel{}
			list = append(list, to)
		}
		to.pool = pool
	}
	out := make([]document.Parcel, len(list))
	for i, p := range list {
		out[i] = j.parcel(t, p.site, p.people, p.pool)
	}
	return out
}

// poolToSend is the pieces that nobody is named for and that go to the customer.
func (j *Job) poolToSend(d distribution) []tally {
	if j.Client.PoolBelongsTo == programme.OwnedByShop {
		return nil
	}
	return d.pool
}

func (j *Job) parcel(t notation, site string, people []personRow, pool []tally) document.Parcel {
	c := j.Client
	address, who := clean.Line(c.Address), c.Customer
	for _, s := range c.Sites {
		if site != "" && match.Plain(s.Name) == match.Plain(site) && s.Address != "" {
			address = clean.Line(s.Address)
		}
	}
	for _, k := range c.Contacts {
		if site != "" && match.Plain(k.Site) == match.Plain(site) {
			who = k.Contact
		}
	}
	table := page.Table{Columns: []page.Column{{Head: "Name", Share: 0.3}, {Head: "Role", Share: 0.18},
		{Head: "Pieces"}, {Head: "Packed", Share: 0.1}}}
	n := 0
	for i := range people {
		row := &people[i]
		lines := row.onTag(t)
		table.Row(row.Name, row.RoleName, strings.Join(lines, "\n"), boxes(len(lines)))
		n += row.count()
	}
	var spare []string
	for _, x := range pool {
		spare = append(spare, fmt.Sprintf("%d × %s", x.n, t.what(x.SKU)))
		n += x.n
	}
	if len(spare) > 0 {
		table.Row(clean.Sentence(noName), "", strings.Join(spare, "\n"), boxes(len(spare)))
	}
	table.Sum("Together", "", programme.NumberOf(n, "piece"), "")
	to := clientName(c)
	if site != "" {
		to += ", " + site
	}
	facts := []page.Fact{
		{Label: "To", Value: to}, {Label: "For the attention of", Value: nameAndAddress(who)},
		{Label: "Pieces", Value: fmt.Sprint(n)}, {Label: "There on", Value: t.day(j.Proposal.Arrives)},
	}
	if c.OrderNumber != "" {
		facts = append(facts, page.Fact{Label: "Your order number", Value: clean.Short(c.OrderNumber)})
	}
	return document.Parcel{Facts: facts, Address: address, Table: table}
}

// boxes are boxes to tick, one below the other.
func boxes(n int) string { return strings.TrimSuffix(strings.Repeat("□\n", n), "\n") }
