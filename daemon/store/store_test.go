package store_test

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/migrations"
	"github.com/kitmuster/kitmuster/programme"
)

func open(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// An older database is copied before its tables change, and the copy opens again.
func TestADatabaseIsBackedUpBeforeItsTablesChange(t *testing.T) {
	path, backups := filepath.Join(t.TempDir(), "shop.db"), filepath.Join(t.TempDir(), "backup")
	s, err := store.Open(t.Context(), path, store.Options{BackupDir: backups})
	require.NoError(t, err)
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "kept"}))
	require.NoError(t, s.Close())
	require.NoDirExists(t, backups, "a new one needs none")
	in, err := store.Inspect(t.Context(), path)
	require.NoError(t, err)

	db, err := sql.Open("sqlite3", "file:"+path)
	require.NoError(t, err)
	p, err := goose.NewProvider(goose.DialectSQLite3, db, migrations.FS)
	require.NoError(t, err)
	_, err = p.DownTo(t.Context(), in.Version-1)
	require.NoError(t, err)
	require.NoError(t, db.Close())

	s, err = store.Open(t.Context(), path, store.Options{BackupDir: backups})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	copies, err := filepath.Glob(filepath.Join(backups, "before-version-*.db"))
	require.NoError(t, err)
	require.Len(t, copies, 1)
	old, err := store.Inspect(t.Context(), copies[0])
	require.NoError(t, err)
	require.Equal(t, in.Version-1, old.Version)
	require.Equal(t, int64(1), old.Rows["event"])
}

// A new reason needs a row in the table of reasons and no change of the database.
func TestTheDatabaseKeepsEveryReasonAndRefusesAWordThatIsNone(t *testing.T) {
	s := open(t)
	put := func(reasons ...programme.Reason) error {
		return s.InTx(t.Context(), func(tx *store.Tx) error {
			var list []programme.Movement
			for _, r := range reasons {
				list = append(list, programme.Movement{Date: programme.NewDate(2026, 3, 2), Kind: programme.Ended,
					StaffID: "a1", SKU: programme.SKU{Garment: "tee"}, Pieces: 1, Reason: r, Ref: "r-" + string(r)})
			}
			_, _, err := tx.AddMovements("bakery", list, 1)
			return err
		})
	}
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error { return tx.PutClient("bakery", []byte("x")) }))
	require.NoError(t, put(programme.Reasons()...))
	require.ErrorContains(t, put("eaten"), "CHECK constraint failed: reason >= 0")
	moves, err := s.Movements(t.Context(), "bakery")
	require.NoError(t, err)
	var kept []programme.Reason
	for _, m := range moves {
		kept = append(kept, m.Reason)
	}
	require.Equal(t, programme.Reasons(), kept)
}

func TestLedgerKnowsRowsAgain(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	sku := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	day := programme.NewDate(2026, 3, 2)
	twice := programme.Movement{Date: day, Kind: programme.Issued, StaffID: "a1", SKU: sku, Pieces: 1}
	withRef := programme.Movement{Date: day, Kind: programme.Ended, StaffID: "a1", SKU: sku, Pieces: 1,
		Reason: programme.Worn, Ref: "r-1", Washes: 3}
	file := []programme.Movement{twice, twice, withRef}

	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("bakery", []byte("x")) }))
	add := func(list []programme.Movement) (added, known int) {
		require.NoError(t, s.InTx(ctx, func(tx *store.Tx) (err error) {
			added, known, err = tx.AddMovements("bakery", list, 1)
			return err
		}))
		return added, known
	}
	added, known := add(file)
	require.Equal(t, []int{3, 0}, []int{added, known})
	added, known = add(file)
	require.Equal(t, []int{0, 3}, []int{added, known}, "a second import of the same file changes nothing")
	added, known = add(append(file, twice))
	require.Equal(t, []int{1, 3}, []int{added, known}, "a third equal row is a third piece")

	got, err := s.Movements(ctx, "bakery")
	require.NoError(t, err)
	require.Equal(t, append(file, twice), got)
}

func TestTheLedgerKnowsWhenRowsWereEntered(t *testing.T) {
	ctx := context.Background()
	at := time.Date(2026, 3, 9, 23, 30, 0, 0, time.UTC)
	s, err := store.Open(ctx, filepath.Join(t.TempDir(), "shop.db"), store.Options{Now: func() time.Time { return at }})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	row := programme.Movement{Date: programme.NewDate(2026, 3, 2), Kind: programme.Ended, StaffID: "a1",
		SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}, Pieces: 1, Reason: programme.Worn}
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
		require.NoError(t, tx.PutClient("bakery", []byte("x")))
		id, err := tx.AddImport(store.Import{Kind: "ledger", Client: "bakery", File: "march.csv"})
		require.NoError(t, err)
		_, _, err = tx.AddMovements("bakery", []programme.Movement{row}, id)
		return err
	}))
	for zone, want := range map[*time.Location]programme.Date{time.UTC: programme.NewDate(2026, 3, 9),
		time.FixedZone("east", 3600): programme.NewDate(2026, 3, 10)} {
		got, err := s.Ledger(ctx, "bakery", zone)
		require.NoError(t, err)
		row.Entered = want
		require.Equal(t, []programme.Movement{row}, got)
	}
}

