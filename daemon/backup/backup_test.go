package backup_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

var night = time.Date(2026, 3, 9, 2, 15, 0, 0, time.UTC)

func open(t *testing.T, path string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Options{})
	require.NoError(t, err)
	return s
}

func TestACopyIsWholePrivateAndPutBack(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.db")
	s := open(t, path)
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "before"}))
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "backup"), 0o700))
	half := filepath.Join(dir, "backup", "kitmuster-2026-03-08T021500Z.db.unfinished")
	require.NoError(t, os.WriteFile(half, []byte("half"), 0o600))

	c, err := backup.Make(t.Context(), s, filepath.Join(dir, "backup"), night)
	require.NoError(t, err)
	require.Equal(t, "kitmuster-2026-03-09T021500Z.db", filepath.Base(c.Path))
	require.NoFileExists(t, half)
	info, err := os.Stat(c.Path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	list, err := backup.List(filepath.Join(dir, "backup"))
	require.NoError(t, err)
	require.Equal(t, []backup.Copy{c}, list)

	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "after"}))
	require.NoError(t, s.Close())
	_, err = backup.Restore(t.Context(), c.Path, path, false, night)
	require.ErrorIs(t, err, backup.ErrExists)
	old, err := backup.Restore(t.Context(), c.Path, path, true, night)
	require.NoError(t, err)

	whats := func(path string) (all []string) {
		s := open(t, path)
		events, err := s.UntoldEvents(t.Context())
		require.NoError(t, err)
		require.NoError(t, s.Close())
		for _, e := range events {
			all = append(all, e.What)
		}
		return all
	}
	require.Equal(t, []string{"before"}, whats(path))
	require.Equal(t, []string{"before", "after"}, whats(old), "the old database is kept whole")
}

func TestAFolderThatTakesNoBackupIsNamed(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "shop.db"))
	_, err := backup.Make(t.Context(), s, "/proc/self/fdinfo", night) // where nobody can make a file
	require.ErrorContains(t, err, "back up to /proc/self/fdinfo")
	require.NotContains(t, err.Error(), "exists already")
	_, again := backup.Make(t.Context(), s, "/proc/self/fdinfo", night.AddDate(0, 0, 1))
	require.EqualError(t, again, err.Error(), "the same words every night, so that it is told once")
	require.NoError(t, s.Close())
}

func TestTheNewestCopyIsNotOneOfATimeToCome(t *testing.T) {
	ahead, good := backup.Copy{Path: "a", At: night.AddDate(5, 0, 0)}, backup.Copy{Path: "b", At: night}
	c, ok := backup.Newest([]backup.Copy{ahead, good}, night.Add(time.Hour))
	require.True(t, ok)
	require.Equal(t, good, c)
	_, ok = backup.Newest([]backup.Copy{ahead}, night)
	require.False(t, ok)
}

// A crash leaves commits in the write-ahead log. It goes with its database: left
// behind, SQLite would write it into the one that was put back.
func TestTheLogOfACrashStaysWithItsDatabase(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "shop.db"))
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "before"}))
	c, err := backup.Make(t.Context(), s, t.TempDir(), night)
	require.NoError(t, err)
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "after"}))
	crashed := filepath.Join(t.TempDir(), "shop.db")
	for _, part := range []string{"", "-wal"} {
		text, err := os.ReadFile(s.Path + part)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(crashed+part, text, 0o600))
	}
	require.NoError(t, s.Close())

	old, err := backup.Restore(t.Context(), c.Path, crashed, true, night)
	require.NoError(t, err)
	for path, want := range map[string]int{crashed: 1, old: 2} {
		s := open(t, path)
		require.NoError(t, s.QuickCheck(t.Context()))
		events, err := s.UntoldEvents(t.Context())
		require.NoError(t, err)
		require.Len(t, events, want, path)
		require.NoError(t, s.Close())
	}
}

// Where only the log of a lost database lies, it is not for the one put back.
func TestALogWithoutItsDatabaseIsSetAside(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "shop.db"))
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "before"}))
	c, err := backup.Make(t.Context(), s, t.TempDir(), night)
	require.NoError(t, err)
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "after"}))
	wal, err := os.ReadFile(s.Path + "-wal")
	require.NoError(t, err)
	require.NoError(t, s.Close())
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, os.WriteFile(path+"-wal", wal, 0o600))

	old, err := backup.Restore(t.Context(), c.Path, path, false, night)
	require.NoError(t, err)
	require.FileExists(t, old+"-wal")
	s = open(t, path)
	events, err := s.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.NoError(t, s.Close())
}

func TestADamagedCopyIsNotPutBack(t *testing.T) {
	dir := t.TempDir()
	s := open(t, filepath.Join(dir, "shop.db"))
	c, err := backup.Make(t.Context(), s, dir, night)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	damage(t, c.Path)
	_, err = backup.Restore(t.Context(), c.Path, filepath.Join(dir, "shop.db"), true, night)
	require.ErrorIs(t, err, store.ErrDamaged)
	require.NoError(t, os.WriteFile(c.Path, []byte("this is a letter"), 0o600))
	_, err = backup.Restore(t.Context(), c.Path, filepath.Join(dir, "shop.db"), true, night)
	require.ErrorIs(t, err, store.ErrDamaged)
	require.NoError(t, open(t, filepath.Join(dir, "shop.db")).Close(), "the database was left alone")
}

