package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
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
	_, err := tx.ExecContext(tx.ctx, `INSERT INTO round (id, as_of, at, slot, summary) VALUES (?, ?, ?, ?, ?)`,
		r.ID, r.AsOf.String(), stamp(tx.Now), r.Slot, string(r.Summary))
	if err != nil {
		return fmt.Errorf("record round of %s: %w", r.AsOf, err)
	}
	return nil
}

// LastRound returns the number of the last round on record; 0 when there is none.
func (s *Store) LastRound(ctx context.Context) (id int64, err error) {
	if err := s.reader.QueryRowContext(ctx, `SELECT coalesce(max(id), 0) FROM round`).Scan(&id); err != nil {
		return 0, fmt.Errorf("read the last round: %w", err)
	}
	return id, nil
}

// NewestRound returns the last round on record; ok is false when there is none.
func (s *Store) NewestRound(ctx context.Context) (r Round, ok bool, err error) {
	return oneRound(s.reader.QueryRowContext(ctx, `SELECT id, as_of, slot, summary FROM round ORDER BY id DESC LIMIT 1`))
}

// RoundOfSlot returns the round made for a slot; ok is false when there is none yet.
func (s *Store) RoundOfSlot(ctx context.Context, slot string) (r Round, ok bool, err error) {
	return oneRound(s.reader.QueryRowContext(ctx, `SELECT id, as_of, slot, summary FROM round WHERE slot = ?`, slot))
}

func oneRound(row scanner) (r Round, ok bool, err error) {
	var asOf, summary string
	err = row.Scan(&r.ID, &asOf, &r.Slot, &summary)
	if errors.Is(err, sql.ErrNoRows) {
		return r, false, nil
	}
	if err != nil {
		return r, false, fmt.Errorf("read round: %w", err)
	}
	r.Summary = []byte(summary)
	r.AsOf, err = programme.ParseDate(asOf)
	return r, err == nil, err
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
	plan, err := json.Marshal(o.Plan)
	if err != nil {
		return 0, fmt.Errorf("store sheets of %s: %w", o.Kind, err)
	}
	res, err := tx.ExecContext(tx.ctx, `INSERT INTO sheet_order (round_id, kind, state, plan) VALUES (?, ?, ?, ?)`, o.RoundID, o.Kind, o.State, string(plan))
	if err != nil {
		return 0, fmt.Errorf("store sheets of %s: %w", o.Kind, err)
	}
	id, err := res.LastInsertId()
	if err != nil {
		return 0, err
	}
	for _, n := range o.Numbers {
		if _, err := tx.ExecContext(tx.ctx, `INSERT INTO sheet_order_proposal (sheet_order, number) VALUES (?, ?)`, id, n); err != nil {
			return 0, fmt.Errorf("store sheets of %s: %w", o.Kind, err)
		}
	}
	return id, nil
}

// SheetOrdersOf returns the sheet orders that carry a proposal's transfers.
func (tx *Tx) SheetOrdersOf(number int64) ([]SheetOrder, error) {
	rows, err := tx.QueryContext(tx.ctx, `SELECT o.id, o.round_id, o.kind, o.state, o.plan,
		(SELECT json_group_array(number) FROM sheet_order_proposal WHERE sheet_order = o.id)
		FROM sheet_order o JOIN sheet_order_proposal l ON l.sheet_order = o.id WHERE l.number = ? ORDER BY o.id`, number)
	if err != nil {
		return nil, fmt.Errorf("read sheets of proposal %d: %w", number, err)
	}
	return collect(rows, func(row scanner) (SheetOrder, error) {
		var o SheetOrder
		var plan, numbers string
		if err := row.Scan(&o.ID, &o.RoundID, &o.Kind, &o.State, &plan, &numbers); err != nil {
			return o, err
		}
		if err := json.Unmarshal([]byte(plan), &o.Plan); err != nil {
			return o, fmt.Errorf("read sheets of %s: %w", o.Kind, err)
		}
		return o, json.Unmarshal([]byte(numbers), &o.Numbers)
	})
}

// MoveSheetOrder changes where a sheet order stands.
func (tx *Tx) MoveSheetOrder(id int64, state sheet.State) error {
	if _, err := tx.ExecContext(tx.ctx, `UPDATE sheet_order SET state = ? WHERE id = ?`, state, id); err != nil {
		return fmt.Errorf("move sheet order %d: %w", id, err)
	}
	return nil
}

// LastCountForm returns the day of a client's newest count form that was sent by
// then; no date when there was none. One of a later day is from a time when the
// machine's clock was ahead.
func (s *Store) LastCountForm(ctx context.Context, client string, then programme.Date) (programme.Date, error) {
	var day sql.NullString
	err := s.reader.QueryRowContext(ctx, `SELECT max(f.sent_on) FROM count_form f JOIN client c ON c.id = f.client_id WHERE c.code = ? AND f.sent_on <= ?`, client, then.String()).Scan(&day)
	if err != nil {
		return 0, fmt.Errorf("read count forms of %s: %w", client, err)
	}
	return readDate(day)
}

// AddCountForm records that a client was sent a count form; fresh is false when
// one of that day is on record already.
func (tx *Tx) AddCountForm(client string, sentOn programme.Date) (fresh bool, err error) {
	res, err := tx.ExecContext(tx.ctx, `INSERT INTO count_form (client_id, sent_on) VALUES ((SELECT id FROM client WHERE code = ?), ?)
		ON CONFLICT DO NOTHING`, client, sentOn.String())
	if err != nil {
		return false, fmt.Errorf("record count form of %s: %w", client, err)
	}
	n, err := res.RowsAffected()
	return n > 0, err
}
