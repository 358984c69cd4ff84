package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// querier runs queries; the reader pool and a transaction both do.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// View reads the records: as they were committed last, or, within a Tx, as its transaction sees them.
type View struct {
	ctx context.Context
	db  querier
}

// View returns the records as they were committed last.
func (s *Store) View(ctx context.Context) View { return View{ctx, s.reader} }

// scanner is one row, alone or among others.
type scanner interface{ Scan(dest ...any) error }

// rowsOf reads every row of a query with scan. what says in an error what was to be done, as in "read orders".
func rowsOf[T any](v View, what string, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := v.db.QueryContext(v.ctx, query, args...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	all, err := collect(rows, scan)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	return all, nil
}

// rowOf reads the first row of a query with scan; ok is false where there is none.
func rowOf[T any](v View, what string, scan func(scanner) (T, error), query string,
	args ...any) (x T, ok bool, err error) {
	x, err = scan(v.db.QueryRowContext(v.ctx, query, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return *new(T), false, nil
	}
	if err != nil {
		return *new(T), false, fmt.Errorf("%s: %w", what, err)
	}
	return x, true, nil
}

// valueOf reads the one value of a query that always has a row.
func valueOf[T any](v View, what, query string, args ...any) (T, error) {
	x, ok, err := rowOf(v, what, scanValue[T], query, args...)
	if err == nil && !ok {
		err = fmt.Errorf("%s: %w", what, sql.ErrNoRows)
	}
	return x, err
}

// scanValue reads a row of one column.
func scanValue[T any](row scanner) (x T, err error) {
	err = row.Scan(&x)
	return x, err
}

// do carries out a statement. what says in an error what was to be done, as in "store order 7".
func (tx *Tx) do(what, query string, args ...any) error {
	_, err := tx.change(what, query, args...)
	return err
}

// change is do for a statement of which it matters how many rows it changed.
func (tx *Tx) change(what, query string, args ...any) (n int, err error) {
	res, err := tx.ExecContext(tx.ctx, query, args...)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", what, err)
	}
	rows, err := res.RowsAffected()
	return int(rows), err
}

// collect reads every row with scan and closes rows; it returns what the
// database said last, so that no half-read list is taken for a whole one.
func collect[T any](rows *sql.Rows, scan func(scanner) (T, error)) ([]T, error) {
	return collectOf(0, rows, scan)
}

// collectOf is collect of about n rows, for lists whose growing would leave much garbage.
func collectOf[T any](n int, rows *sql.Rows, scan func(scanner) (T, error)) (all []T, err error) {
	defer func() { _ = rows.Close() }()
	if n > 0 {
		all = make([]T, 0, n)
	}
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, rows.Err()
}

// stamp writes an instant as every table keeps it: in UTC and of one width, so
// that texts sort as times do.
func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000000000Z") }

// stampOrNull writes an instant for a nullable column.
func stampOrNull(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return stamp(t)
}

// dateOrNull writes a date for a nullable column.
func dateOrNull(d programme.Date) any {
	if d.IsZero() {
		return nil
	}
	return d.String()
}

// instant reads a column that stamp wrote; one that is empty or null is the zero time.
type instant struct{ *time.Time }

// Scan takes the driver's value.
func (i instant) Scan(src any) (err error) {
	text, err := textOf(src)
	if *i.Time = (time.Time{}); err == nil && text != "" {
		*i.Time, err = time.Parse(time.RFC3339Nano, text)
	}
	return err
}

// day reads a column that holds a date; one that is empty or null is no date.
type day struct{ *programme.Date }

// Scan takes the driver's value.
func (d day) Scan(src any) (err error) {
	text, err := textOf(src)
	if *d.Date = 0; err == nil && text != "" {
		*d.Date, err = programme.ParseDate(text)
	}
	return err
}

// inJSON is a column, or a parameter, that holds a value as JSON; to be read, it is a pointer.
type inJSON struct{ v any }

// Value writes the parameter.
func (j inJSON) Value() (driver.Value, error) {
	text, err := json.Marshal(j.v)
	return string(text), err
}

// Scan takes the driver's value.
func (j inJSON) Scan(src any) error {
	text, err := textOf(src)
	if err != nil {
		return err
	}
	return json.Unmarshal([]byte(text), j.v)
}

// textOf returns a text of the driver; null is empty.
func textOf(src any) (string, error) {
	switch v := src.(type) {
	case nil:
		return "", nil
	case string:
		return v, nil
	case []byte:
		return string(v), nil
	}
	return "", fmt.Errorf("read a text, found %T", src)
}
