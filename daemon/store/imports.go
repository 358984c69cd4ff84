package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

const importColumns = `SELECT i.id, i.at, i.kind, coalesce(c.code, ''), i.file, i.rows_new, i.rows_same, i.note
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
}

// AddImport records a hand-over and returns its number.
func (tx *Tx) AddImport(in Import) (int64, error) {
	res, err := tx.ExecContext(tx.ctx, `INSERT INTO import (at, kind, client_id, file, rows_new, rows_same, note)
		VALUES (?, ?, (SELECT id FROM client WHERE code = ?), ?, ?, ?, ?)`,
		stamp(tx.Now), in.Kind, in.Client, in.File, in.New, in.Known, in.Note)
	if err != nil {
		return 0, fmt.Errorf("record import of %s: %w", in.File, err)
	}
	id, err := res.LastInsertId()
	if err != nil {
		return 0, err
	}
	return id, tx.TakeForm(id)
}

// SetImportCounts completes a record whose counts are known only at the end.
func (tx *Tx) SetImportCounts(id int64, added, known int) error {
	_, err := tx.ExecContext(tx.ctx, `UPDATE import SET rows_new = ?, rows_same = ? WHERE id = ?`, added, known, id)
	if err != nil {
		return fmt.Errorf("record import: %w", err)
	}
	return nil
}

// LastImport returns the newest hand-over of a kind for a client; ok is false when there was none.
func (s *Store) LastImport(ctx context.Context, kind, client string) (in Import, ok bool, err error) {
	return lastImport(ctx, s.reader, kind, client)
}

// LastImport returns the newest hand-over as the transaction sees it.
func (tx *Tx) LastImport(kind, client string) (in Import, ok bool, err error) {
	return lastImport(tx.ctx, tx, kind, client)
}

// NewestImport returns the newest hand-over for a client, of whatever kind.
func (tx *Tx) NewestImport(client string) (in Import, ok bool, err error) {
	rows, err := tx.QueryContext(tx.ctx, importColumns+`
		WHERE coalesce(c.code, '') = ? ORDER BY i.id DESC LIMIT 1`, client)
	return firstImport(rows, err)
}

// ProposalSince returns the number of a client's proposal that a round made or
// looked at after that moment; 0 when there is none.
func (tx *Tx) ProposalSince(client string, at time.Time) (int64, error) {
	var number sql.NullInt64
	err := tx.QueryRowContext(tx.ctx, `SELECT max(p.number) FROM proposal p JOIN round r ON r.id = p.round_id
		JOIN client c ON c.id = p.client_id WHERE c.code = ? AND r.at > ?`, client, stamp(at)).Scan(&number)
	if err != nil {
		return 0, fmt.Errorf("look for proposals of %s: %w", client, err)
	}
	return number.Int64, nil
}

// Imports returns a client's hand-overs, the newest first; no client gives the hand-overs of stock.
func (s *Store) Imports(ctx context.Context, client string, most int) ([]Import, error) {
	rows, err := s.reader.QueryContext(ctx, importColumns+`
		WHERE coalesce(c.code, '') = ? ORDER BY i.id DESC LIMIT ?`, client, most)
	if err != nil {
		return nil, fmt.Errorf("read imports: %w", err)
	}
	return collect(rows, scanImport)
}

// CompleteImport sets what is known of a record only at the end: what it is
// about and a note.
func (tx *Tx) CompleteImport(id int64, file, note string) error {
	if _, err := tx.ExecContext(tx.ctx, `UPDATE import SET file = ?, note = ? WHERE id = ?`, file, note, id); err != nil {
		return fmt.Errorf("record import: %w", err)
	}
	return nil
}

// RemoveImport takes back the record of a hand-over; what it brought is taken
// back by RemoveMovements, RemovePerson, PutPeople and ReplaceStock.
func (tx *Tx) RemoveImport(id int64) error {
	if err := tx.TakeForm(0); err != nil {
		return err
	}
	if _, err := tx.ExecContext(tx.ctx, `DELETE FROM import WHERE id = ?`, id); err != nil {
		return fmt.Errorf("take back import: %w", err)
	}
	return nil
}

func lastImport(ctx context.Context, q querier, kind, client string) (in Import, ok bool, err error) {
	rows, err := q.QueryContext(ctx, importColumns+`
		WHERE i.kind = ? AND coalesce(c.code, '') = ? ORDER BY i.id DESC LIMIT 1`, kind, client)
	return firstImport(rows, err)
}

func firstImport(rows *sql.Rows, err error) (in Import, ok bool, _ error) {
	if err != nil {
		return in, false, fmt.Errorf("read imports: %w", err)
	}
	list, err := collect(rows, scanImport)
	if err != nil || len(list) == 0 {
		return in, false, err
	}
	return list[0], true, nil
}

func scanImport(row scanner) (Import, error) {
	var in Import
	var at string
	var note sql.NullString
	if err := row.Scan(&in.ID, &at, &in.Kind, &in.Client, &in.File, &in.New, &in.Known, &note); err != nil {
		return in, err
	}
	in.Note = note.String
	t, err := time.Parse(time.RFC3339Nano, at)
	in.At = t
	return in, err
}

// RemoveMovements takes back the ledger rows of one hand-over and returns how many.
func (tx *Tx) RemoveMovements(client string, importID int64) (int, error) {
	res, err := tx.ExecContext(tx.ctx, `DELETE FROM movement
		WHERE client_id = (SELECT id FROM client WHERE code = ?) AND import_id = ?`, client, importID)
	if err != nil {
		return 0, fmt.Errorf("take back ledger rows of %s: %w", client, err)
	}
	n, err := res.RowsAffected()
	return int(n), err
}
