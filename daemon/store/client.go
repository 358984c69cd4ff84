package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/daemon/hint"
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
	return rowsOf(s.View(ctx), "read clients", scanClient, selectClient+` ORDER BY code`)
}

// Applied returns a text that differs whenever a programme was applied since.
func (s *Store) Applied(ctx context.Context) (mark string, err error) {
	return valueOf[string](s.View(ctx), "read clients",
		`SELECT count(*) || ' ' || coalesce(max(applied_at), '') FROM client`)
}

// Client returns one applied programme, or ErrNoClient.
func (s *Store) Client(ctx context.Context, code string) (ClientRow, error) {
	return s.View(ctx).Client(code)
}

// Client returns one applied programme, or ErrNoClient.
func (v View) Client(code string) (ClientRow, error) {
	c, ok, err := rowOf(v, "read client "+code, scanClient, selectClient+` WHERE code = ?`, code)
	if err == nil && !ok {
		err = fmt.Errorf("%w %q: %w", ErrNoClient, code, hint.Text{
			Command: "apply its programme first with 'kitmuster programme apply'", Desk: "its programme is not applied"})
	}
	return c, err
}

// PutClient stores the text of a programme, new or changed.
func (tx *Tx) PutClient(code string, text []byte) error {
	return tx.do("store programme of "+code, `INSERT INTO client (code, programme, applied_at) VALUES (?, ?, ?)
		ON CONFLICT (code) DO UPDATE SET programme = excluded.programme, applied_at = excluded.applied_at`,
		code, string(text), stamp(tx.Now))
}

const selectClient = `SELECT id, code, programme, applied_at FROM client`

func scanClient(row scanner) (c ClientRow, err error) {
	err = row.Scan(&c.ID, &c.Code, &c.Programme, instant{&c.AppliedAt})
	return c, err
}
