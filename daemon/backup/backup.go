// Package backup makes checked copies of the database, keeps as many as the
// shop wants, and puts one back.
package backup

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/wholefile"
)

const (
	prefix   = "kitmuster-"
	suffix   = ".db"
	nameForm = "2006-01-02T150405Z"
)

// Copy is one backup.
type Copy struct {
	Path string
	At   time.Time // UTC
	Size int64
}

// Make writes a copy of the open database into dir, checks every page and the
// number of rows of it, and only then gives it its name. The database stays in
// use meanwhile; of several processes that make copies, one works at a time.
func Make(ctx context.Context, s *store.Store, dir string, now time.Time) (c Copy, err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return c, fmt.Errorf("back up to %s: %w", dir, err)
	}
	err = store.Alone(ctx, dir, func() error {
		c, err = makeCopy(ctx, s, dir, now)
		return err
	})
	return c, err
}

func makeCopy(ctx context.Context, s *store.Store, dir string, now time.Time) (c Copy, err error) {
	if err := clearUnfinished(dir); err != nil {
		return c, err
	}
	c = Copy{Path: filepath.Join(dir, prefix+now.UTC().Format(nameForm)+suffix), At: now.UTC().Truncate(time.Second)}
	// one name, so that a failure has the same words every night
	unfinished := filepath.Join(dir, prefix+"being-made"+suffix+".unfinished")
	defer func() {
		if err != nil {
			_ = os.Remove(unfinished)
		}
	}()
	if err := mayWrite(unfinished); err != nil {
		return c, fmt.Errorf("back up to %s: %w", dir, err)
	}
	before, err := s.Rows(ctx)
	if err != nil {
		return c, err
	}
	if err := s.CopyTo(ctx, unfinished); err != nil {
		return c, err
	}
	after, err := s.Rows(ctx)
	if err != nil {
		return c, err
	}
	if err := check(ctx, unfinished, before, after); err != nil {
		return c, err
	}
	if err := wholefile.Sync(unfinished); err != nil {
		return c, err
	}
	if err := os.Rename(unfinished, c.Path); err != nil {
		return c, fmt.Errorf("back up to %s: %w", dir, err)
	}
	info, err := os.Stat(c.Path)
	if err != nil {
		return c, fmt.Errorf("back up to %s: %w", dir, err)
	}
	c.Size = info.Size()
	return c, wholefile.Sync(dir)
}

// mayWrite makes a file for a moment: SQLite would only say that it is unable to.
func mayWrite(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Remove(path))
}

// check reads every page of a copy and looks whether it holds what the database
// held, by table, at some moment between before and after it was made.
func check(ctx context.Context, path string, before, after map[string]int64) error {
	in, err := store.Inspect(ctx, path)
	if err != nil {
		return fmt.Errorf("check the copy: %w", err)
	}
	got := in.Rows
	for table, n := range before {
		low, high := min(n, after[table]), max(n, after[table])
		if got[table] < low || got[table] > high {
			return fmt.Errorf("check the copy: table %s has %d rows in the copy and %d to %d in the database", table,
				got[table], low, high)
		}
	}
	return nil
}

// clearUnfinished removes copies that a crash left half written.
func clearUnfinished(dir string) error {
	names, err := filepath.Glob(filepath.Join(dir, prefix+"*"+suffix+".unfinished*"))
	if err != nil {
		return err
	}
	for _, n := range names {
		if err := os.Remove(n); err != nil {
			return fmt.Errorf("clear up %s: %w", n, err)
		}
	}
	return nil
}

// Newest returns the newest of copies, which are newest first, that is not of
// a time to come: such a one was made while the clock was wrong.
func Newest(copies []Copy, now time.Time) (c Copy, ok bool) {
	for _, c := range copies {
		if !c.At.After(now) {
			return c, true
		}
	}
	return c, false
}

// List returns the copies in dir, newest first. A dir that does not exist has none.
func List(dir string) ([]Copy, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("list backups: %w", err)
	}
	var all []Copy
	for _, e := range entries {
		name := e.Name()
		if !strings.HasPrefix(name, prefix) || !strings.HasSuffix(name, suffix) {
			continue
		}
		at, err := time.Parse(nameForm, name[len(prefix):len(name)-len(suffix)])
		if err != nil || !e.Type().IsRegular() {
			continue // somebody else's file
		}
		info, err := e.Info()
		if err != nil {
			return nil, fmt.Errorf("list backups: %w", err)
		}
		all = append(all, Copy{filepath.Join(dir, name), at, info.Size()})
	}
	slices.SortFunc(all, func(a, b Copy) int { return b.At.Compare(a.At) })
	return all, nil
}
