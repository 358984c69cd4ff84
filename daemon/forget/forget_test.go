package forget_test

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/forget"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// The programme of harbour keeps names for 180 days. Bodhi Cresswater's last day
// is entered seven weeks late, in March.
var (
	lastDay = programme.NewDate(2026, 1, 10)
	entered = time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
)

// shop is the folder of a shop on a day that the test sets.
type shop struct {
	*books.Books
	config *config.Config
	now    time.Time
}

func newShop(t *testing.T) *shop {
	t.Helper()
	b := bookstest.New(t)
	s := &shop{now: time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)}
	st, err := store.Open(t.Context(), b.Store.Path, store.Options{Now: func() time.Time { return s.now }})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	s.Books = books.With(b.Home, b.Shop, st)
	s.config, err = config.ReadFolder(b.Home, time.UTC)
	require.NoError(t, err)
	text, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	text = regexp.MustCompile(`, decorations: .*\]`).ReplaceAll(bytes.Replace(text, []byte("code: harbour"),
		[]byte("code: quay"), 1), nil)
	s.inTx(t, func(tx *store.Tx) error { // quay has one person, of another name
		require.NoError(t, tx.PutClient("quay", text))
		for _, p := range bookstest.Staff() {
			require.NoError(t, tx.RemovePerson("quay", p.StaffID))
		}
		require.NoError(t, tx.RemovePerson("harbour", "0004"))
		return tx.PutPeople("quay", []programme.Person{{StaffID: "0002", Name: "Ekko Fennimore", Role: "barista",
			Start: bookstest.Hired}})
	})
	return s
}

func (s *shop) inTx(t *testing.T, f func(*store.Tx) error) {
	t.Helper()
	require.NoError(t, s.Store.InTx(t.Context(), f))
}

// letter puts a letter that names him into the outbox and delivers what is due.
func (s *shop) letter(t *testing.T, name, client string, proposal int64, way outbox.Way, text string) {
	t.Helper()
	s.inTx(t, func(tx *store.Tx) error {
		_, err := tx.Enqueue(outbox.Letter{MessageID: name + "@shop.example", Name: name, Client: client,
			Proposal: proposal, Way: way, Kind: "x",
			Subject: name, From: "owner@shop.example", To: []string{"mo@shop.example"},
			Bytes: []byte("Subject: x\r\n\r\n" + text + strings.Repeat("\r\nmore", 2000))})
		return err
	})
}

func (s *shop) deliver(t *testing.T) {
	t.Helper()
	c := delivery.Courier{Store: s.Store, Sender: folder.New(filepath.Join(s.Home, "mail")),
		Drafts: folder.Drafts(filepath.Join(s.Home, "drafts")),
		Papers: folder.Papers(filepath.Join(s.Home, "papers")), Policy: outbox.DefaultPolicy(),
		Now: func() time.Time { return s.now }, Log: slog.New(slog.DiscardHandler)}
	_, err := c.Run(t.Context())
	require.NoError(t, err)
}

func (s *shop) file(t *testing.T, path string, data []byte) {
	t.Helper()
	path = filepath.Join(s.Home, path)
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, data, 0o600))
}

func (s *shop) forget(t *testing.T, day time.Time) forget.Report {
	t.Helper()
	s.now = day
	clients, err := s.Clients(t.Context())
	require.NoError(t, err)
	done, err := forget.Names(t.Context(), s.Books, s.config, clients, programme.DateOf(day))
	require.NoError(t, err)
	return done
}

// naming lists the files of the shop's folder in whose bytes his name stands, in
// plain letters or in those of UTF-16; workbooks are compressed, so that all of
// them are listed.
func (s *shop) naming(t *testing.T) []string {
	t.Helper()
	var found []string
	require.NoError(t, filepath.WalkDir(s.Home, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		for _, name := range []string{"Bodhi", "Cresswater"} {
			if bytes.Contains(data, []byte(name)) || bytes.Contains(data, wide(name)) ||
				bytes.HasPrefix(data, []byte("PK")) {
				rel, _ := filepath.Rel(s.Home, path)
				found = append(found, filepath.ToSlash(rel))
				break
			}
		}
		return err
	}))
	return found
}

