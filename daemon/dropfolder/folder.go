package dropfolder

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"time"

	"github.com/kitmuster/kitmuster/programme/table"
)

// Taker takes a file into the books, all of it or nothing. Its text is the
// report for the person who put the file there. An error of type *Refusal is the
// file's fault; any other is not, and the file is tried again later.
type Taker interface {
	Take(ctx context.Context, n Name, file string, data []byte) (report string, err error)
}

// Refusal says why a file was not taken.
type Refusal struct{ Err error }

// Error returns the sentences.
func (r *Refusal) Error() string { return r.Err.Error() }

// Unwrap returns what was behind it.
func (r *Refusal) Unwrap() error { return r.Err }

// Folders within the drop folder.
const (
	DoneDir    = "done"
	RefusedDir = "refused"
)

// Folder is a drop folder. It remembers between looks which files were still growing.
type Folder struct {
	Dir    string
	Settle time.Duration // how long a file must lie unchanged
	Taker  Taker
	Now    func() time.Time

	seen map[string]look
}

// look is how a file was when it was first seen so.
type look struct {
	size  int64
	mod   time.Time
	since time.Time
}

// Outcome is what came of one file.
type Outcome struct {
	File   string // as it was called
	Name   Name
	Client string
	Taken  bool
	Report string
	Moved  string // where it lies now
}

// Waiting returns the names of the files that lie in dir and are not moved yet.
func Waiting(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("look into the drop folder: %w", err)
	}
	var names []string
	for _, e := range entries {
		if e.Type().IsRegular() && !passing(e.Name()) {
			names = append(names, e.Name())
		}
	}
	sort.Strings(names)
	return names, nil
}

// Scan takes every file that has settled. It returns what came of each; the
// error joins what kept files from being taken or moved, which stay where they are.
func (f *Folder) Scan(ctx context.Context) ([]Outcome, error) {
	for _, d := range []string{f.Dir, filepath.Join(f.Dir, DoneDir), filepath.Join(f.Dir, RefusedDir)} {
		if err := os.MkdirAll(d, 0o700); err != nil {
			return nil, fmt.Errorf("make the drop folder: %w", err)
		}
	}
	names, err := Waiting(f.Dir)
	if err != nil {
		return nil, err
	}
	var all []Outcome
	var errs []error
	for _, name := range f.settled(names) {
		if ctx.Err() != nil {
			break
		}
		o, err := f.take(ctx, name)
		if err != nil {
			errs = append(errs, fmt.Errorf("take in %s: %w", show(name), err))
			continue
		}
		all = append(all, o)
	}
	return all, errors.Join(errs...)
}

// settled returns the names whose files have not changed for the time to
// settle, and forgets files that are gone.
func (f *Folder) settled(names []string) []string {
	now := f.Now()
	seen := make(map[string]look, len(names))
	var ready []string
	for _, name := range names {
		info, err := os.Lstat(filepath.Join(f.Dir, name))
		if err != nil {
			continue
		}
		l := look{info.Size(), info.ModTime(), now}
		if old, ok := f.seen[name]; ok && old.size == l.size && old.mod.Equal(l.mod) {
			l.since = old.since
		}
		seen[name] = l
		if now.Sub(l.since) >= f.Settle {
			ready = append(ready, name)
		}
	}
	f.seen = seen
	return ready
}

func (f *Folder) take(ctx context.Context, name string) (Outcome, error) {
	o := Outcome{File: show(name)}
	path := filepath.Join(f.Dir, name)
	data, err := read(path)
	var refusal *Refusal
	if err == nil {
		o.Name, err = ParseName(name)
		if err != nil {
			err = &Refusal{err}
		} else {
			o.Client = o.Name.Client
			o.Report, err = f.Taker.Take(ctx, o.Name, o.File, data)
		}
	}
	switch {
	case err == nil:
		o.Taken = true
	case errors.As(err, &refusal):
		o.Report = refusal.Error()
	default:
		return o, err
	}
	o.Moved, err = f.move(name, o)
	return o, err
}

// read reads a plain file of a reasonable size; links are not followed.
func read(path string) ([]byte, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &Refusal{errors.New("this is not a plain file")}
	}
	if info.Size() > table.MaxBytes {
		return nil, &Refusal{fmt.Errorf("this file is larger than %d MB; split it", table.MaxBytes>>20)}
	}
	return os.ReadFile(path)
}

// move puts a file and its report where they belong, under a name with the
// time in front that nothing else has.
func (f *Folder) move(name string, o Outcome) (string, error) {
	dir := filepath.Join(f.Dir, RefusedDir)
	if o.Taken {
		dir = filepath.Join(f.Dir, DoneDir)
	}
	stamp := f.Now().UTC().Format("2006-01-02T150405Z")
	for n := 1; n < 1000; n++ {
		base := stamp + "-" + name
		if n > 1 {
			base = fmt.Sprintf("%s-%d-%s", stamp, n, name)
		}
		to := filepath.Join(dir, base)
		err := os.Link(filepath.Join(f.Dir, name), to) // refuses an existing name, which a rename does not
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		text := o.Report
		if text == "" || text[len(text)-1] != '\n' {
			text += "\n"
		}
		if err := os.WriteFile(to+".report.txt", []byte(text), 0o600); err != nil {
			return "", errors.Join(err, os.Remove(to))
		}
		delete(f.seen, name)
		return to, os.Remove(filepath.Join(f.Dir, name))
	}
	return "", errors.New("no free name in " + dir)
}
