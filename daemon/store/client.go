package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// ClientRow is one applied programme as its owner wrote it.
type ClientRow struct {
	ID        int64
	Code      string
	Programme []byte // the text of the programme file
	AppliedAt time.Time
}

// ErrNoClient says that no programme of that code has been applied.
var ErrNoClient = errors.New("no such client")

// Clients returns every applied programme, ordered by code.
func (s *Store) Clients(ctx context.Context) ([]ClientRow, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, code, programme, applied_at FROM client ORDER BY code`)
	if err != nil {
		return nil, fmt.Errorf("read clients: %w", err)
	}
	return collect(rows, scanClient)
}

// Applied returns a text that changes whenever a programme is applied.
func (s *Store) Applied(ctx context.Context) (mark string, err error) {
	if err = s.reader.QueryRowContext(ctx, `SELECT count(*) || ' ' || coalesce(max(applied_at), '') FROM client`).Scan(&mark); err != nil {
		return "", fmt.Errorf("read clients: %w", err)
	}
	return mark, nil
}

// Client returns one applied programme, or ErrNoClient.
func (s *Store) Client(ctx context.Context, code string) (ClientRow, error) {
	return clientByCode(ctx, s.reader, code)
}

// Client returns one applied programme as the transaction sees it, or ErrNoClient.
func (tx *Tx) Client(code string) (ClientRow, error) { return clientByCode(tx.ctx, tx, code) }

// PutClient stores the text of a programme, new or changed.
func (tx *Tx) PutClient(code string, text []byte) error {
	_, err := tx.ExecContext(tx.ctx, `INSERT INTO client (code, programme, applied_at) VALUES (?, ?, ?)
		ON CONFLICT (code) DO UPDATE SET programme = excluded.programme, applied_at = excluded.applied_at`,
		code, string(text), stamp(tx.Now))
	if err != nil {
		return fmt.Errorf("store programme of %s: %w", code, err)
	}
	return nil
}

func clientByCode(ctx context.Context, q querier, code string) (ClientRow, error) {
	row := q.QueryRowContext(ctx, `SELECT id, code, programme, applied_at FROM client WHERE code = ?`, code)
	c, err := scanClient(row)
	if errors.Is(err, sql.ErrNoRows) {
		return c, fmt.Errorf("%w %q: apply its programme first with 'kitmuster programme apply'", ErrNoClient, code)
	}
	if err != nil {
		return c, fmt.Errorf("read client %s: %w", code, err)
	}
	return c, nil
}

func scanClient(row scanner) (ClientRow, error) {
	var c ClientRow
	var text, at string
	if err := row.Scan(&c.ID, &c.Code, &text, &at); err != nil {
		return c, err
	}
	t, err := time.Parse(time.RFC3339Nano, at)
	c.Programme, c.AppliedAt = []byte(text), t
	return c, err
}
