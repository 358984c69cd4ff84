// Package store keeps the shop's records in SQLite. It is the only package that
// says SELECT. Writing goes through InTx; reading has a pool of its own, so a
// long read never waits for a write.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	_ "github.com/mattn/go-sqlite3" // the driver
	"github.com/pressly/goose/v3"

	"github.com/kitmuster/kitmuster/migrations"
)

// Options holds the settings with which a store is opened.
type Options struct {
	// BackupDir receives a copy of the database before a migration; empty = beside the database.
	BackupDir string
	// MustExist is set where a missing database is a loss and not a beginning:
	// Open then returns ErrMissing and makes none.
	MustExist bool
	// Patience is the longest a transaction waits for the transactions of other processes, in
	// steps of five seconds; 0 = one step, for callers that try again themselves.
	Patience time.Duration
	// Now is the clock; nil = time.Now.
	Now func() time.Time
}

// Store is an open database.
type Store struct {
	Path   string
	file   os.FileInfo // of the database as it was opened
	writer *sql.DB
	reader *sql.DB
	now    func() time.Time
	tries  int // of beginning a transaction, busyStep each
}

// ErrNewer says that the database was written by a newer program.
var ErrNewer = errors.New("the database is newer than this program")

// ErrMissing says that there is no database where one must be.
var ErrMissing = errors.New("there is no database")

// ErrMoved says that the database is not the file any more that was opened.
var ErrMoved = errors.New("the database was removed or replaced while it was in use")

// Open opens the database at path, makes it when there is none and none must
// be, and brings its tables up to date; an existing one is copied to BackupDir
// first.
func Open(ctx context.Context, path string, opt Options) (*Store, error) {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	dir := filepath.Dir(path)
	if st, err := os.Stat(dir); err != nil || !st.IsDir() {
		return nil, fmt.Errorf("the folder %s for the database does not exist; make it or name another", dir)
	}
	file, err := ownFile(path, opt.MustExist)
	if err != nil {
		return nil, err
	}
	writer, err := openPool(path, writerOptions, 1)
	if err != nil {
		return nil, err
	}
	s := &Store{Path: path, file: file, writer: writer, now: opt.Now, tries: 1 + int(opt.Patience/busyStep)}
	// One at a time: what several processes migrate at once fails for all but one.
	err = Alone(ctx, dir, func() error { return s.prepare(ctx, opt) })
	if err != nil {
		return nil, errors.Join(err, writer.Close())
	}
	if s.reader, err = openPool(path, readerOptions, 4); err != nil {
		return nil, errors.Join(err, writer.Close())
	}
	return s, nil
}

// ownFile makes the database's file for its owner alone; SQLite gives its own
// files beside it the same mode.
func ownFile(path string, mustExist bool) (os.FileInfo, error) {
	flags := os.O_RDWR
	if !mustExist {
		flags |= os.O_CREATE
	}
	f, err := os.OpenFile(path, flags, 0o600)
	if errors.Is(err, fs.ErrNotExist) && mustExist {
		return nil, fmt.Errorf("%w: %s", ErrMissing, path)
	}
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return nil, fmt.Errorf("the database %s may not be written to; check whose file and folder it is: %w", path,
			err)
	}
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return nil, fmt.Errorf("the disk of %s is full; make room and start again: %w", path, err)
	}
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", path, err)
	}
	info, err := f.Stat()
	return info, errors.Join(err, f.Close())
}

// InPlace returns ErrMoved when the file at Path is another one than the open
// one, or gone: what is written would be lost.
func (s *Store) InPlace() error {
	if now, err := os.Stat(s.Path); err != nil || !os.SameFile(now, s.file) {
		return fmt.Errorf("%w: %s", ErrMoved, s.Path)
	}
	return nil
}

// Close closes both pools.
func (s *Store) Close() error { return errors.Join(s.reader.Close(), s.writer.Close()) }

// busyStep is the time for which SQLite itself waits for a lock; it cannot be told to stop meanwhile.
const busyStep = 5 * time.Second

