package laboratory

import (
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/counting"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Counted compares orders made without a count, after the part of one that is
// worth its minutes, and after a count of everything.
type Counted struct {
	World   string `json:"world"`
	Clients int    `json:"clients"`
	// Rows counts the rows of a client's form, Expected holds what the choice expected them to save.
	Rows     [3]float64 `json:"rows"`
	Expected float64    `json:"expected"`
	// Cost adds up what was missing (7 a piece) and left over (1) a client, in pieces;
	// Fill the share of needs met.
	Cost [3]float64 `json:"cost"`
	Fill [3]float64 `json:"fill"`
}

// minuteCost is the cost of a minute of counting, in pieces left over.
const minuteCost = 0.03

// mostCounted is as many rows as a form asks for.
const mostCounted = 25

// Count does a trial of orders three times, with the same lives.
func Count(t Trial) (Counted, error) {
	out := Counted{World: t.World.Code, Clients: t.Clients}
	var short, needed [3]float64
	for i := range t.Clients {
		for way := range out.Cost {
			c := newClient(&t.World, rand.New(rand.NewPCG(t.Seed, uint64(i))))
			c.live()
			rows, saving, err := c.countNow(way, t.Weeks)
			if err != nil {
				return out, err
			}
			out.Rows[way] += float64(rows)
			out.Expected += saving
			m, err := c.forecast(t.Weeks)
			if err != nil {
				return out, err
			}
			needs := c.ahead(t.Weeks)
			for j := range m.Lines {
				l := &m.Lines[j]
				ready := l.Owed + demand.Quantile(l.PMF, orderedTo)
				n := needs[l.SKU]
				out.Cost[way] += float64(max(0, ready-n)) + missing*float64(max(0, n-ready))
				short[way], needed[way] = short[way]+float64(max(0, n-ready)), needed[way]+float64(n)
			}
		}
	}
	n := float64(t.Clients)
	out.Expected /= n
	for way := range out.Cost {
		out.Cost[way], out.Rows[way], out.Fill[way] = out.Cost[way]/n, out.Rows[way]/n, 1-short[way]/needed[way]
	}
	return out, nil
}

// countNow counts nothing (0), what is worth it (1) or everything (2), and says
// how many rows that were, and what the choice expected to save.
func (c *client) countNow(way, weeks int) (rows int, saving float64, err error) {
	if way == 0 {
		return 0, 0, nil
	}
	chosen := map[holding]bool{}
	if way == 1 {
		if chosen, saving, err = c.worthCounting(weeks); err != nil {
			return 0, 0, err
		}
	}
	for _, p := range c.here {
		for i := range c.lines {
			if way == 2 || chosen[holding{p.id, c.sku(p, i)}] {
				c.ledger = append(c.ledger, c.row(p, i, programme.Counted, len(p.holds[i]), programme.NoReason))
				rows++
			}
		}
	}
	return rows, saving, nil
}

type holding struct {
	staff string
	sku   programme.SKU
}

// worthCounting returns the count that the program would ask for, with costs in pieces.
func (c *client) worthCounting(weeks int) (map[holding]bool, float64, error) {
	in, err := demand.Prepare(c.shop, c.terms, c.roster(), c.ledger, nil, nil, c.date())
	if err != nil {
		return nil, 0, err
	}
	m := in.Muster(weeks)
	lines := map[programme.SKU]counting.Line{}
	for i := range m.Lines {
		lines[m.Lines[i].SKU] = counting.Line{SD: m.Lines[i].SD, Short: missing, Over: 1}
	}
	doubts, sd := in.Book.Doubts(&in.History, in.Learnt)
	rows := make([]counting.Row, len(doubts))
	for i, d := range doubts {
		rows[i] = counting.Row{StaffID: d.StaffID, SKU: d.SKU, Pieces: d.Pieces, Missing: d.Missing, Noise: d.Noise,
			Slope: d.Slope}
	}
	choice := counting.Choose(rows, lines, counting.Terms{ShareSD: sd, Minute: minuteCost}, mostCounted)
	out := map[holding]bool{}
	for _, i := range choice.Rows {
		out[holding{rows[i].StaffID, rows[i].SKU}] = true
	}
	return out, choice.Saving, nil
}