// damage overwrites the middle pages of a database.
func damage(t *testing.T, path string) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	info, err := f.Stat()
	require.NoError(t, err)
	junk := make([]byte, info.Size()/2)
	for i := range junk {
		junk[i] = 0xA5
	}
	_, err = f.WriteAt(junk, 4096)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

func TestTwoYearsOfNightsLeaveTwentyOrSoCopies(t *testing.T) {
	keep := backup.Keep{Daily: 7, Weekly: 5, Monthly: 12}
	var copies []backup.Copy // newest first
	for day := range 730 {
		copies = append([]backup.Copy{{At: night.AddDate(0, 0, day)}}, copies...)
		var left []backup.Copy
		for _, v := range keep.Judge(copies, time.UTC) {
			if len(v.Reasons) > 0 {
				left = append(left, v.Copy)
			}
		}
		copies = left
	}
	require.GreaterOrEqual(t, len(copies), 7+3+10)
	require.LessOrEqual(t, len(copies), 7+5+12)
	newest := night.AddDate(0, 0, 729)
	for day := range 7 {
		require.Equal(t, newest.AddDate(0, 0, -day), copies[day].At)
	}
	require.Greater(t, newest.Sub(copies[len(copies)-1].At), 300*24*time.Hour,
		"the oldest is the newest of its month, eleven months ago")
}

func TestRotationNeverLeavesLessThanAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		keep := backup.Keep{Daily: rapid.IntRange(0, 9).Draw(t, "d"), Weekly: rapid.IntRange(0, 9).Draw(t, "w"),
			Monthly: rapid.IntRange(0, 9).Draw(t, "m")}
		var copies []backup.Copy
		at := night
		for range rapid.IntRange(1, 60).Draw(t, "n") {
			copies = append(copies, backup.Copy{At: at})
			at = at.Add(-time.Duration(rapid.IntRange(1, 24*40).Draw(t, "hours")) * time.Hour)
		}
		left, days := 0, map[string]bool{}
		for i, v := range keep.Judge(copies, time.UTC) {
			if len(v.Reasons) > 0 {
				left++
				require.NotEmpty(t, v.Why())
			} else {
				require.Positive(t, i, "the newest stays")
			}
			days[v.At.Format("2006-01-02")] = true
		}
		require.GreaterOrEqual(t, left, min(max(1, keep.Daily), len(days)))
		require.LessOrEqual(t, left, max(1, keep.Daily)+keep.Weekly+keep.Monthly)
	})
}

// Whoever looks while a copy is put back finds the old database or the copy,
// never none: an empty one would be made in its place, or its absence told.
func TestThereIsADatabaseAtEveryMomentOfARestore(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.db")
	s := open(t, path)
	c, err := backup.Make(t.Context(), s, filepath.Join(dir, "backup"), night)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	done, missed := make(chan struct{}), make(chan int)
	go func() {
		n := 0
		for {
			select {
			case <-done:
				missed <- n
				return
			default:
				if _, err := os.Stat(path); err != nil {
					n++
				}
			}
		}
	}()
	for i := range 60 {
		_, err := backup.Restore(t.Context(), c.Path, path, true, night.Add(time.Duration(i)*time.Second))
		require.NoError(t, err)
	}
	close(done)
	require.Zero(t, <-missed)
}

// A database that a command has open is left alone: what the command writes
// would go with the old one.
func TestARestoreWaitsForWhoeverHasTheDatabaseOpen(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.db")
	s := open(t, path)
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "before"}))
	c, err := backup.Make(t.Context(), s, filepath.Join(dir, "backup"), night)
	require.NoError(t, err)
	_, err = backup.Restore(t.Context(), c.Path, path, true, night)
	require.ErrorIs(t, err, store.ErrInUse)
	require.ErrorContains(t, err, "nothing was changed")
	require.NoError(t, s.InPlace())
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "after"}))
	require.NoError(t, s.Close())
	_, err = backup.Restore(t.Context(), c.Path, path, true, night)
	require.NoError(t, err)
}

func TestCopiesMadeAtOnceAreAllWhole(t *testing.T) {
	dir := t.TempDir()
	s := open(t, filepath.Join(dir, "shop.db"))
	var g errgroup.Group
	for i := range 12 {
		g.Go(func() error {
			_, err := backup.Make(t.Context(), s, filepath.Join(dir, "backup"), night.Add(time.Duration(i)*time.Second))
			return err
		})
	}
	require.NoError(t, g.Wait())
	require.NoError(t, s.Close())
	copies, err := backup.List(filepath.Join(dir, "backup"))
	require.NoError(t, err)
	require.Len(t, copies, 12)
	for _, c := range copies {
		_, err := store.Inspect(t.Context(), c.Path)
		require.NoError(t, err)
	}
}
