package forget

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// handedOver removes the files handed over for a client that are as old as the
// names it keeps no longer, and younger ones that name somebody who is to be forgotten
// now. A file without a client in its name goes by its contents alone.
func (f *forgetter) handedOver(l *left, leftBy programme.Date) error {
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
		old := k.Name.Client != "" && programme.DateOf(k.At) <= leftBy
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

// holds tells whether a file or its report has one of the names. One that
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

// job removes the papers for the press of a proposal.
func (f *forgetter) job(number int64, client string) error {
	dir := filepath.Join(f.books.Home, books.JobsDir, books.JobDir(number, client))
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = os.RemoveAll(dir)
	}
	if err != nil {
		return fmt.Errorf("remove the papers of proposal %d: %w", number, err)
	}
	f.done.Files += len(entries)
	return nil
}
