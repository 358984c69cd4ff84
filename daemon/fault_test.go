package daemon_test

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	folderway "github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/message"
)

// childRole is the variable that makes this test binary a process to be hurt.
const childRole = "KITMUSTER_TEST_ROLE"

func TestMain(m *testing.M) {
	role, home := os.Getenv(childRole), os.Getenv("KITMUSTER_TEST_HOME")
	if role == "" {
		os.Exit(m.Run())
	}
	if err := map[string]func(string) error{"rounds": childRounds, "answers": childAnswers, "cramped": childCramped,
		"barred": childBarred, "holder": childHolder, "daemon": childDaemon}[role](home); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func child(t *testing.T, role, home string, env ...string) *exec.Cmd {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), append(env, childRole+"="+role, "KITMUSTER_TEST_HOME="+home)...)
	return c
}

func full() bool { return os.Getenv("KITMUSTER_FULL") == "1" }

func slotOf(n int) store.Slot {
	day := asOf.Add(7 * n)
	return store.Slot{Job: daemon.JobRound, Key: day.String() + "T06:30",
		Due: day.Time().Add(6*time.Hour + 30*time.Minute)}
}

// childCramped works on a disk that takes no file larger than it has already.
func childCramped(home string) error {
	ctx := context.Background()
	b, err := books.Open(ctx, home)
	if err != nil {
		return err
	}
	signal.Ignore(syscall.SIGXFSZ)
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 64 << 10, Max: 64 << 10}); err != nil {
		return err
	}
	_, err = round.Run(ctx, b, round.Options{AsOf: asOf, Slot: slotOf(0).Name(), Now: asOf.Time()})
	if err == nil {
		return fmt.Errorf("the round was recorded on a full disk")
	}
	fmt.Println("the round said:", err)
	if _, err = backup.Make(ctx, b.Store, filepath.Join(home, "backup"), time.Now()); err == nil {
		return fmt.Errorf("a backup was made on a full disk")
	}
	fmt.Println("the backup said:", err)
	return nil
}

func TestADiskThatIsFullLosesNothing(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 2)
	out, err := child(t, "cramped", home).CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), "the round said:")
	half, err := filepath.Glob(filepath.Join(home, "backup", "*"))
	require.NoError(t, err)
	require.Empty(t, half, "no half backup")
	_, err = store.Inspect(t.Context(), filepath.Join(home, books.DatabaseFile))
	require.NoError(t, err)
	b, err := books.Open(t.Context(), home) // room again
	require.NoError(t, err)
	res, err := round.Run(t.Context(), b, round.Options{AsOf: asOf, Slot: slotOf(0).Name(), Now: asOf.Time()})
	require.NoError(t, err)
	require.False(t, res.Again, "the failed try left nothing behind")
	require.NoError(t, b.Close())
}

// childBarred may not write to the shop's folder.
func childBarred(home string) error {
	if _, err := daemon.New(context.Background(),
		daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)}); err != nil {
		fmt.Println(err)
		return nil
	}
	return fmt.Errorf("it started in a folder that it may not write to")
}

func TestAFolderThatMayNotBeWritten(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 1)
	require.NoError(t, os.Chmod(home, 0o555))
	t.Cleanup(func() { require.NoError(t, os.Chmod(home, 0o755)) })
	c := child(t, "barred", home)
	if os.Getuid() == 0 { // for root no folder is closed: become somebody else
		require.NoError(t, filepath.Walk(home, func(path string, info os.FileInfo, err error) error {
			if err == nil && !info.IsDir() {
				return os.Chmod(path, 0o444)
			}
			return err
		}))
		for dir := filepath.Dir(home); dir != os.TempDir() && len(dir) > 1; dir = filepath.Dir(dir) {
			require.NoError(t, os.Chmod(dir, 0o755))
		}
		copied := filepath.Join(filepath.Dir(home), "test-binary")
		text, err := os.ReadFile(os.Args[0])
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(copied, text, 0o755))
		require.NoError(t, os.Chmod(copied, 0o755))
		c.Path = copied
		c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		c.Dir = home
	}
	out, err := c.CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), "permission denied")
	require.Contains(t, string(out), home)
}

// childHolder locks the database against writing until its input ends.
func childHolder(home string) error {
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(home, books.DatabaseFile)+"?_txlock=immediate")
	if err != nil {
		return err
	}
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	fmt.Println("held")
	_, _ = io.Copy(io.Discard, os.Stdin)
	return joined(tx.Rollback(), db.Close())
}

