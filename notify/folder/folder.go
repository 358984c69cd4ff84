// Package folder writes messages as files: the .eml, which any mail program
// opens, and beside it a page for the browser. It is the way out of a shop that
// has set up no mail server.
package folder

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Sender is a folder as a way out.
type Sender struct{ dir string }

// New returns a sender to dir, which is made when there is none.
func New(dir string) *Sender { return &Sender{dir} }

// Name is the word for this way out in records.
func (*Sender) Name() string { return "folder" }

// Open makes the folder. Its error is an outbox.Unreachable.
func (s *Sender) Open(context.Context) (outbox.Session, error) {
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return nil, s.unreachable(err)
	}
	return s, nil
}

// Close does nothing; every message is closed by itself.
func (s *Sender) Close() error { return nil }

// Send writes the message and its page. A further try of the same message to
// the same recipient replaces the files by equal ones.
func (s *Sender) Send(ctx context.Context, m outbox.Message) error {
	if err := ctx.Err(); err != nil {
		return s.unreachable(err)
	}
	base := filepath.Join(s.dir, FileName(m))
	page, err := Preview(m.Bytes)
	if err != nil { // the message is what counts; the page says why it is empty
		page = []byte("<!doctype html><p>This message could not be shown here. Open the .eml beside it.</p>\n")
	}
	if err := writeFile(base+".html", page); err != nil {
		return s.unreachable(err)
	}
	if err := writeFile(base+".eml", m.Bytes); err != nil {
		return s.unreachable(err)
	}
	return nil
}

func (s *Sender) unreachable(err error) error {
	says := err.Error()
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		says = "the disk is full"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		says = "it may not be written to"
	case errors.Is(err, syscall.ENOTDIR), errors.Is(err, fs.ErrExist):
		says = "it is a file, not a folder"
	}
	return &outbox.Result{Outcome: outbox.Unreachable, Broken: true, Err: err,
		Says: fmt.Sprintf("could not write to the mail folder %s: %s", s.dir, says)}
}

// FileName returns the name of a message's files without ending: its
// Message-ID before the @ and its recipient, in letters, digits, dots and
// hyphens. It never names another folder.
func FileName(m outbox.Message) string {
	local, _, _ := strings.Cut(m.MessageID, "@")
	return fmt.Sprintf("%06d-%s--%s", m.ID, safe(local), safe(m.To))
}

func safe(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '-', r == '.':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '_'
	}, s)
	s = strings.Trim(strings.ReplaceAll(s, "..", "_"), ".-_")
	if len(s) > 80 {
		s = s[:80]
	}
	if s == "" {
		return "message"
	}
	return s
}

// writeFile writes all or nothing: to a file of another name that is synced
// and then takes the place.
func writeFile(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".writing-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