func wide(s string) (b []byte) {
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return b
}

func workbook(t *testing.T, cells ...string) []byte {
	t.Helper()
	f := excelize.NewFile()
	for i, c := range cells {
		at, err := excelize.CoordinatesToCellName(1+i, 2)
		require.NoError(t, err)
		require.NoError(t, f.SetCellValue("Sheet1", at, c))
	}
	b, err := f.WriteToBuffer()
	require.NoError(t, err)
	return b.Bytes()
}

func TestTheNamesOfLeaversGoFromEveryPlaceOnTheirDay(t *testing.T) {
	s := newShop(t)
	s.letter(t, "count-1", "harbour", 0, outbox.Post, "Bodhi Cresswater: polo, apron")
	s.letter(t, "proposal-7.draft", "harbour", 7, outbox.Draft, "for Bodhi Cresswater")
	s.letter(t, "list-7.csv", "harbour", 7, outbox.Paper, "0002,Bodhi Cresswater")
	s.letter(t, "round-1", "", 0, outbox.Post, "Harbour Bakeries are due")
	s.deliver(t)
	s.inTx(t, func(tx *store.Tx) error {
		require.NoError(t, tx.AddRound(store.Round{ID: 1, AsOf: lastDay, Summary: []byte("{}")}))
		return tx.AddProposal(1, &reorder.Proposal{Number: 7, Client: "harbour", AsOf: lastDay, OrderBy: lastDay,
			State: reorder.Sent, Named: []reorder.Named{{StaffID: "0002"}}})
	})

	s.now = entered.Add(-time.Hour)
	s.letter(t, "count-2", "harbour", 0, outbox.Post,
		"Bodhi Cresswater: polo, apron; he left, but nobody has said so yet")
	s.letter(t, "count-3", "quay", 0, outbox.Post, "Ekko Fennimore: polo, apron")
	s.deliver(t)
	s.now = entered
	people := bookstest.Staff()[:3]
	people[1].End = lastDay
	s.inTx(t, func(tx *store.Tx) error { return tx.PutPeople("harbour", people) })
	s.now = entered.AddDate(0, 0, 7)
	s.letter(t, "job-7", "", 7, outbox.Post, "bag tag of Bodhi Cresswater")
	s.letter(t, "count-4", "harbour", 0, outbox.Post, "Ada Brackenholt: polo, apron")
	s.deliver(t)
	s.file(t, "jobs/7-harbour/bag-tags.csv", []byte("Bodhi Cresswater"))
	s.file(t, "jobs/pick-99-harbour/pick-list.csv", []byte("Bodhi Cresswater")) // of an entry that was taken back
	var later int64
	s.inTx(t, func(tx *store.Tx) (err error) {
		later, err = tx.AddImport(store.Import{Kind: "record", Client: "harbour", New: 1})
		return err
	})
	kept := fmt.Sprintf("jobs/pick-%d-harbour/pick-list.csv", later)
	s.file(t, kept, []byte("Ada Brackenholt"))

	for name, data := range map[string][]byte{
		"done/2026-06-02T080000Z-roster--harbour.csv": append([]byte{0xFF, 0xFE},
			wide("number;last;first\n0002;Cresswater;Bodhi\n")...),
		"done/2026-06-02T080000Z-roster--harbour.csv.report.txt":       []byte("1 joins"),
		"done/2026-06-03T080000Z-2-counts--harbour.xlsx":               workbook(t, "0002", "Bodhi Cresswater"),
		"done/2026-06-04T080000Z-roster--harbour--full.csv":            []byte("number;name\n0001;Ada Brackenholt\n"),
		"done/2026-06-04T080000Z-roster--harbour--full.csv.report.txt": []byte("Leaving:\n  0002 Bodhi Cresswater"),
		"refused/2026-06-05T080000Z-staff.csv":                         []byte("name\nBodhi Cresswater\n"),
		"refused/2026-06-05T080000Z-staff.csv.report.txt":              []byte("it does not say what it holds"),
		"done/2026-06-06T080000Z-ledger--harbour.csv":                  []byte("date,staff_id\n2026-06-01,0001\n"),
		"done/2026-06-06T080000Z-roster--quay.csv":                     []byte("number;name\n0002;Ekko Fennimore\n"),
		"done/2025-01-02T080000Z-ledger--harbour.csv":                  []byte("from a time whose names are kept no longer"),
		"done/2025-01-02T080000Z-stock.csv":                            []byte("stock names nobody"),
	} {
		s.file(t, "drop/"+name, data)
	}

	require.Equal(t, forget.Report{Files: 1}, s.forget(t, lastDay.Add(179).Time()),
		"a day too early, but for the file of last year")
	require.NoError(t, s.Store.Tidy(t.Context()))
	require.Len(t, s.naming(t), 15, "every place is looked into")
	require.Contains(t, s.naming(t), books.DatabaseFile)

	require.Equal(t, forget.Report{People: 1, Mails: 5, Files: 14}, s.forget(t, lastDay.Add(180).Time()))
	require.Empty(t, s.naming(t))
	require.FileExists(t, filepath.Join(s.Home, kept))
	for _, name := range []string{"done/2026-06-06T080000Z-ledger--harbour.csv",
		"done/2026-06-06T080000Z-roster--quay.csv", "done/2025-01-02T080000Z-stock.csv"} {
		require.FileExists(t, filepath.Join(s.Home, "drop", name))
	}
	mails, err := filepath.Glob(filepath.Join(s.Home, "mail", "*.eml"))
	require.NoError(t, err)
	require.Len(t, mails, 3, "the owner's, quay's, and the one after he was gone")
	people, err = s.Store.People(t.Context(), "harbour")
	require.NoError(t, err)
	require.Equal(t, "Ada Brackenholt", people[0].Name)
	require.Empty(t, people[1].Name)
	require.Equal(t, forget.Report{}, s.forget(t, lastDay.Add(181).Time()), "nothing is left to do")
}

