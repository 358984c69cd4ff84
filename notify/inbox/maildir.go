package inbox

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Maildir is a folder of mails, one file each: a mail program or server puts a whole
// mail into new by renaming it, and what was read lies in cur. Files that end in
// .eml may be put beside them by hand.
type Maildir struct{ Dir string }

// The folders within (the format's own names).
const (
	dirNew = "new"
	dirCur = "cur"
	dirTmp = "tmp"
)

// Take hands each mail that has not been read yet to keep, the oldest name first, and
// then moves it to cur. A mail that keep does not take stays where it is, so that
// none is lost; one that was taken and could not be moved is handed over once more.
func (m Maildir) Take(ctx context.Context, most int, keep func(name string, raw []byte) error) error {
	for _, d := range []string{dirNew, dirCur, dirTmp} {
		if err := os.MkdirAll(filepath.Join(m.Dir, d), 0o700); err != nil {
			return fmt.Errorf("make the folder for answers: %w", err)
		}
	}
	var errs []error
	for _, from := range []string{dirNew, "."} {
		names, err := m.names(from)
		if err != nil {
			return err
		}
		for _, name := range names {
			if ctx.Err() != nil {
				return errors.Join(errs...)
			}
			errs = append(errs, m.one(from, name, most, keep))
		}
	}
	return errors.Join(errs...)
}

func (m Maildir) names(from string) ([]string, error) {
	entries, err := os.ReadDir(filepath.Join(m.Dir, from))
	if err != nil {
		return nil, fmt.Errorf("look into the folder for answers: %w", err)
	}
	var out []string
	for _, e := range entries {
		if !e.Type().IsRegular() || strings.HasPrefix(e.Name(), ".") ||
			from == "." && !strings.EqualFold(filepath.Ext(e.Name()), ".eml") {
			continue
		}
		out = append(out, e.Name())
	}
	slices.Sort(out)
	return out, nil
}

func (m Maildir) one(from, name string, most int, keep func(string, []byte) error) error {
	path := filepath.Join(m.Dir, from, name)
	raw, err := head(path, most)
	if errors.Is(err, fs.ErrNotExist) {
		return nil // a mail program has moved it meanwhile
	}
	if err != nil {
		return fmt.Errorf("read the answer %s: %w", name, err)
	}
	if err := keep(name, raw); err != nil {
		return err
	}
	seen := name
	if !strings.Contains(seen, ":2,") {
		seen += ":2,S"
	}
	if err := os.Rename(path, filepath.Join(m.Dir, dirCur, seen)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("put the answer %s to those that were read: %w", name, err)
	}
	return nil
}

// head reads a file up to one byte more than is read of a mail: more than that
// tells only that it is too large.
func head(path string, most int) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	return io.ReadAll(io.LimitReader(f, int64(most)+1))
}
