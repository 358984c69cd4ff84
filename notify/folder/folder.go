// Package folder writes letters as files. It is the transport of a shop that has
// set up no mail server (the .eml, which any mail program opens, and beside it a
// page for the browser), of drafts that a person sends by hand, and of papers
// that were too large for their mail.
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
	"github.com/kitmuster/kitmuster/notify/wholefile"
)

// Sender is a folder as a transport.
type Sender struct {
	name, dir string
	files     func(l *outbox.Letter, to string) []file
}

// file is one file of a letter, its name without folder.
type file struct {
	name string
	data []byte
}

// New returns a sender of mails to dir, which is made when there is none: an
// .eml for each recipient, with its page for the browser beside it.
func New(dir string) *Sender { return &Sender{"folder", dir, mailFiles} }

// Drafts returns a sender of drafts to dir: each an .eml under the letter's
// name, which replaces an older draft of the same name.
func Drafts(dir string) *Sender { return &Sender{"drafts", dir, draftFiles} }

// SettledDir is the folder, inside the folder of drafts, of drafts that nobody is to send any more.
const SettledDir = "settled"

// Settle moves each draft that is over into SettledDir, and back those that are to be sent
// after all. over names files; others, and files that are not there, are left alone.
func (s *Sender) Settle(over map[string]bool) error {
	settled := filepath.Join(s.dir, SettledDir)
	var errs []error
	for name, isOver := range over {
		from, to := settled, s.dir
		if isOver {
			from, to = s.dir, settled
		}
		if _, err := os.Lstat(filepath.Join(from, name)); err != nil {
			continue
		}
		err := os.MkdirAll(to, 0o700)
		if err == nil {
			err = os.Rename(filepath.Join(from, name), filepath.Join(to, name))
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("put away a draft: %w", err))
		}
	}
	return errors.Join(errs...)
}

// Papers returns a sender of single files to dir, each under the letter's name.
func Papers(dir string) *Sender { return &Sender{"papers", dir, paperFiles} }

func mailFiles(l *outbox.Letter, to string) []file {
	page, err := Preview(l.Bytes)
	if err != nil { // the message is what counts; the page says why it is empty
		page = []byte("<!doctype html><p>This message could not be shown here. Open the .eml beside it.</p>\n")
	}
	name := FileName(l, to)
	return []file{{name + ".html", page}, {name + ".eml", l.Bytes}}
}

func draftFiles(l *outbox.Letter, _ string) []file { return []file{{DraftName(l), l.Bytes}} }

func paperFiles(l *outbox.Letter, _ string) []file { return []file{{safe(l.FileName()), l.Bytes}} }

// Name returns the word for this transport in records.
func (s *Sender) Name() string { return s.name }

// Open makes the folder. Its error is an outbox.Unreachable.
func (s *Sender) Open(context.Context) (outbox.Session, error) {
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return nil, s.unreachable(err)
	}
	return s, nil
}

// Close does nothing; every letter is closed by itself.
func (s *Sender) Close() error { return nil }

// Send writes the files of a letter. A further try of the same letter to the
// same recipient replaces the files by equal ones.
func (s *Sender) Send(ctx context.Context, l *outbox.Letter, to string) error {
	if err := ctx.Err(); err != nil {
		return s.unreachable(err)
	}
	for _, f := range s.files(l, to) {
		if err := wholefile.Write(filepath.Join(s.dir, f.name), f.data); err != nil {
			return s.unreachable(err)
		}
	}
	return nil
}

// Remove removes the files of a letter, whose text may be gone already; it
// returns how many there were.
func (s *Sender) Remove(l *outbox.Letter) (removed int, err error) {
	for _, to := range l.To {
		for _, f := range s.files(l, to) {
			for _, dir := range []string{s.dir, filepath.Join(s.dir, SettledDir)} {
				switch gone := os.Remove(filepath.Join(dir, f.name)); {
				case gone == nil:
					removed++
				case !errors.Is(gone, fs.ErrNotExist):
					err = errors.Join(err, fmt.Errorf("remove a mail's file: %w", gone))
				}
			}
		}
	}
	return removed, err
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
		Says: fmt.Sprintf("could not write to the folder %s: %s", s.dir, says)}
}

// FileName returns the name of a mail's files without ending: its number and
// name and its recipient, in letters, digits, dots and hyphens. It never names
// another folder.
func FileName(l *outbox.Letter, to string) string {
	return fmt.Sprintf("%06d-%s--%s", l.ID, safe(l.FileName()), safe(to))
}

// DraftName returns the name of a draft's file.
func DraftName(l *outbox.Letter) string { return safe(l.FileName()) + ".eml" }

// PaperName returns the name that a file of that name gets in the folder of papers.
func PaperName(name string) string { return safe(name) }

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
