package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/gofrs/flock"
)

// turn is the longest Alone waits for its turn: longer than any migration.
const turn = 10 * time.Minute

// Alone runs f while no other process runs something under Alone for the same
// folder, which must exist. The folder itself is locked, so that no file of a
// lock lies about (on Windows one does); the system gives the lock up when its process dies.
func Alone(ctx context.Context, dir string, f func() error) (err error) {
	l := flock.New(dir, flock.SetFlag(os.O_RDONLY)) // for reading: a folder cannot be opened for more
	if runtime.GOOS == "windows" {
		l = flock.New(filepath.Join(dir, ".turn")) // a folder cannot be locked there
	}
	waiting, cancel := context.WithTimeout(ctx, turn)
	defer cancel()
	if _, err := l.TryLockContext(waiting, 20*time.Millisecond); err != nil {
		return fmt.Errorf("wait for others at work in %s: %w", dir, err)
	}
	defer func() { err = errors.Join(err, l.Unlock()) }()
	return f()
}
