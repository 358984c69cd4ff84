package choose

import (
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// believe asks package wear what is known of one kit line of a client.
func believe(q *Question, shop *programme.Shop, client *programme.Client, role string, line *programme.KitLine) (*belief, error) {
	book, err := wear.NewBook(shop, client, q.Experience)
	if err != nil {
		return nil, err
	}
	use, ok := book.Use(role, line.Garment, line.Colour)
	if !ok {
		return nil, fmt.Errorf("the kit of role %s has no %s in %s", role, line.Garment, line.Colour)
	}
	pace := use.Pace(use.Each)
	if pace <= 0 {
		return nil, fmt.Errorf("garment %s is never washed by this kit; set wears_a_week above 0", line.Garment)
	}
	cloth, prints, mishap, err := knowledge(q, use.Class)
	if err != nil {
		return nil, err
	}
	limit := math.Inf(1)
	if use.Limit > 0 {
		limit = use.Limit
	}
	b := &belief{pace: pace}
	// Mishaps end few pieces, so their mean rate stands for what is not known of it.
	b.laws = []weighted{{law{mishap: mishap.Mean() / (weeksPerYear * pace), limit: limit}, 1}}
	b.cross(cloth, 1, true)
	for i, p := range prints {
		b.cross(p, float64(use.Class.Prints[i].Number), false)
	}
	return b, nil
}

// knowledge is what the client's own records have taught of a class, or else
// the prior, which holds what the shop's other clients have taught.
func knowledge(q *Question, t *wear.Terms) (cloth wear.Posterior, prints []wear.Posterior, mishap wear.Gamma, err error) {
	if k, ok := q.Learnt[t.Class]; ok && k.Terms.Cloth.Regime == t.Cloth.Regime {
		return k.Cloth, k.Prints, k.Mishap, nil
	}
	if cloth, err = wear.Learn(t.Cloth.Prior, nil); err != nil {
		return cloth, nil, mishap, err
	}
	for i := range t.Prints {
		p, err := wear.Learn(t.Prints[i].Prior, nil)
		if err != nil {
			return cloth, nil, mishap, err
		}
		prints = append(prints, p)
	}
	return cloth, prints, t.Mishap, nil
}

// cross adds an independent cause to every law, for each Weibull it may follow.
func (b *belief) cross(p wear.Posterior, number float64, cloth bool) {
	nodes := p.Parameters(2, 2)
	all := make([]weighted, 0, len(b.laws)*len(nodes))
	for i := range b.laws {
		for _, n := range nodes {
			w := b.laws[i]
			w.parts = append(w.parts[:len(w.parts):len(w.parts)], newPart(n.Weibull, number, cloth))
			w.weight *= n.Weight
			all = append(all, w)
		}
	}
	b.laws = all
}
