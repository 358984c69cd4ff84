// Package sales lists what was delivered to customers, line by line, for an
// accounting program to read. It numbers no invoices.
package sales

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Line is pieces of one garment, colour and size that were delivered to one
// site on one day; a line without a garment is the delivery charge.
type Line struct {
	Date     programme.Date
	Site     string // empty: nobody has been given the pieces yet
	Proposal int64  // 0 = handed out from what the shop kept
	programme.SKU
	Pieces    int
	UnitPrice programme.Money
	Amount    programme.Money
	Tax       programme.Tax // no code = none
}

// Client holds what the list needs of one client.
type Client struct {
	Client    *programme.Client
	People    programme.Roster
	Proposals []reorder.Proposal
	Movements []programme.Movement
}

// Delivered lists what came to a client from one day to another, both included,
// by date, proposal, site and garment. Pieces for nobody by name are sold when
// they come where they belong to the customer; where the shop keeps them, when
// they are handed out, at the client's price. The amounts of one proposal add
// up to the pieces that came times their prices, those made again once, and its delivery charge.
func Delivered(shop *programme.Shop, c *Client, from, until programme.Date) []Line {
	b := book{shop: shop, client: c, sites: map[string]string{}}
	for i := range c.People {
		b.sites[c.People[i].StaffID] = c.People[i].Site
	}
	kept := c.Client.PoolBelongsTo == programme.OwnedByShop
	for i := range c.Proposals {
		b.proposal(&c.Proposals[i], !kept)
	}
	if kept {
		b.handedOut()
	}
	out := slices.DeleteFunc(b.lines, func(l Line) bool { return l.Date < from || l.Date > until })
	slices.SortStableFunc(out, func(x, y Line) int {
		return cmp.Or(cmp.Compare(x.Date, y.Date), cmp.Compare(x.Proposal, y.Proposal), cmp.Compare(x.Site, y.Site),
			cmp.Compare(x.String(), y.String()))
	})
	return out
}

type book struct {
	shop   *programme.Shop
	client *Client
	sites  map[string]string
	lines  []Line
}

func (b *book) add(l Line) {
	l.Amount = programme.Money(l.Pieces) * l.UnitPrice
	if !b.client.Client.TaxFree {
		l.Tax = b.shop.TaxOn(l.Garment)
	}
	b.lines = append(b.lines, l)
}

// proposal adds each arrival of a proposal: by site what people were given, the
// rest for nobody yet, and the delivery charge with the first of them.
func (b *book) proposal(p *reorder.Proposal, withRest bool) {
	type key struct {
		on programme.Date
		programme.SKU
	}
	given := map[key]map[string]int{}
	for i := range b.client.Movements {
		m := &b.client.Movements[i]
		if m.Proposal != p.Number || m.Kind != programme.Issued {
			continue
		}
		k := key{m.Date, m.SKU}
		if given[k] == nil {
			given[k] = map[string]int{}
		}
		given[k][b.sites[m.StaffID]] += m.Pieces
	}
	var first programme.Date
	for i := range p.Lines {
		l := &p.Lines[i]
		// A piece that came and is made again comes twice, and is sold once.
		unsold := l.Order - l.GivenUp
		for _, a := range l.Came {
			rest := min(a.Pieces, unsold)
			unsold -= rest
			for site, n := range given[key{a.On, l.SKU}] {
				n = min(n, rest)
				rest -= n
				b.add(Line{Date: a.On, Site: site, Proposal: p.Number, SKU: l.SKU, Pieces: n, UnitPrice: l.UnitPrice})
			}
			delete(given, key{a.On, l.SKU})
			if rest > 0 && withRest {
				b.add(Line{Date: a.On, Proposal: p.Number, SKU: l.SKU, Pieces: rest, UnitPrice: l.UnitPrice})
			}
			first = first.Earlier(a.On)
		}
	}
	if charge := b.shop.Terms.Delivery; charge > 0 && !first.IsZero() {
		b.add(Line{Date: first, Proposal: p.Number, Pieces: 1, UnitPrice: charge})
	}
}

// handedOut adds what was issued otherwise than by a proposal.
func (b *book) handedOut() {
	for i := range b.client.Movements {
		m := &b.client.Movements[i]
		if m.Kind != programme.Issued || m.Proposal != 0 || m.Assumed {
			continue
		}
		price, _ := b.client.Client.PriceOf(m.SKU.Garment, m.SKU.Size, m.Date)
		b.add(Line{Date: m.Date, Site: b.sites[m.StaffID], SKU: m.SKU, Pieces: m.Pieces, UnitPrice: price})
	}
}