// Somebody who asks to be forgotten is, long before the programme's time is over; who left
// with them, and what names neither of them, stay.
func TestOnePersonIsForgottenAtOnce(t *testing.T) {
	s := newShop(t)
	s.letter(t, "count-1", "harbour", 0, outbox.Post, "Bodhi Cresswater: polo, apron")
	s.letter(t, "round-1", "", 0, outbox.Post, "Harbour Bakeries are due")
	s.deliver(t)
	people := bookstest.Staff()[:3]
	people[1].End, people[2].End = lastDay, lastDay
	s.inTx(t, func(tx *store.Tx) error { return tx.PutPeople("harbour", people) })
	s.file(t, "drop/done/2025-01-02T080000Z-roster--harbour.csv", []byte("number;name\n0001;Ada Brackenholt\n"))
	s.file(t, "drop/done/2026-01-02T080000Z-roster--harbour.csv", []byte("number;name\n0002;Bodhi Cresswater\n"))
	require.NotEmpty(t, s.naming(t))
	client, err := s.Client(t.Context(), "harbour")
	require.NoError(t, err)
	done, err := forget.Person(t.Context(), s.Books, s.config, client, people[1].StaffID, lastDay.Add(1))
	require.NoError(t, err)
	require.Equal(t, forget.Report{People: 1, Mails: 1, Files: 3}, done)
	require.Empty(t, s.naming(t))
	require.FileExists(t, filepath.Join(s.Home, "drop/done/2025-01-02T080000Z-roster--harbour.csv"))
	now, err := s.Store.People(t.Context(), "harbour")
	require.NoError(t, err)
	require.Equal(t, []string{people[0].Name, "", people[2].Name}, []string{now[0].Name, now[1].Name, now[2].Name})
	done, err = forget.Person(t.Context(), s.Books, s.config, client, people[0].StaffID, lastDay.Add(1))
	require.NoError(t, err)
	require.Equal(t, forget.Report{}, done, "who is there is not forgotten")
}

