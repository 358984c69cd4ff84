package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"strings"

	"github.com/pressly/goose/v3"

	"github.com/kitmuster/kitmuster/migrations"
)

// ErrDamaged says that a database is damaged.
var ErrDamaged = errors.New("the database is damaged")

// Inspection is the result of a look at a database file.
type Inspection struct {
	Version int64
	Rows    map[string]int64 // by table
}

// Inspect opens a database file for reading, checks every page and counts the
// rows. The error is ErrDamaged where the file is not whole, and ErrNewer where
// this program is too old for it.
func Inspect(ctx context.Context, path string) (in Inspection, err error) {
	if _, err := os.Stat(path); err != nil {
		return in, err
	}
	db, err := openPool(path, readerOptions, 1)
	if err != nil {
		return in, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := quickCheck(ctx, db, path); err != nil {
		return in, err
	}
	if err := db.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version`).Scan(&in.Version); err != nil {
		return in, fmt.Errorf("%s is no database of this program: %w", path, err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, migrations.FS)
	if err != nil {
		return in, fmt.Errorf("read tables: %w", err)
	}
	if sources := p.ListSources(); in.Version > sources[len(sources)-1].Version {
		return in, fmt.Errorf("%w: %s is at version %d, this program knows up to %d", ErrNewer, path, in.Version,
			sources[len(sources)-1].Version)
	}
	in.Rows, err = countRows(ctx, db)
	return in, err
}

// QuickCheck reads every page of the open database.
func (s *Store) QuickCheck(ctx context.Context) error { return quickCheck(ctx, s.reader, s.Path) }

// Rows counts the rows of every table.
func (s *Store) Rows(ctx context.Context) (map[string]int64, error) { return countRows(ctx, s.reader) }

// Tidy moves what is in the write-ahead log into the database file and makes
// the log small again.
func (s *Store) Tidy(ctx context.Context) error {
	_, err := s.emptyLog(ctx)
	return err
}

// emptyLog moves the log into the database; it stays, and emptied is false, while
// somebody reads what is in it.
func (s *Store) emptyLog(ctx context.Context) (emptied bool, err error) {
	var busy, pages, moved int
	if err := s.writer.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &pages, &moved); err != nil {
		return false, fmt.Errorf("tidy the database: %w", err)
	}
	return busy == 0, nil
}

// ErrInUse says that somebody else has the database open.
var ErrInUse = errors.New("somebody else is at work on the database; try again when they are done")

// Gather moves everything that is in the write-ahead log into the database file
// at path and leaves no log, so that the file alone is the database and may get
// another name. It returns ErrInUse while somebody else has it open.
func Gather(ctx context.Context, path string) (err error) {
	db, err := openPool(path, url.Values{"mode": {"rw"}, "_busy_timeout": {"5000"}}, 1)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var mode string
	err = db.QueryRowContext(ctx, `PRAGMA journal_mode = DELETE`).Scan(&mode)
	if busy(err) {
		return fmt.Errorf("%w: %s", ErrInUse, path)
	}
	return err
}

// quickCheck reads the answer as rows: a damaged page is no error of the query.
func quickCheck(ctx context.Context, db *sql.DB, path string) error {
	says, err := rowsOf(View{ctx, db}, path, scanValue[string], `PRAGMA quick_check(5)`)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	if len(says) != 1 || says[0] != "ok" {
		lines := strings.Split(strings.TrimPrefix(strings.Join(says, "\n"), "*** in database main ***\n"), "\n")
		return fmt.Errorf("%w: %s: %s", ErrDamaged, path, strings.Join(lines, "; "))
	}
	return nil
}

func countRows(ctx context.Context, db *sql.DB) (map[string]int64, error) {
	v := View{ctx, db}
	names, err := rowsOf(v, "list tables", scanValue[string],
		`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name`)
	if err != nil {
		return nil, err
	}
	counts := make(map[string]int64, len(names))
	for _, name := range names {
		if counts[name], err = valueOf[int64](v, "count the rows of "+name,
			`SELECT count(*) FROM "`+strings.ReplaceAll(name, `"`, `""`)+`"`); err != nil {
			return nil, err
		}
	}
	return counts, nil
}
