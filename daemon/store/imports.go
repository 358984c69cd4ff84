package store

import (
	"context"
	"encoding/json"
	"time"
)

// What a ledger's rows are is asked of ledgers alone: it reads all rows of the client. Counts have the code 2.
const importColumns = `SELECT i.id, i.at, i.kind, coalesce(c.code, ''), i.file, i.rows_new, i.rows_same, coalesce(i.note, ''),
		CASE i.kind WHEN 'ledger' THEN coalesce((SELECT min(m.kind) = 2 FROM movement m
			WHERE m.client_id = i.client_id AND m.import_id = i.id), 0) ELSE 0 END,
		CASE i.kind WHEN 'ledger' THEN coalesce((SELECT min(m.assumed) FROM movement m
			WHERE m.client_id = i.client_id AND m.import_id = i.id), 0) ELSE 0 END
		FROM import i LEFT JOIN client c ON c.id = i.client_id`

// Import is one hand-over of rows and what came of it.
type Import struct {
	ID     int64
	At     time.Time
	Kind   string // roster, ledger, stock, record
	Client string // empty for stock
	File   string
	New    int
	Known  int
	Note   string
	// Counts says that all its ledger rows are counts, and Assumed that all are assumed from past orders.
	Counts, Assumed bool
}

// AddImport records a hand-over and returns its number.
func (tx *Tx) AddImport(in Import) (int64, error) {
	id, err := valueOf[int64](tx.View, "record import of "+in.File,
		`INSERT INTO import (at, kind, client_id, file, rows_new, rows_same, note)
		VALUES (?, ?, (SELECT id FROM client WHERE code = ?), ?, ?, ?, ?) RETURNING id`,
		stamp(tx.Now), in.Kind, in.Client, in.File, in.New, in.Known, in.Note)
	if err != nil {
		return 0, err
	}
	return id, tx.TakeForm(id)
}

// SetImportCounts completes a record whose counts are known only at the end.
func (tx *Tx) SetImportCounts(id int64, added, known int) error {
	return tx.do("record import", `UPDATE import SET rows_new = ?, rows_same = ? WHERE id = ?`, added, known, id)
}

// LastImport returns the newest hand-over of a kind for a client; ok is false when there was none.
func (s *Store) LastImport(ctx context.Context, kind, client string) (in Import, ok bool, err error) {
	return s.View(ctx).LastImport(kind, client)
}

// LastImport returns the newest hand-over as a transaction sees it.
func (v View) LastImport(kind, client string) (in Import, ok bool, err error) {
	return rowOf(v, "read imports", scanImport, importColumns+`
		WHERE i.kind = ? AND coalesce(c.code, '') = ? ORDER BY i.id DESC LIMIT 1`, kind, client)
}

// NewestImport returns the newest hand-over for a client, of whatever kind.
func (v View) NewestImport(client string) (in Import, ok bool, err error) {
	return rowOf(v, "read imports", scanImport, importColumns+`
		WHERE coalesce(c.code, '') = ? ORDER BY i.id DESC LIMIT 1`, client)
}

// ProposalSince returns the number of a client's proposal that a round made or
// looked at after that moment; 0 when there is none.
func (tx *Tx) ProposalSince(client string, at time.Time) (int64, error) {
	return valueOf[int64](tx.View, "look for proposals of "+client,
		`SELECT coalesce(max(p.number), 0) FROM proposal p JOIN round r ON r.id = p.round_id
		JOIN client c ON c.id = p.client_id WHERE c.code = ? AND r.at > ?`, client, stamp(at))
}

// Imports returns a client's hand-overs, the newest first; no client gives the hand-overs of stock.
func (s *Store) Imports(ctx context.Context, client string, most int) ([]Import, error) {
	return rowsOf(s.View(ctx), "read imports", scanImport, importColumns+`
		WHERE coalesce(c.code, '') = ? ORDER BY i.id DESC LIMIT ?`, client, most)
}

// ByHand is the kind of what is entered by hand, one thing at a time.
const ByHand = "record"

// Enter keeps what f does as one entry by hand of a client, or of none in particular. f is given the entry's
// number and returns what it is about and what is needed to take it back, which is kept as JSON.
func (tx *Tx) Enter(client string, f func(id int64) (what string, back any, err error)) error {
	id, err := tx.AddImport(Import{Kind: ByHand, Client: client, New: 1})
	if err != nil {
		return err
	}
	what, back, err := f(id)
	if err != nil {
		return err
	}
	note, err := json.Marshal(back)
	if err != nil {
		return err
	}
	return tx.do("record import", `UPDATE import SET file = ?, note = ? WHERE id = ?`, what, string(note), id)
}

// RemoveImport takes back the record of a hand-over; what it brought is taken
// back by RemoveMovements, RemovePerson, PutPeople and ReplaceStock.
func (tx *Tx) RemoveImport(id int64) error {
	if err := tx.TakeForm(0); err != nil {
		return err
	}
	return tx.do("take back import", `DELETE FROM import WHERE id = ?`, id)
}

func scanImport(row scanner) (in Import, err error) {
	err = row.Scan(&in.ID, instant{&in.At}, &in.Kind, &in.Client, &in.File, &in.New, &in.Known, &in.Note,
		&in.Counts, &in.Assumed)
	return in, err
}

// RemoveMovements takes back the ledger rows of one hand-over and returns how many.
func (tx *Tx) RemoveMovements(client string, importID int64) (int, error) {
	return tx.change("take back ledger rows of "+client, `DELETE FROM movement
		WHERE client_id = (SELECT id FROM client WHERE code = ?) AND import_id = ?`, client, importID)
}
