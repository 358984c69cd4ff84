package study

import (
	"fmt"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// ByProposals orders what the program proposes, and says yes at once.
// Protective clothing, which the program holds for a person's yes, gets it.
func ByProposals(st *market.Study, subject *market.Subject) market.Policy {
	return Proposing(st, subject, nil)
}

// Proposing is ByProposals, and shows each proposal with the decision behind it.
func Proposing(st *market.Study, subject *market.Subject,
	seen func(*reorder.Proposal, *reorder.Decision)) market.Policy {
	return (&proposing{shop: &st.Shop, client: &subject.Client, seen: seen}).review
}

// proposing looks at a client every week, as the round of a shop does.
type proposing struct {
	shop   *programme.Shop
	client *programme.Client
	tell   func(*demand.Input) // what is known beyond the records; nil = nothing
	seen   func(*reorder.Proposal, *reorder.Decision)
	answer func(*reorder.Proposal) error // what the client wants otherwise; nil = nothing
	last   *reorder.Proposal
	number int64
	// blanks lie on the shelf; nil = none.
	blanks map[programme.SKU]int
}

func (p *proposing) review(v *market.View) market.Decision {
	order, err := p.propose(v)
	if err != nil {
		// The simulator's own programmes always resolve.
		panic(fmt.Sprintf("study: %v", err))
	}
	return market.Decision{Order: order}
}

func (p *proposing) propose(v *market.View) (map[programme.SKU]int, error) {
	people := v.Roster()
	in, err := demand.Prepare(p.shop, p.client, people, v.Ledger, nil, nil, v.AsOf)
	if err != nil {
		return nil, err
	}
	if p.tell != nil {
		p.tell(in)
	}
	ready, _ := reorder.Prepare(in)
	for i := range ready.Lines {
		l := &ready.Lines[i]
		l.Blanks = p.blanks[l.Quantity.SKU]
		l.OnHand, l.OnOrder = v.OnHand[l.Quantity.SKU], v.OnOrder[l.Quantity.SKU]
	}
	if p.last != nil {
		ready.Last = reorder.LastOf(p.last)
		ready.Last.Happened(people, v.Ledger, v.AsOf)
	}
	made, d := reorder.Propose(ready)
	order := map[programme.SKU]int{}
	for _, hold := range d.Holds {
		order[hold.SKU] += hold.Pieces
	}
	if made != nil {
		p.number++
		made.Number = p.number
		if p.answer != nil {
			if err := p.answer(made); err != nil {
				return nil, err
			}
		}
		p.last = made
		for i := range made.Lines {
			order[made.Lines[i].SKU] += made.Lines[i].Order
			if used := made.Lines[i].BlanksOnShelf; used > 0 {
				p.blanks[made.Lines[i].SKU] -= used
			}
		}
		if p.seen != nil {
			p.seen(made, &d)
		}
	}
	return order, nil
}
