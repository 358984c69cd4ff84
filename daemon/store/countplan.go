package store

import (
	"context"

	"github.com/kitmuster/kitmuster/programme"
)

// CountPlan is a count that a round has announced to the owner.
type CountPlan struct {
	Client    string
	Announced programme.Date
	// SendOn is the first day on which its forms go out, ReturnBy when they are to be back.
	SendOn, ReturnBy programme.Date
	// Dropped plans are not sent: the owner said so.
	Dropped bool
	Asks    CountAsks
}

// CountAsks lists the rows that a count asks for and the saving expected of it.
type CountAsks struct {
	Rows []CountAsk `json:"rows"`
	// Saving is the expected saving of the order after it, less the cost of the Minutes it takes.
	Saving  programme.Money `json:"saving"`
	Minutes float64         `json:"minutes"`
	// Assumed counts are of a stock that is only assumed so far.
	Assumed bool `json:"assumed,omitempty"`
}

// CountAsk is one person's garment.
type CountAsk struct {
	StaffID string `json:"staff_id"`
	programme.SKU
}

// Came returns how many of the rows asked for were counted from its announcement to the day.
func (p *CountPlan) Came(moves []programme.Movement, day programme.Date) int {
	return len(p.Asks.Rows) - len(p.Missing(moves, day))
}

// Missing returns the rows asked for that were not counted from its announcement to the day.
func (p *CountPlan) Missing(moves []programme.Movement, day programme.Date) (out []CountAsk) {
	counted := map[CountAsk]bool{}
	for i := range moves {
		if m := &moves[i]; m.Kind == programme.Counted && m.Date >= p.Announced && m.Date <= day {
			counted[CountAsk{m.StaffID, m.SKU}] = true
		}
	}
	for _, ask := range p.Asks.Rows {
		if !counted[ask] {
			out = append(out, ask)
		}
	}
	return out
}

// Back reports whether a count of which so many rows came is back: cells that nobody
// could fill in are not waited for, the sheet of another site is.
func (p *CountPlan) Back(came int) bool { return came > 0 && 4*came >= 3*len(p.Asks.Rows) }

// LastCountPlan returns the newest count announced to a client's owner by then; ok
// is false when there is none.
func (s *Store) LastCountPlan(ctx context.Context, client string,
	then programme.Date) (p CountPlan, ok bool, err error) {
	return rowOf(s.View(ctx), "read the count of "+client, func(row scanner) (p CountPlan, err error) {
		p.Client = client
		err = row.Scan(day{&p.Announced}, day{&p.SendOn}, day{&p.ReturnBy}, &p.Dropped, inJSON{&p.Asks})
		return p, err
	},
		`SELECT n.announced, n.send_on, n.return_by, n.dropped, n.body FROM count_plan n JOIN client c ON c.id = n.client_id
		WHERE c.code = ? AND n.announced <= ? ORDER BY n.announced DESC LIMIT 1`, client, then.String())
}

// AddCountPlan records an announced count; one of that day stays as it is.
func (tx *Tx) AddCountPlan(p *CountPlan) error {
	return tx.do("record the count of "+p.Client,
		`INSERT INTO count_plan (client_id, announced, send_on, return_by, body)
		VALUES ((SELECT id FROM client WHERE code = ?), ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		p.Client, p.Announced.String(), p.SendOn.String(), p.ReturnBy.String(), inJSON{p.Asks})
}

// DropCountPlan leaves an announced count out.
func (tx *Tx) DropCountPlan(client string, announced programme.Date) error {
	return tx.do("leave the count of "+client+" out",
		`UPDATE count_plan SET dropped = 1 WHERE client_id = (SELECT id FROM client WHERE code = ?) AND announced = ?`,
		client, announced.String())
}
