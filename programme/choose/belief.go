package choose

import (
	"fmt"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// believe asks package wear what is known of one kit line of a client.
func believe(q *Question, shop *programme.Shop, client *programme.Client, role string,
	line *programme.KitLine) (*belief, error) {
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
	b.lifetimes = []weighted{{lifetime{mishap: mishap.Mean() / (weeksPerYear * pace), limit: limit}, 1}}
	b.cross(cloth, 1, true)
	for i, p := range prints {
		b.cross(p, float64(use.Class.Prints[i].Number), false)
	}
	return b, nil
}

// knowledge returns what is believed of a class: the client's own records where
// they speak, what they say on the whole where they do not, and beneath both
// the prior, which holds what the shop's other clients have taught.
func knowledge(q *Question,
	t *wear.Terms) (cloth wear.Posterior, prints []wear.Posterior, mishap wear.Gamma, err error) {
	l, known := q.taught.cloths[t.Cloth.Code]
	if cloth, err = l.believe(known, &t.Cloth, q.taught.cloth); err != nil {
		return cloth, nil, mishap, err
	}
	for i := range t.Prints {
		s := &t.Prints[i].Source
		l, known := q.taught.prints[s.Code]
		p, err := l.believe(known, s, q.taught.print)
		if err != nil {
			return cloth, nil, mishap, err
		}
		prints = append(prints, p)
	}
	mishap = t.Mishap
	if k, ok := q.Learnt[t.Class]; ok {
		mishap = k.Mishap
	}
	return cloth, prints, mishap, nil
}

// cross adds an independent cause to every distribution, for each Weibull it may follow.
func (b *belief) cross(p wear.Posterior, number float64, cloth bool) {
	nodes := p.Parameters(2, 2)
	all := make([]weighted, 0, len(b.lifetimes)*len(nodes))
	for i := range b.lifetimes {
		for _, n := range nodes {
			w := b.lifetimes[i]
			w.parts = append(slices.Clip(w.parts), newPart(n.Weibull, number, cloth))
			w.weight *= n.Weight
			all = append(all, w)
		}
	}
	b.lifetimes = all
}
