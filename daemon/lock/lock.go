// Package lock lets one daemon at a time work on a shop's folder.
package lock

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/gofrs/flock"
)

// FileName is the lock's name in the shop's folder.
const FileName = "kitmuster.lock"

// ErrHeld says that somebody else holds the lock.
var ErrHeld = errors.New("another kitmuster is at work on this folder")

// Lock is a held lock. The system gives it up when its process dies.
type Lock struct {
	file *flock.Flock
	who  string
}

// patience is the time for which Take tries: those who look at the lock hold it for a moment.
const patience = 300 * time.Millisecond

// Take takes the lock at path, or says who holds it.
func Take(path, doing string, now time.Time) (*Lock, error) {
	f := flock.New(path, flock.SetPermissions(0o600))
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	ok, err := f.TryLockContext(ctx, patience/30)
	if err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return nil, fmt.Errorf("lock %s: %w", path, err)
	}
	if !ok {
		who, _ := holder(path)
		return nil, fmt.Errorf("%w: %s", ErrHeld, who)
	}
	host, _ := os.Hostname() // for people alone
	l := &Lock{f, fmt.Sprintf("%s, process %d on %s, since %s", doing, os.Getpid(), host,
		now.Format("2006-01-02 15:04:05 MST"))}
	if err := l.Note(""); err != nil {
		return nil, errors.Join(err, f.Unlock())
	}
	return l, nil
}

// Note leaves a word for those who look at the lock, in place of the one before.
func (l *Lock) Note(word string) error {
	//nolint:forbidigo // in place: a new file in its stead would not be the locked one
	if err := os.WriteFile(l.file.Path(), []byte(l.who+"\n"+word+"\n"), 0o600); err != nil {
		return fmt.Errorf("lock %s: %w", l.file.Path(), err)
	}
	return nil
}

// Release gives the lock up. The file stays: removing it would let two
// processes lock two files of one name.
func (l *Lock) Release() error { return l.file.Unlock() }

// Holder says who holds the lock at path and what they noted; empty when nobody does.
func Holder(path string) (who, note string) {
	if _, err := os.Stat(path); err != nil {
		return "", ""
	}
	f := flock.New(path, flock.SetFlag(os.O_RDONLY))
	if ok, err := f.TryRLock(); err != nil || ok {
		_ = f.Close()
		return "", ""
	}
	_ = f.Close()
	return holder(path)
}

func holder(path string) (who, note string) {
	text, err := os.ReadFile(path)
	if err != nil || len(strings.TrimSpace(string(text))) == 0 {
		return "it has just begun", ""
	}
	who, note, _ = strings.Cut(string(text), "\n")
	return who, strings.TrimSpace(note)
}
