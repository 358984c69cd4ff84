package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/wholefile"
)

// ErrExists says that a database would be replaced.
var ErrExists = errors.New("there is a database already")

// Restore puts a copy in the place of the database at path. The copy is
// checked first; the old database, damaged or not, is kept beside it under a
// name that is returned. Without replace an existing database is left alone.
// There is a whole database at path at every moment, the old one or the copy.
// The caller holds the daemon's lock.
func Restore(ctx context.Context, from, path string, replace bool, now time.Time) (old string, err error) {
	if _, err := store.Inspect(ctx, from); err != nil {
		return "", fmt.Errorf("%s is no usable backup, so nothing was changed: %w", from, err)
	}
	_, err = os.Stat(path)
	exists := err == nil
	switch {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return "", fmt.Errorf("restore: %w", err)
	case exists && !replace:
		return "", fmt.Errorf("%w: %s", ErrExists, path)
	case exists:
		// A damaged one cannot be gathered; it is set aside with its log.
		if err := store.Gather(ctx, path); errors.Is(err, store.ErrInUse) {
			return "", fmt.Errorf("restore, nothing was changed: %w", err)
		}
	}
	fresh := path + ".restoring"
	if err := copyFile(from, fresh); err != nil {
		return "", fmt.Errorf("restore, nothing was changed: %w", err)
	}
	if old, err = setAside(path, path+".before-restore-"+now.UTC().Format(nameForm)); err != nil {
		return "", err
	}
	if err := os.Rename(fresh, path); err != nil {
		return old, fmt.Errorf("restore: %w", err)
	}
	return old, wholefile.Sync(filepath.Dir(path))
}

// setAside gives a database a second name, and takes the first from its
// write-ahead log, which holds commits that the file does not, and which SQLite
// would take for the new one's. It returns the name, empty when there was neither.
func setAside(path, to string) (old string, err error) {
	for _, part := range []struct {
		suffix string
		move   func(from, to string) error
	}{{"", twice}, {"-wal", os.Rename}, {"-shm", os.Rename}} {
		err := part.move(path+part.suffix, to+part.suffix)
		if err == nil {
			old = to
		} else if !errors.Is(err, fs.ErrNotExist) {
			return old, fmt.Errorf("set the old database aside: %w", err)
		}
	}
	return old, nil
}

// twice gives a file a second name, or, where the file system knows no second
// names, a copy of that name.
func twice(from, to string) error {
	err := os.Link(from, to)
	if err == nil || errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrExist) {
		return err
	}
	return copyFile(from, to)
}

func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if _, err = io.Copy(out, in); err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return errors.Join(err, os.Remove(to))
	}
	return nil
}
