package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/mattn/go-sqlite3"
)

// Tx is a transaction; Now is its one moment, used by all its rows.
type Tx struct {
	*sql.Tx
	View
	Now     time.Time
	inserts map[int]*sql.Stmt
	// formTaken says that the form of ctx is noted, see TakeForm.
	formTaken bool
}

// InTx runs f in one transaction: all of it is kept when f returns nil, and
// nothing otherwise.
func (s *Store) InTx(ctx context.Context, f func(*Tx) error) (err error) {
	sqlTx, err := s.begin(ctx)
	if err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	tx := &Tx{Tx: sqlTx, View: View{ctx, sqlTx}, Now: s.now().UTC(), inserts: map[int]*sql.Stmt{}}
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

// errTried ends the transaction of what was only tried.
var errTried = errors.New("only tried")

// Trial is InTx that, with try, keeps nothing even where f returns nil.
func (s *Store) Trial(ctx context.Context, try bool, f func(*Tx) error) error {
	err := s.InTx(ctx, func(tx *Tx) error {
		if err := f(tx); err != nil || !try {
			return err
		}
		return errTried
	})
	if errors.Is(err, errTried) {
		return nil
	}
	return err
}

// begin waits for the transactions of others as long as the store's patience
// lasts. SQLite hands a lock to whoever asks at the right moment, not to whoever
// has waited longest, so among many one can be unlucky for long.
func (s *Store) begin(ctx context.Context) (tx *sql.Tx, err error) {
	for range s.tries {
		if tx, err = s.writer.BeginTx(ctx, nil); !busy(err) || ctx.Err() != nil {
			return tx, err
		}
	}
	return tx, fmt.Errorf("others have been writing to the database all the while: %w", err)
}

// busy reports whether the database was locked by somebody else.
func busy(err error) bool {
	e, ok := errors.AsType[sqlite3.Error](err)
	return ok && (e.Code == sqlite3.ErrBusy || e.Code == sqlite3.ErrLocked)
}

// insertOf returns a prepared insert of n ledger rows at once. Half the time of
// a large import goes into handing over values one by one, so those that are
// the same for all rows (client and import, ?1 and ?2) are handed over once,
// and those that most ledgers leave at their defaults not at all.
func (tx *Tx) insertOf(n int, whole bool) (*sql.Stmt, error) {
	key := n
	columns, values := "client_id, import_id, seq, day, kind, staff_id, garment, colour, size, pieces, reason, ref",
		plainColumns
	if whole {
		key, columns, values = -n, columns+", washes, assumed, proposal, old_kept", wholeColumns
	}
	if stmt, ok := tx.inserts[key]; ok {
		return stmt, nil
	}
	var q strings.Builder
	q.WriteString("INSERT INTO movement (" + columns + ") VALUES ")
	for i := range n {
		q.WriteString(strings.Repeat(",", min(i, 1)) + "(?1, ?2")
		for j := range values {
			fmt.Fprintf(&q, ", ?%d", 3+i*values+j)
		}
		q.WriteString(")")
	}
	stmt, err := tx.PrepareContext(tx.ctx, q.String())
	if err != nil {
		return nil, err
	}
	tx.inserts[key] = stmt
	return stmt, nil
}

// IsTrouble reports an error of the database or its disk, which is nobody's input.
func IsTrouble(err error) bool {
	_, ok := errors.AsType[sqlite3.Error](err)
	return ok
}
