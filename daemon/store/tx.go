package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Tx is a transaction; Now is its one moment, used by all its rows.
type Tx struct {
	*sql.Tx
	Now     time.Time
	ctx     context.Context
	inserts map[int]*sql.Stmt
}

// InTx runs f in one transaction: all of it is kept when f returns nil, and
// nothing otherwise.
func (s *Store) InTx(ctx context.Context, f func(*Tx) error) (err error) {
	sqlTx, err := s.writer.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	tx := &Tx{Tx: sqlTx, Now: s.now().UTC(), ctx: ctx, inserts: map[int]*sql.Stmt{}}
	defer func() {
		for _, stmt := range tx.inserts {
			_ = stmt.Close()
		}
		if err != nil {
			if rerr := sqlTx.Rollback(); rerr != nil && !errors.Is(rerr, sql.ErrTxDone) {
				err = errors.Join(err, rerr)
			}
		}
	}()
	if err = f(tx); err != nil {
		return err
	}
	if err = sqlTx.Commit(); err != nil {
		return fmt.Errorf("commit: %w", err)
	}
	return nil
}

// insertOf returns a prepared insert of n ledger rows at once.
func (tx *Tx) insertOf(n int) (*sql.Stmt, error) {
	if stmt, ok := tx.inserts[n]; ok {
		return stmt, nil
	}
	row := "(" + strings.TrimSuffix(strings.Repeat("?,", movementColumns), ",") + ")"
	stmt, err := tx.PrepareContext(tx.ctx, `INSERT INTO movement (client_id, seq, day, kind, staff_id, garment, colour, size, pieces, reason, ref, washes, assumed, proposal, import_id)
		VALUES `+strings.TrimSuffix(strings.Repeat(row+",", n), ","))
	if err != nil {
		return nil, err
	}
	tx.inserts[n] = stmt
	return stmt, nil
}