// Transfers carry names in the codes of their artworks: these go from sheets, proposals
// and the shelf, unless somebody who is there has the same name.
func TestNamesOnTransfersAreForgotten(t *testing.T) {
	s := newShop(t)
	s.Shop.Artworks = append(s.Shop.Artworks, programme.Artwork{Code: "names", Client: "harbour", Kind: "film",
		Width: 3 * programme.Inch, Height: programme.Inch / 2, Text: programme.FirstName})
	people := bookstest.Staff()[:3]
	people[1].End = lastDay
	shelf := func(name string) programme.StockLine {
		return programme.StockLine{AsOf: lastDay, Goods: programme.TransferGoods("names=" + name), Pieces: 2,
			Made: lastDay}
	}
	first := func(p programme.Person) string { name, _, _ := strings.Cut(p.Name, " "); return name }
	s.inTx(t, func(tx *store.Tx) error {
		require.NoError(t, tx.PutPeople("harbour", people))
		require.NoError(t, tx.AddStock([]programme.StockLine{shelf(first(people[0])), shelf(first(people[1]))}))
		require.NoError(t, tx.AddRound(store.Round{ID: 1, AsOf: lastDay, Summary: []byte("{}")}))
		var part sheet.Part
		for _, p := range people[:2] {
			part.Lines = append(part.Lines, sheet.Line{Artwork: "names=" + first(p), Client: "harbour", Kind: "film"})
		}
		_, err := tx.AddSheetOrder(store.SheetOrder{RoundID: 1, Kind: "film", State: sheet.Received, Plan: part})
		require.NoError(t, err)
		return tx.AddProposal(1, &reorder.Proposal{Number: 7, Client: "harbour", AsOf: lastDay, OrderBy: lastDay,
			State: reorder.Received,
			Aside: []reorder.Aside{{Artwork: "names=" + first(people[1]), Pieces: 1, AsOf: lastDay}}})
	})
	require.NotEmpty(t, s.naming(t))
	require.Equal(t, 1, s.forget(t, lastDay.Add(180).Time()).People)
	require.Empty(t, s.naming(t))
	stock, err := s.Store.Stock(t.Context())
	require.NoError(t, err)
	for _, l := range stock {
		require.NotEqual(t, "names="+first(people[1]), l.Code)
	}
	require.Contains(t, stock, shelf(first(people[0])))
	p, err := s.Store.Proposal(t.Context(), 7)
	require.NoError(t, err)
	require.Equal(t, "names", p.Aside[0].Artwork)
}

func TestAMailThatWaitsKeepsItsTextUntilItHasGone(t *testing.T) {
	s := newShop(t)
	s.letter(t, "count-1", "harbour", 0, outbox.Post, "Bodhi Cresswater: polo, apron")
	people := bookstest.Staff()[:3]
	people[1].End = lastDay
	s.inTx(t, func(tx *store.Tx) error { return tx.PutPeople("harbour", people) })
	require.Equal(t, forget.Report{People: 1}, s.forget(t, lastDay.Add(180).Time()))
	s.deliver(t)
	require.Equal(t, forget.Report{Mails: 1, Files: 2}, s.forget(t, lastDay.Add(181).Time()))
	require.Empty(t, s.naming(t))
}

