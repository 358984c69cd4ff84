package study

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// ByProposals orders what the program proposes, and says yes at once.
// Protective clothing, which the program holds for a person's yes, gets it.
func ByProposals(st *simulate.Study, subject *simulate.Subject) simulate.Policy {
	return Proposing(st, subject, nil)
}

// Proposing is ByProposals, and shows each proposal with the decision behind it.
func Proposing(st *simulate.Study, subject *simulate.Subject, seen func(*reorder.Proposal, *reorder.Decision)) simulate.Policy {
	return &proposing{shop: &st.Shop, client: &subject.Client, seen: seen}
}

// proposing looks at a client every week, as the round of a shop does.
type proposing struct {
	shop   *programme.Shop
	client *programme.Client
	tell   func(*demand.Input) // what is known beyond the records; nil = nothing
	seen   func(*reorder.Proposal, *reorder.Decision)
	last   *reorder.Proposal
	number int64
	// blanks lie on the shelf; nil = none.
	blanks map[programme.SKU]int
}

// Review implements simulate.Policy.
func (p *proposing) Review(v *simulate.View) simulate.Decision {
	order, err := p.propose(v)
	if err != nil {
		// The simulator's own programmes always resolve.
		panic(fmt.Sprintf("study: %v", err))
	}
	return simulate.Decision{Order: order}
}

func (p *proposing) propose(v *simulate.View) (map[programme.SKU]int, error) {
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