// A form that went out while the clock was a year ahead does not stop those of
// the year between.
func TestACountFormOfATimeToComeHoldsNoneBack(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	day := programme.NewDate(2026, 3, 9)
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("bakery", []byte("x")) }))
	for _, sent := range []programme.Date{day.Add(-70), day.Add(365)} {
		require.NoError(t,
			s.InTx(ctx, func(tx *store.Tx) error { _, err := tx.AddCountForm("bakery", sent); return err }))
	}
	for then, want := range map[programme.Date]programme.Date{day.Add(-71): 0, day: day.Add(-70),
		day.Add(365): day.Add(365)} {
		last, err := s.LastCountForm(ctx, "bakery", then)
		require.NoError(t, err)
		require.Equal(t, want, last)
	}
}

func TestEveryWordOfTheLedgerComesBack(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	row := func(kind programme.MovementKind, reason programme.Reason) programme.Movement {
		return programme.Movement{Date: programme.NewDate(2026, 3, 2), Kind: kind, StaffID: "a1",
			SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}, Pieces: 1, Reason: reason}
	}
	want := []programme.Movement{row(programme.Issued, programme.NoReason), row(programme.Counted, programme.NoReason)}
	for _, r := range []programme.Reason{programme.NoReason, programme.Worn, programme.Print, programme.Damaged,
		programme.Lost, programme.SizeChange, programme.LeftReason} {
		want = append(want, row(programme.Ended, r))
	}
	none := row(programme.Counted, programme.NoReason)
	none.Pieces, none.Assumed, none.Proposal, none.Washes = 0, true, 7, 2.5
	beside := row(programme.Issued, programme.NoReason)
	beside.OldKept = true
	want = append(want, none, beside)
	add := func(list ...programme.Movement) error {
		return s.InTx(ctx, func(tx *store.Tx) error {
			_, _, err := tx.AddMovements("bakery", list, 1)
			return err
		})
	}
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("bakery", []byte("x")) }))
	require.NoError(t, add(want...))

	noneIssued := row(programme.Issued, programme.NoReason)
	noneIssued.Pieces = 0
	for name, bad := range map[string]programme.Movement{
		"a kind that is none":         row("mislaid", programme.NoReason),
		"a reason that is only drawn": row(programme.Ended, programme.Unexplained),
		"nothing issued":              noneIssued,
	} {
		require.ErrorContains(t, add(row(programme.Issued, programme.NoReason),
			row(programme.Issued, programme.NoReason), bad), "CHECK", name)
	}
	got, err := s.Movements(ctx, "bakery")
	require.NoError(t, err)
	require.Equal(t, want, got, "and a list with one bad row leaves nothing behind")
}

// Ten commands after an update of the program find the old tables at once, and
// ten in a new shop find none.
func TestTenMayBringTheTablesUpToDateAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	backups := t.TempDir()
	ten := func() {
		var g errgroup.Group
		for range 10 {
			g.Go(func() error {
				s, err := store.Open(t.Context(), path, store.Options{BackupDir: backups})
				if err != nil {
					return err
				}
				return errors.Join(s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "opened"}),
					s.Close())
			})
		}
		require.NoError(t, g.Wait())
	}
	ten()
	in, err := store.Inspect(t.Context(), path)
	require.NoError(t, err)
	db, err := sql.Open("sqlite3", "file:"+path)
	require.NoError(t, err)
	p, err := goose.NewProvider(goose.DialectSQLite3, db, migrations.FS)
	require.NoError(t, err)
	_, err = p.DownTo(t.Context(), in.Version-1)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	ten()
	again, err := store.Inspect(t.Context(), path)
	require.NoError(t, err)
	require.Equal(t, in.Version, again.Version)
	copies, err := filepath.Glob(filepath.Join(backups, "*.db"))
	require.NoError(t, err)
	require.Len(t, copies, 1, "backed up once")
}

// An entry waits as long as its patience for a transaction of somebody else, and
// no longer than it is wanted.
func TestPatience(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s, err := store.Open(t.Context(), path, store.Options{Patience: time.Minute})
	require.NoError(t, err)
	other, err := sql.Open("sqlite3", "file:"+path+"?_txlock=immediate")
	require.NoError(t, err)
	held, err := other.Begin()
	require.NoError(t, err)
	entered := make(chan error, 1)
	go func() {
		entered <- s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "after a while"})
	}()
	select {
	case err := <-entered:
		require.NoError(t, err)
		require.Fail(t, "it did not wait")
	case <-time.After(6 * time.Second): // longer than SQLite waits by itself
	}
	require.NoError(t, held.Rollback())
	require.NoError(t, <-entered)
	require.NoError(t, other.Close())
	require.NoError(t, s.Close())
}