func TestWhatCannotBeRemovedLeavesTheNameInTheRoster(t *testing.T) {
	s := newShop(t)
	s.letter(t, "count-1", "harbour", 0, outbox.Post, "Bodhi Cresswater: polo, apron")
	s.deliver(t)
	people := bookstest.Staff()[:3]
	people[1].End = lastDay
	s.inTx(t, func(tx *store.Tx) error { return tx.PutPeople("harbour", people) })
	files, err := filepath.Glob(filepath.Join(s.Home, "mail", "*.eml"))
	require.NoError(t, err)
	require.NoError(t, os.Rename(files[0], files[0]+".aside"))
	// what is no empty folder cannot be removed like a file
	require.NoError(t, os.MkdirAll(filepath.Join(files[0], "in the way"), 0o700))
	clients, err := s.Clients(t.Context())
	require.NoError(t, err)
	_, err = forget.Names(t.Context(), s.Books, s.config, clients, lastDay.Add(180))
	require.ErrorContains(t, err, "remove a mail's file")
	require.NoError(t, os.RemoveAll(files[0]))
	require.NoError(t, os.Rename(files[0]+".aside", files[0]))
	require.Equal(t, 1, s.forget(t, lastDay.Add(180).Time()).People)
	require.Empty(t, s.naming(t))
}

// The database is written anew after forgetting. Where that fails, or a crash comes
// before it, the next forgetting does it, though it has nobody to forget.
func TestAFileThatWasNotWrittenAnewIsTheNextTime(t *testing.T) {
	s := newShop(t)
	s.letter(t, "count-1", "harbour", 0, outbox.Post, strings.Repeat("Bodhi Cresswater: polo, apron\n", 2000))
	s.deliver(t)
	people := bookstest.Staff()[:3]
	people[1].End = lastDay
	s.inTx(t, func(tx *store.Tx) error { return tx.PutPeople("harbour", people) })
	free := func() (pages int) {
		db, err := sql.Open("sqlite3", s.Store.Path)
		require.NoError(t, err)
		require.NoError(t, db.QueryRow("PRAGMA freelist_count").Scan(&pages))
		require.NoError(t, db.Close())
		return pages
	}
	letters, err := s.Store.SettledLetters(t.Context())
	require.NoError(t, err)
	s.inTx(t, func(tx *store.Tx) error {
		if _, err := tx.ForgetLeavers("harbour", lastDay, ""); err != nil {
			return err
		}
		return tx.DropTexts([]int64{letters[0].ID})
	})
	stopped, stop := context.WithCancel(t.Context())
	stop()
	require.Error(t, s.Store.Compact(stopped), "it fails")
	require.Positive(t, free(), "pages of what was forgotten")
	require.Zero(t, s.forget(t, lastDay.Add(190).Time()).People, "nobody is left to forget")
	require.Zero(t, free(), "the file was written anew")

	s.inTx(t, func(tx *store.Tx) error {
		_, err := tx.ExecContext(t.Context(), "CREATE TABLE waste AS SELECT zeroblob(100000) AS a")
		return err
	})
	s.inTx(t, func(tx *store.Tx) error { _, err := tx.ExecContext(t.Context(), "DROP TABLE waste"); return err })
	s.forget(t, lastDay.Add(191).Time())
	require.Positive(t, free(), "and is not every night")
}

func TestItIsSaidUntilWhenBackupsHoldTheNames(t *testing.T) {
	s := newShop(t)
	held, err := forget.InBackups(s.Books, s.config, s.now)
	require.NoError(t, err)
	require.Contains(t, held.Sentence(s.Shop.DateStyle), "There are no backups")
	dir := filepath.Join(s.Home, "backup")
	_, err = backup.Make(t.Context(), s.Store, dir, s.now)
	require.NoError(t, err)
	held, err = forget.InBackups(s.Books, s.config, s.now)
	require.NoError(t, err)
	require.Equal(t, 1, held.Copies)
	// The copy of 5 January is that month's newest only until the night after.
	// As a day's, the last of seven, it goes with the seventh copy after it.
	require.Equal(t, programme.NewDate(2026, 1, 12), held.Until)
	s.file(t, "backup/before-version-5-20260105T090000.db", []byte("x"))
	held, err = forget.InBackups(s.Books, s.config, s.now)
	require.NoError(t, err)
	text := held.Sentence(s.Shop.DateStyle)
	require.Contains(t, text, "the last of them goes on "+s.Shop.DateStyle.Date(held.Until))
	require.Contains(t, text, "before-version-*.db there (1) hold them until you delete them")
}
