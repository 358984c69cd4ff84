// Package forget removes the names of people who left long ago from wherever the
// program keeps them: the roster, the texts of mails, the files of mails and of
// jobs, and the files that were handed over. Their pieces stay in the ledger under
// the staff number, so the forecast loses nothing.
//
// Backups are not touched: they keep what they hold until they are thinned out.
package forget

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/programme"
)

// Report counts what was removed.
type Report struct {
	People int // whose names are removed
	Mails  int // whose texts are removed
	Files  int // in the folders of mails, drafts, papers, jobs and of what was handed over
}

// Any reports whether anything was removed.
func (r Report) Any() bool { return r != Report{} }

// LeftBy returns the last day of those whose names a client's programme keeps no
// longer than until today; ok is false where it keeps them for ever.
func LeftBy(c *programme.Client, today programme.Date) (last programme.Date, ok bool) {
	return today.Add(-c.ForgetAfterDays), c.ForgetAfterDays > 0
}

// Names forgets whom the programmes of the clients keep no longer than until
// today. What cannot be removed is in the error and is tried again next time; the
// names that it holds stay in the roster until then, since they tell where to look.
func Names(ctx context.Context, b *books.Books, c *config.Config, clients []*programme.Client,
	today programme.Date) (Report, error) {
	f, err := start(ctx, b, c)
	if err != nil {
		return Report{}, err
	}
	var errs []error
	for _, client := range clients {
		leftBy, ok := LeftBy(client, today)
		if !ok {
			continue
		}
		if err := f.client(ctx, client, whom{leftBy: leftBy}); err != nil {
			errs = append(errs, fmt.Errorf("forget the leavers of %s: %w", client.Code, err))
		}
	}
	errs = append(errs, b.Store.Compact(ctx)) // also what an earlier time left undone
	return f.done, errors.Join(errs...)
}

// Person forgets the one person of a staff number who left by today, however long the
// programme keeps names.
func Person(ctx context.Context, b *books.Books, c *config.Config, client *programme.Client, staff string,
	today programme.Date) (Report, error) {
	f, err := start(ctx, b, c)
	if err != nil {
		return Report{}, err
	}
	err = f.client(ctx, client, whom{leftBy: today, staff: staff})
	return f.done, errors.Join(err, b.Store.Compact(ctx))
}

func start(ctx context.Context, b *books.Books, c *config.Config) (*forgetter, error) {
	letters, err := b.Store.SettledLetters(ctx)
	if err != nil {
		return nil, err
	}
	return &forgetter{
		books: b, drop: config.Under(b.Home, c.Drop.Folder), letters: letters,
		mails:  folder.New(config.Under(b.Home, c.Mail.Folder)),
		drafts: folder.Drafts(filepath.Join(b.Home, books.DraftsDir)),
		papers: folder.Papers(filepath.Join(b.Home, books.PapersDir)),
	}, nil
}

// whom says who of a client is to be forgotten: who left by a day, or of those the one
// of a staff number.
type whom struct {
	leftBy programme.Date
	staff  string // empty = all
}

func (w whom) has(p *programme.Person) bool {
	return !p.End.IsZero() && p.End <= w.leftBy && (w.staff == "" || w.staff == p.StaffID)
}

type forgetter struct {
	books                 *books.Books
	drop                  string
	letters               []store.Settled
	mails, drafts, papers *folder.Sender
	done                  Report
}

// client forgets the leavers of one client. Files go first: a crash in between
// leaves names in the roster, by which the rest is found the next time.
func (f *forgetter) client(ctx context.Context, c *programme.Client, who whom) error {
	leavers, err := f.books.Store.Leavers(ctx, c.Code, who.leftBy, who.staff)
	if err != nil {
		return err
	}
	left := &left{client: c.Code, leavers: leavers}
	if err := f.handedOver(left, who); err != nil {
		return err
	}
	if len(leavers) == 0 {
		return nil
	}
	texts, err := f.post(ctx, left)
	if err != nil || len(texts) == 0 && !left.fresh() {
		return err
	}
	return f.books.Store.InTx(ctx, func(tx *store.Tx) error {
		people, err := tx.People(c.Code)
		if err != nil {
			return err
		}
		n, err := tx.ForgetLeavers(c.Code, who.leftBy, who.staff)
		if err == nil {
			err = tx.ForgetCodes(f.printed(c, people, who))
		}
		if err == nil {
			err = tx.DropTexts(texts)
		}
		if err == nil { // any of them may name somebody, in whatever coding
			_, err = tx.ForgetReplies(c.Code, tx.Now)
		}
		if err == nil {
			f.done.People += n
			f.done.Mails += len(texts)
		}
		return err
	})
}

// printed returns the codes of transfers with the names of those who are forgotten, as
// far as nobody who is still named has the same, each with that of the artwork alone.
func (f *forgetter) printed(c *programme.Client, people []programme.Person, who whom) map[string]string {
	codes := map[string]string{}
	of := func(p *programme.Person, each func(code, artwork string)) {
		for i := range f.books.Shop.Artworks {
			a := &f.books.Shop.Artworks[i]
			if a.Client != c.Code || a.Text == programme.NoText {
				continue
			}
			if name, err := a.NameFor(p); err == nil && name != "" {
				each(a.CodeFor(name), a.Code)
			}
		}
	}
	for i := range people {
		if who.has(&people[i]) {
			of(&people[i], func(code, artwork string) { codes[code] = artwork })
		}
	}
	for i := range people {
		if !who.has(&people[i]) {
			of(&people[i], func(code, _ string) { delete(codes, code) })
		}
	}
	return codes
}