// hold locks the database in another process until release is called.
func hold(t *testing.T, home string) (release func()) {
	t.Helper()
	c := child(t, "holder", home)
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	said := make([]byte, len("held"))
	_, err = io.ReadFull(out, said)
	require.NoError(t, err)
	return func() {
		require.NoError(t, in.Close())
		require.NoError(t, c.Wait())
	}
}

// The daemon waits for a database that another process has locked, says so
// once, does what was due as soon as it can, and can be asked all the while.
// A try lasts five seconds of the wall clock, since SQLite waits by that.
func TestADatabaseThatAnotherProcessHolds(t *testing.T) {
	t.Parallel()
	locked := 20 * time.Second
	if full() {
		locked = time.Minute
	}
	home := folder(t, weekly, 1)
	log := &logBuffer{}
	synctest.Test(t, func(t *testing.T) {
		live(t, home, log, func() {
			time.Sleep(2*time.Hour + 50*time.Minute - time.Second) // to 21:50 in New York, the slot of the outbox
			release := hold(t, home)
			time.Sleep(time.Second + locked)
			st := status(t, home)
			require.NotEmpty(t, st.Running)
			require.Empty(t, job(t, st, daemon.JobOutbox).State, "reading goes on, and nothing was done")
			release()
			time.Sleep(time.Minute)
			st = status(t, home)
			j := job(t, st, daemon.JobOutbox)
			require.Equal(t, []any{"1999-12-31T21:50", "done", 1}, []any{j.Slot, j.State, j.Attempts})
		})
	})
	require.Equal(t, 1, strings.Count(log.String(), "cannot be read or written; the job waits"), log.String())
	require.Contains(t, log.String(), "locked")
	require.Equal(t, 1, strings.Count(log.String(), "can be written again"))
}

func TestADamagedPageIsFoundAndNoGoodBackupIsLost(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 2)
	ctx := t.Context()
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	dir := filepath.Join(home, "backup")
	good, err := backup.Make(ctx, b.Store, dir, time.Now().Add(-24*time.Hour))
	require.NoError(t, err)
	require.NoError(t, b.Store.Tidy(ctx))
	require.NoError(t, b.Close())

	path := filepath.Join(home, books.DatabaseFile)
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	info, err := f.Stat()
	require.NoError(t, err)
	junk := make([]byte, 4096)
	for i := range junk {
		junk[i] = 0xA5
	}
	// every fourth page of the last quarter; what is before holds the tables' names
	for at := info.Size() * 3 / 4 / 4096 * 4096; at < info.Size(); at += 4 * 4096 {
		_, err = f.WriteAt(junk, at)
		require.NoError(t, err)
	}
	require.NoError(t, f.Close())

	b, err = books.Open(ctx, home)
	require.NoError(t, err)
	err = b.Store.QuickCheck(ctx)
	require.ErrorIs(t, err, store.ErrDamaged)
	require.NotContains(t, err.Error(), "***")
	require.NotContains(t, err.Error(), "\n", "one sentence")
	_, err = backup.Make(ctx, b.Store, dir, time.Now())
	require.Error(t, err)
	require.NoError(t, b.Close())
	copies, err := backup.List(dir)
	require.NoError(t, err)
	require.Equal(t, []backup.Copy{good}, copies)
	_, err = backup.Restore(ctx, good.Path, path, true, time.Now())
	require.NoError(t, err)
	_, err = store.Inspect(ctx, path)
	require.NoError(t, err)
}