var (
	// The pools hand a connection to one goroutine at a time, and the driver locks each statement besides, so SQLite's
	// own lock around every value that is read would be a third one.
	// Secure delete overwrites what is deleted: names that are forgotten must not
	// stand on in free pages of the file.
	writerOptions = url.Values{"_mutex": {"no"}, "_secure_delete": {"on"}, "_journal_mode": {"WAL"},
		"_synchronous": {"FULL"}, "_busy_timeout": {"5000"}, "_foreign_keys": {"on"}, "_txlock": {"immediate"}}
	readerOptions = url.Values{"_mutex": {"no"}, "mode": {"ro"}, "_query_only": {"on"}, "_busy_timeout": {"5000"}}
)

func openPool(path string, options url.Values, connections int) (*sql.DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", path, err)
	}
	// As an URI, C:\shop\kitmuster.db is file:///C:/shop/kitmuster.db.
	path = filepath.ToSlash(abs)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	dsn := url.URL{Scheme: "file", Path: path, RawQuery: options.Encode()}
	db, err := sql.Open("sqlite3", dsn.String())
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", path, err)
	}
	db.SetMaxOpenConns(connections)
	return db, nil
}

// prepare checks the settings that the driver ignores in silence when they are
// misspelt, then migrates.
func (s *Store) prepare(ctx context.Context, opt Options) error {
	for _, p := range []struct{ name, want string }{{"journal_mode", "wal"}, {"synchronous", "2"},
		{"foreign_keys", "1"}, {"secure_delete", "1"}} {
		var got string
		if err := s.writer.QueryRowContext(ctx, "PRAGMA "+p.name).Scan(&got); err != nil {
			return s.openError(err)
		}
		if got != p.want {
			return fmt.Errorf("open database %s: %s is %s where %s is needed", s.Path, p.name, got, p.want)
		}
	}
	return s.migrate(ctx, opt)
}

func (s *Store) openError(err error) error {
	if strings.Contains(err.Error(), "requires cgo") {
		return errors.New("this program was built without a C compiler, which its database needs; install one (Debian: apt-get install gcc libc6-dev) and build again with CGO_ENABLED=1")
	}
	return fmt.Errorf("open database %s: %w", s.Path, err)
}

func (s *Store) migrate(ctx context.Context, opt Options) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, s.writer, migrations.FS)
	if err != nil {
		return fmt.Errorf("prepare tables: %w", err)
	}
	current, target, err := p.GetVersions(ctx)
	if err != nil {
		return s.openError(err)
	}
	if current > target {
		return fmt.Errorf("%w: %s is at version %d, this program knows up to %d; use the newer program", ErrNewer,
			s.Path, current, target)
	}
	if current > 0 && current < target {
		if err := s.backupBefore(ctx, opt, current); err != nil {
			return err
		}
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the tables of %s up to date: %w", s.Path, err)
	}
	return nil
}

func (s *Store) backupBefore(ctx context.Context, opt Options, version int64) error {
	dir := opt.BackupDir
	if dir == "" {
		dir = filepath.Dir(s.Path)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("back up before changing tables: %w", err)
	}
	name := filepath.Join(dir, fmt.Sprintf("before-version-%d-%s.db", version+1,
		s.now().UTC().Format("20060102T150405")))
	if err := s.CopyTo(ctx, name); err != nil {
		return fmt.Errorf("back up before changing tables: %w", err)
	}
	return nil
}

// CopyTo writes a compact, consistent copy of the database to a new file.
func (s *Store) CopyTo(ctx context.Context, path string) error {
	switch _, err := os.Stat(path); {
	case err == nil:
		return fmt.Errorf("%s exists already", path)
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("copy database: %w", err)
	}
	if _, err := s.writer.ExecContext(ctx, `VACUUM INTO ?`, path); err != nil {
		return fmt.Errorf("copy database to %s: %w", path, err)
	}
	return os.Chmod(path, 0o600)
}
