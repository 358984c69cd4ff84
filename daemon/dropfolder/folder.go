package dropfolder

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/programme/table"
)

// Taker takes a file into the books, all of it or nothing. Its text is the
// report for the person who put the file there. An error of type *Refusal is the
// file's fault; any other is not, and the file is tried again later.
type Taker interface {
	Take(ctx context.Context, n Name, file string, data []byte) (report string, err error)
}

// Tries counts the files that were begun and did not come to an end, where the
// end of the process cannot lose it.
type Tries interface {
	// BeginFile returns how often a file was begun, this time included; one of
	// another size or time is another file.
	BeginFile(ctx context.Context, name string, size int64, modified time.Time) (tries int, err error)
	EndFile(ctx context.Context, name string) error
}

// mostTries is the number of times that a file is begun by processes that end over it.
const mostTries = 3

// Refusal says why a file was not taken.
type Refusal struct {
	Err error
	// Command takes the file all the same, as far as Aim says; it calls the file FILE. Empty = no command does.
	Aim, Command string
}

// Error returns the sentences of a file that lies in RefusedDir.
func (r *Refusal) Error() string { return r.At("with FILE as it is called in " + RefusedDir + "/") }

// At returns the sentences of a file that lies elsewhere: where says what stands for FILE.
func (r *Refusal) At(where string) string {
	if r.Command == "" {
		return r.Err.Error()
	}
	return fmt.Sprintf("%s. %s, %s: %s", strings.TrimSuffix(r.Err.Error(), "."), r.Aim, where, r.Command)
}

// Unwrap returns what was behind it.
func (r *Refusal) Unwrap() error { return r.Err }

// NoteMark begins each line of a report that is a note for the shop, and not what the file came to.
const NoteMark = "Note: "

// Folders within the drop folder.
const (
	DoneDir    = "done"
	RefusedDir = "refused"
)

// Folder is a drop folder. It remembers between looks which files were still
// growing, and what came of files that could not be moved yet.
type Folder struct {
	Dir    string
	Settle time.Duration // how long a file must lie unchanged
	Taker  Taker
	// Tell records what came of a file, before the file is moved: one whose
	// outcome cannot be recorded stays where it is. nil = nobody is told.
	Tell func(ctx context.Context, o Outcome) error
	// Tries, when it is not nil, keeps a file that ends the process from being
	// taken up for ever.
	Tries Tries
	Now   func() time.Time

	mentioned map[string]bool // what is no plain file, and was told

	seen  map[string]*look
	moved map[string]*look // what was moved lately, by where it lies now
}

// look is a file as it was first seen so, and what came of it since.
type look struct {
	info    fs.FileInfo
	since   time.Time
	begun   bool     // counted as begun by this process
	outcome *Outcome // nil = not judged yet
	told    bool
}

// same reports whether a file is still the one of that look, by size and time:
// shared disks may number one file differently from look to look.
func (l *look) same(info fs.FileInfo) bool {
	return l.info.Size() == info.Size() && l.info.ModTime().Equal(info.ModTime())
}

// Outcome is the result of taking in one file.
type Outcome struct {
	File   string // as it was called
	Name   Name
	Client string
	Taken  bool
	Report string
	Moved  string // where it lies now; empty = still in the folder, since it changed meanwhile
	Stray  bool   // it is no plain file and lies where it was put
	Grew   bool   // it was taken in earlier and went on growing where it lies now
}

// Strays returns the names of what lies in dir and can never be taken in: links,
// pipes and folders.
func Strays(dir string) ([]string, error) {
	return named(dir, func(e fs.DirEntry) bool {
		return !e.Type().IsRegular() && e.Name() != DoneDir && e.Name() != RefusedDir
	})
}