func TestADatabaseOfANewerProgramIsRefused(t *testing.T) {
	home := folder(t, weekly, 1)
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(home, books.DatabaseFile))
	require.NoError(t, err)
	_, err = db.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9001, 1)`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	_, err = daemon.New(t.Context(), daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)})
	require.ErrorIs(t, err, store.ErrNewer)
	require.ErrorContains(t, err, "9001")
}

// A daemon whose database is taken away would go on recording rounds and mails
// in a file without a name; started anew, it would begin with an empty one.
func TestADatabaseThatIsTakenAwayStopsTheDaemon(t *testing.T) {
	home := folder(t, weekly, 1)
	path := filepath.Join(home, books.DatabaseFile)
	log := slog.New(slog.DiscardHandler)
	synctest.Test(t, func(t *testing.T) {
		d, err := daemon.New(context.Background(), daemon.Options{Home: home, Log: log})
		require.NoError(t, err)
		ended := make(chan error, 1)
		go func() { ended <- d.Run(context.Background()) }()
		time.Sleep(time.Hour)
		require.NoError(t, os.Rename(path, path+".elsewhere"))
		time.Sleep(time.Minute)
		require.ErrorIs(t, <-ended, store.ErrMoved)
		require.NoError(t, d.Close())
	})
	_, err := daemon.New(t.Context(), daemon.Options{Home: home, Log: log})
	require.ErrorIs(t, err, store.ErrMissing)
	_, err = daemon.ReadStatus(t.Context(), home, time.Now())
	require.ErrorIs(t, err, store.ErrMissing)
	require.NoFileExists(t, path)
}

// What left the house under a number stays the only one of that number, and a
// mail program must not take a mail made after a restore for one it has.
func TestNothingComesAgainUnderItsNumberAfterARestore(t *testing.T) {
	home := folder(t, weekly, 1)
	ctx := t.Context()
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	first, err := round.Run(ctx, b, round.Options{AsOf: asOf, Now: asOf.Time()})
	require.NoError(t, err)
	copied, err := backup.Make(ctx, b.Store, filepath.Join(home, "backup"), time.Now())
	require.NoError(t, err)
	again := func() *round.Result {
		res, err := round.Run(ctx, b, round.Options{AsOf: asOf + 7, Now: (asOf + 7).Time()})
		require.NoError(t, err)
		return res
	}
	lost := again()
	require.NoError(t, b.Close())
	path := filepath.Join(home, books.DatabaseFile)
	_, err = backup.Restore(ctx, copied.Path, path, true, time.Now())
	require.NoError(t, err)
	b, err = books.Open(ctx, home)
	require.NoError(t, err)
	anew := again()
	require.NoError(t, b.Close())

	require.Greater(t, lost.Number, first.Number)
	require.Greater(t, anew.Number, lost.Number)
	given := map[string]bool{}
	proposals := map[string]bool{}
	for _, res := range []*round.Result{first, lost, anew} {
		for i := range res.Messages {
			m := &res.Messages[i]
			for _, l := range m.Letters {
				require.False(t, given[l.MessageID], l.MessageID)
				given[l.MessageID] = true
			}
			if m.Kind == message.KindReorder {
				require.False(t, proposals[m.ID], m.ID) // proposal-7, and proposal-7-form-2
				proposals[m.ID] = true
			}
		}
	}
	require.NotEmpty(t, proposals)
}

// A folder of drafts that cannot be written holds up nothing else, is said by
// status, and has its drafts when it can.
func TestDraftsThatCannotBeWrittenAreSaidAndWrittenLater(t *testing.T) {
	home := folder(t, weekly, 1)
	ctx := t.Context()
	drafts := filepath.Join(home, books.DraftsDir)
	require.NoError(t, os.WriteFile(drafts, nil, 0o600)) // a file where the folder belongs
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	res, err := round.Run(ctx, b, round.Options{AsOf: asOf, Now: asOf.Time()})
	require.NoError(t, err)
	zone := time.UTC
	cfg, err := config.ReadFolder(home, zone)
	require.NoError(t, err)
	now := time.Now()
	courier := daemon.Courier(home, cfg, b.Store, folderway.New(filepath.Join(home, "mail")),
		func() time.Time { return now })
	courier.Log = slog.New(slog.DiscardHandler)
	report, err := courier.Run(ctx)
	require.NoError(t, err)
	require.Len(t, res.Messages, report.Accepted, "the mails themselves are out")
	require.Contains(t, report.Unwritten, "it is a file, not a folder")
	st, err := daemon.ReadStatus(ctx, home, now)
	require.NoError(t, err)
	require.Contains(t, strings.Join(st.Worries, "\n"), "Drafts for you to send")
	require.Contains(t, strings.Join(st.Worries, "\n"), "it is a file, not a folder")

	require.NoError(t, os.Remove(drafts))
	now = now.Add(2 * time.Minute)
	report, err = courier.Run(ctx)
	require.NoError(t, err)
	require.Positive(t, report.Written)
	require.NoError(t, b.Close())
	st, err = daemon.ReadStatus(ctx, home, now)
	require.NoError(t, err)
	require.NotContains(t, strings.Join(st.Worries, "\n"), "Drafts for you")
	lie, err := filepath.Glob(filepath.Join(drafts, "*.eml"))
	require.NoError(t, err)
	require.Len(t, lie, report.Written)
}
