package store

import (
	"context"
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Round is one run over the clients and what it came to.
type Round struct {
	ID      int64 // its number, reserved
	AsOf    programme.Date
	Slot    string // the scheduled slot it was made for; empty when asked for by hand
	Summary []byte // JSON, written and read by the round itself
}

// AddRound records a round under its reserved number. A slot holds one round at most.
func (tx *Tx) AddRound(r Round) error {
	return tx.do(fmt.Sprintf("record round of %s", r.AsOf),
		`INSERT INTO round (id, as_of, at, slot, summary) VALUES (?, ?, ?, ?, ?)`,
		r.ID, r.AsOf.String(), stamp(tx.Now), r.Slot, string(r.Summary))
}

// LastRound returns the number of the last round on record; 0 when there is none.
func (s *Store) LastRound(ctx context.Context) (id int64, err error) {
	return valueOf[int64](s.View(ctx), "read the last round", `SELECT coalesce(max(id), 0) FROM round`)
}

const selectRound = `SELECT id, as_of, slot, summary FROM round `

// NewestRound returns the last round on record; ok is false when there is none.
func (s *Store) NewestRound(ctx context.Context) (r Round, ok bool, err error) {
	return rowOf(s.View(ctx), "read round", scanRound, selectRound+`ORDER BY id DESC LIMIT 1`)
}

// RoundOfSlot returns the round made for a slot; ok is false when there is none yet.
func (s *Store) RoundOfSlot(ctx context.Context, slot string) (r Round, ok bool, err error) {
	return rowOf(s.View(ctx), "read round", scanRound, selectRound+`WHERE slot = ?`, slot)
}

func scanRound(row scanner) (r Round, err error) {
	err = row.Scan(&r.ID, day{&r.AsOf}, &r.Slot, &r.Summary)
	return r, err
}

// SheetOrder is the transfer sheets of one kind in a round.
type SheetOrder struct {
	ID      int64
	RoundID int64
	Kind    string
	State   sheet.State
	Plan    sheet.Part
	Numbers []int64 // proposals whose transfers are on it
}

// AddSheetOrder stores planned sheets with the proposals that they serve.
func (tx *Tx) AddSheetOrder(o SheetOrder) (int64, error) {
	what := "store sheets of " + o.Kind
	id, err := valueOf[int64](tx.View, what,
		`INSERT INTO sheet_order (round_id, kind, state, plan) VALUES (?, ?, ?, ?) RETURNING id`,
		o.RoundID, o.Kind, o.State, inJSON{o.Plan})
	if err != nil {
		return 0, err
	}
	for _, n := range o.Numbers {
		if err := tx.do(what, `INSERT INTO sheet_order_proposal (sheet_order, number) VALUES (?, ?)`, id,
			n); err != nil {
			return 0, err
		}
	}
	return id, nil
}

// SheetOrdersOf returns the sheet orders that carry a proposal's transfers.
func (v View) SheetOrdersOf(number int64) ([]SheetOrder, error) {
	return rowsOf(v, fmt.Sprintf("read sheets of proposal %d", number), func(row scanner) (o SheetOrder, err error) {
		err = row.Scan(&o.ID, &o.RoundID, &o.Kind, &o.State, inJSON{&o.Plan}, inJSON{&o.Numbers})
		return o, err
	}, `SELECT o.id, o.round_id, o.kind, o.state, o.plan,
		(SELECT json_group_array(number) FROM sheet_order_proposal WHERE sheet_order = o.id)
		FROM sheet_order o JOIN sheet_order_proposal l ON l.sheet_order = o.id WHERE l.number = ?
			ORDER BY o.id`, number)
}

// MoveSheetOrder changes where a sheet order stands.
func (tx *Tx) MoveSheetOrder(id int64, state sheet.State) error {
	return tx.do(fmt.Sprintf("move sheet order %d", id), `UPDATE sheet_order SET state = ? WHERE id = ?`, state, id)
}

// LastCountForm returns the day of a client's newest count form that was sent by
// then; no date when there was none. One of a later day is from a time when the
// machine's clock was ahead.
func (s *Store) LastCountForm(ctx context.Context, client string, then programme.Date) (on programme.Date, err error) {
	_, _, err = rowOf(s.View(ctx), "read count forms of "+client, func(row scanner) (none struct{}, err error) {
		return none, row.Scan(day{&on})
	}, `SELECT max(f.sent_on) FROM count_form f JOIN client c ON c.id = f.client_id WHERE c.code = ? AND f.sent_on <= ?`, client, then.String())
	return on, err
}

// AddCountForm records that a client was sent a count form; fresh is false when
// one of that day is on record already.
func (tx *Tx) AddCountForm(client string, sentOn programme.Date) (fresh bool, err error) {
	n, err := tx.change("record count form of "+client,
		`INSERT INTO count_form (client_id, sent_on) VALUES ((SELECT id FROM client WHERE code = ?), ?)
		ON CONFLICT DO NOTHING`, client, sentOn.String())
	return n > 0, err
}