// named returns the names of what lies in dir and is chosen, in order, without files on their way to or from it; none
// where there is no such folder.
func named(dir string, chosen func(fs.DirEntry) bool) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("look into the drop folder: %w", err)
	}
	for _, e := range entries {
		if chosen(e) && !passing(e.Name()) {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// mention tells once of each thing that lies there and is never taken in.
func (f *Folder) mention(ctx context.Context) ([]Outcome, error) {
	names, err := Strays(f.Dir)
	if err != nil {
		return nil, err
	}
	still := map[string]bool{}
	var all []Outcome
	for _, name := range names {
		if still[name] = true; f.mentioned[name] {
			continue
		}
		o := Outcome{File: show(name), Stray: true,
			Report: "It is a link, a pipe or a folder, and only plain files are taken in."}
		if f.Tell != nil {
			if err := f.Tell(ctx, o); err != nil {
				return all, err
			}
		}
		all = append(all, o)
	}
	f.mentioned = still
	return all, nil
}

// Waiting returns the names of the files that lie in dir and are not moved yet.
func Waiting(dir string) ([]string, error) {
	return named(dir, func(e fs.DirEntry) bool { return e.Type().IsRegular() })
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
	all, err := f.regrown(ctx)
	strays, lost := f.mention(ctx)
	all = append(all, strays...)
	errs := []error{err, lost}
	for _, name := range f.settled(names) {
		if ctx.Err() != nil {
			break
		}
		o, err := f.take(ctx, name)
		if err != nil {
			errs = append(errs, fmt.Errorf("take in %s: %w", show(name), err))
			continue
		}
		if o.File != "" {
			all = append(all, o)
		}
	}
	return all, errors.Join(errs...)
}

// settled returns the names whose files have not changed for the time to
// settle, and forgets files that are gone.
func (f *Folder) settled(names []string) []string {
	now := f.Now()
	seen := make(map[string]*look, len(names))
	var ready []string
	for _, name := range names {
		info, err := os.Lstat(filepath.Join(f.Dir, name))
		if err != nil {
			continue
		}
		l, ok := f.seen[name]
		if !ok || !l.same(info) {
			l = &look{info: info, since: now}
		}
		seen[name] = l
		if now.Sub(l.since) >= f.Settle {
			ready = append(ready, name)
		}
	}
	f.seen = seen
	return ready
}

// take judges a file, tells what came of it and moves it, in this order. When a
// step fails the next look goes on there, so that no file is taken in twice
// because a disk was full.
func (f *Folder) take(ctx context.Context, name string) (Outcome, error) {
	l := f.seen[name]
	if l.outcome == nil {
		o, err := f.attempt(ctx, name, l)
		if err != nil {
			return Outcome{}, err
		}
		l.outcome = &o
	}
	if err := f.ended(ctx, name, l); err != nil {
		return Outcome{}, err
	}
	changed := f.changed(name, l)
	if changed && !l.outcome.Taken {
		delete(f.seen, name) // what was refused is no longer there
		return Outcome{}, nil
	}
	if !l.told && f.Tell != nil {
		if err := f.Tell(ctx, *l.outcome); err != nil {
			return Outcome{}, err
		}
	}
	l.told = true
	if changed {
		delete(f.seen, name) // it is taken in once more when it has settled
		return *l.outcome, nil
	}
	moved, err := f.move(name, *l.outcome)
	if err != nil {
		return Outcome{}, err
	}
	delete(f.seen, name)
	l.outcome.Moved = moved
	if l.outcome.Taken {
		f.moved[moved] = &look{info: l.info, since: f.Now(), outcome: l.outcome}
	}
	return *l.outcome, nil
}

// growing is the time for which a file that was taken in is looked at again: a program
// that stalled may hold it open and write its end into it where it lies now.
const growing = time.Hour

// regrown tells of the files that went on growing after they were taken in.
func (f *Folder) regrown(ctx context.Context) ([]Outcome, error) {
	if f.moved == nil {
		f.moved = map[string]*look{}
	}
	var all []Outcome
	for _, path := range slices.Sorted(maps.Keys(f.moved)) {
		l := f.moved[path]
		info, err := os.Lstat(path)
		if err != nil || f.Now().Sub(l.since) > growing {
			delete(f.moved, path)
			continue
		}
		if l.same(info) {
			continue
		}
		o := *l.outcome
		o.Grew = true
		if f.Tell != nil {
			if err := f.Tell(ctx, o); err != nil {
				return all, err
			}
		}
		delete(f.moved, path)
		all = append(all, o)
	}
	return all, nil
}

// changed reports whether a file has changed since it was looked at, as one does
// whose program paused in the middle, or that was replaced by a newer one.
func (f *Folder) changed(name string, l *look) bool {
	info, err := os.Lstat(filepath.Join(f.Dir, name))
	return err != nil || !l.same(info)
}

// attempt judges a file and counts that beforehand. A file over which process
// after process has ended is refused unread.
func (f *Folder) attempt(ctx context.Context, name string, l *look) (Outcome, error) {
	if f.Tries != nil && !l.begun {
		n, err := f.Tries.BeginFile(ctx, name, l.info.Size(), l.info.ModTime())
		if err != nil {
			return Outcome{}, err
		}
		l.begun = true
		if n > mostTries {
			return deadly(name), nil
		}
	}
	o, err := f.judge(ctx, name)
	if err != nil {
		err = errors.Join(err, f.ended(ctx, name, l))
	}
	return o, err
}

// ended records that this process lived through its work on a file.
func (f *Folder) ended(ctx context.Context, name string, l *look) error {
	if !l.begun {
		return nil
	}
	err := f.Tries.EndFile(context.WithoutCancel(ctx), name)
	l.begun = err != nil
	return err
}

// deadly refuses a file that nobody lived to report on.
func deadly(name string) Outcome {
	o := Outcome{File: show(name), Report: fmt.Sprintf("The program ended %d times in the middle of reading this file, so it is not read again. Nothing was imported. Save the list anew as CSV, and split it if it is large.", mostTries)}
	if n, err := ParseName(name); err == nil {
		o.Name, o.Client = n, n.Client
	}
	return o
}

// judge takes a file into the books or refuses it; an error is not the file's fault.
func (f *Folder) judge(ctx context.Context, name string) (Outcome, error) {
	o := Outcome{File: show(name)}
	data, err := read(filepath.Join(f.Dir, name))
	if err == nil {
		o.Name, err = ParseName(name)
		if err != nil {
			err = &Refusal{Err: err}
		} else {
			o.Client = o.Name.Client
			o.Report, err = f.Taker.Take(ctx, o.Name, o.File, data)
		}
	}
	var refusal *Refusal
	switch {
	case err == nil:
		o.Taken = true
	case errors.As(err, &refusal):
		o.Report = refusal.Error()
	default:
		return o, err
	}
	return o, nil
}

// read reads a plain file of a reasonable size; links are not followed.
func read(path string) ([]byte, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &Refusal{Err: errors.New("this is not a plain file")}
	}
	if info.Size() > table.MaxBytes {
		return nil, &Refusal{Err: fmt.Errorf("this file is larger than %d MB; split it", table.MaxBytes>>20)}
	}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrPermission) {
		return nil, fmt.Errorf("kitmuster may not read it; let its owner allow that, or put it there again: %w", err)
	}
	return data, err
}
