package forget

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// handedOver removes the files handed over for a client that name somebody who is to be
// forgotten now, and with all leavers of a time whatever is as old as their names. A file without a client in its name
// goes by its contents alone.
func (f *forgetter) handedOver(l *left, who whom) error {
	kept, err := dropfolder.ListKept(f.drop)
	if err != nil {
		return err
	}
	names := l.names()
	var errs []error
	for _, k := range kept {
		if !k.IsOf(l.client) {
			continue
		}
		old := k.Name.Client != "" && who.staff == "" && programme.DateOf(k.At) <= who.leftBy
		if !old && (len(names) == 0 || !holds(k, names)) {
			continue
		}
		if err := k.Remove(); err != nil {
			errs = append(errs, err)
			continue
		}
		f.done.Files++
	}
	return errors.Join(errs...)
}

// holds reports whether a file or its report has one of the names. One that
// cannot be read as a list is judged by its bytes.
func holds(k dropfolder.Kept, names [][]string) bool {
	data, report, err := k.Read()
	if err != nil {
		return false // it goes with age
	}
	text, ok := table.Text(filepath.Base(k.Path), data)
	if !ok {
		text = strings.ToValidUTF8(string(data), " ")
	}
	return says(text, names) || says(string(report), names)
}

// post removes the files of the letters that may name one of the people, and
// returns the numbers of those whose texts are still in the database.
func (f *forgetter) post(ctx context.Context, l *left) (texts []int64, err error) {
	proposals, err := f.books.Store.Proposals(ctx, l.client)
	if err != nil {
		return nil, err
	}
	named, fresh, until := map[int64]bool{}, l.fresh(), l.namedUntil()
	for i := range proposals {
		p := &proposals[i]
		if named[p.Number] = l.named(p); named[p.Number] && fresh {
			err = errors.Join(err, f.job(p.Number, l.client))
		}
	}
	if fresh {
		err = errors.Join(err, f.picks(ctx, l.client, until))
	}
	for i := range f.letters {
		s := &f.letters[i]
		about := named[s.Proposal] || s.Client == l.client && !s.Created.After(until)
		if !about || !s.HasText && !fresh {
			continue
		}
		if !s.Replaced || s.Way == outbox.Post { // a mail's file has its number in its name
			n, gone := f.sender(s.Way).Remove(&s.Letter)
			f.done.Files += n
			err = errors.Join(err, gone)
		}
		if s.HasText {
			texts = append(texts, s.ID)
		}
	}
	return texts, err
}

func (f *forgetter) sender(w outbox.Way) *folder.Sender {
	switch w {
	case outbox.Draft:
		return f.drafts
	case outbox.Paper:
		return f.papers
	case outbox.Post:
	}
	return f.mails
}

// picks removes a client's pick lists that may name one who left by then: those
// of entries up to that time, and of entries that were taken back since.
func (f *forgetter) picks(ctx context.Context, client string, until time.Time) error {
	found, err := filepath.Glob(filepath.Join(f.books.Home, books.JobsDir, books.PickDir("*", client)))
	if err != nil || len(found) == 0 {
		return err
	}
	entries, err := f.books.Store.Imports(ctx, client, math.MaxInt32)
	if err != nil {
		return err
	}
	later := map[string]bool{}
	for i := range entries {
		if entries[i].At.After(until) {
			later[books.PickDir(strconv.FormatInt(entries[i].ID, 10), client)] = true
		}
	}
	for _, dir := range found {
		if !later[filepath.Base(dir)] {
			err = errors.Join(err, f.remove(dir, "remove a pick list"))
		}
	}
	return err
}

// job removes the papers for the press of a proposal.
func (f *forgetter) job(number int64, client string) error {
	return f.remove(filepath.Join(f.books.Home, books.JobsDir, books.JobDir(number, client)),
		fmt.Sprintf("remove the papers of proposal %d", number))
}

// remove takes a folder away and counts its files.
func (f *forgetter) remove(dir, doing string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = os.RemoveAll(dir)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", doing, err)
	}
	f.done.Files += len(entries)
	return nil
}
