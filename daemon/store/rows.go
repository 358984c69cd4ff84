package store

import (
	"context"
	"database/sql"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// querier runs queries; the reader pool and a transaction both do.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// scanner is one row, alone or among others.
type scanner interface{ Scan(dest ...any) error }

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

// dateOrNull writes a date for a nullable column.
func dateOrNull(d programme.Date) any {
	if d.IsZero() {
		return nil
	}
	return d.String()
}

// readDate reads a date column that may be empty.
func readDate(s sql.NullString) (programme.Date, error) {
	if !s.Valid || s.String == "" {
		return 0, nil
	}
	return programme.ParseDate(s.String)
}

// readStamp reads an instant; an empty text is the zero time.
func readStamp(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.RFC3339Nano, s)
}
