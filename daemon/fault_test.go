package daemon_test

import (
	"context"
	"database/sql"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
)

// childRole is the variable that makes this test binary a process to be hurt.
const childRole = "KITMUSTER_TEST_ROLE"

func TestMain(m *testing.M) {
	role, home := os.Getenv(childRole), os.Getenv("KITMUSTER_TEST_HOME")
	if role == "" {
		os.Exit(m.Run())
	}
	if err := map[string]func(string) error{"rounds": childRounds, "cramped": childCramped, "barred": childBarred}[role](home); err != nil {
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

// slots is how many rounds the killed process has to make.
func slots() int {
	if full() {
		return 40
	}
	return 3
}

func slotOf(n int) store.Slot {
	day := asOf.Add(7 * n)
	return store.Slot{Job: daemon.JobRound, Key: day.String() + "T06:30", Due: day.Time().Add(6*time.Hour + 30*time.Minute)}
}

// childRounds makes round after round and delivers what it made, as the daemon
// does, but without waiting for Mondays.
func childRounds(home string) error {
	ctx := context.Background()
	l, err := lock.Take(filepath.Join(home, lock.FileName), "a test", time.Now())
	if err != nil {
		return err
	}
	b, err := books.Open(ctx, home)
	if err != nil {
		return err
	}
	port, err := strconv.Atoi(os.Getenv("KITMUSTER_TEST_PORT"))
	if err != nil {
		return err
	}
	policy := outbox.DefaultPolicy()
	policy.First, policy.Longest = time.Millisecond, 10*time.Millisecond
	courier := &delivery.Courier{Store: b.Store, Policy: policy, Now: time.Now, Log: slog.New(slog.DiscardHandler),
		Sender: smtp.New(smtp.Settings{Host: "localhost", Port: port, Security: smtp.Plain, Step: 10 * time.Second})}
	for n := range slots() {
		s := slotOf(n)
		if _, done, err := b.Store.RoundOfSlot(ctx, s.Name()); err != nil || !done {
			if err != nil {
				return err
			}
			if err := b.Store.InTx(ctx, func(tx *store.Tx) error { _, err := tx.BeginSlot(s); return err }); err != nil {
				return err
			}
			if _, err := round.Run(ctx, b, round.Options{AsOf: asOf.Add(7 * n), Slot: s.Name(), Now: s.Due}); err != nil {
				return err
			}
		}
		if _, err := courier.Run(ctx); err != nil {
			return err
		}
	}
	return joined(b.Close(), l.Release())
}

func joined(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Killed at random moments, the rounds are made once each and every message
// arrives; a message comes twice at most once a kill, and then it is the same.
func TestKilledAtRandomMoments(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 2)
	server := smtptest.Start(t, "none")
	kills := 8
	if full() {
		kills = 200
	}
	chance := rand.New(rand.NewPCG(1, 2))
	killed, finished := 0, false
	for !finished {
		c := child(t, "rounds", home, fmt.Sprintf("KITMUSTER_TEST_PORT=%d", server.Port))
		var says strings.Builder
		c.Stderr = &says
		require.NoError(t, c.Start())
		ended := make(chan error, 1)
		go func() { ended <- c.Wait() }()
		wait := time.Hour
		if killed < kills {
			wait = time.Duration(20+chance.IntN(500)) * time.Millisecond
		}
		select {
		case err := <-ended:
			require.NoError(t, err, says.String())
			finished = true
		case <-time.After(wait):
			require.NoError(t, c.Process.Signal(syscall.SIGKILL))
			killed++
			<-ended
		}
	}
	t.Logf("%d kills", killed)
	inspectAfterKills(t, home, server, killed)
}

func inspectAfterKills(t *testing.T, home string, server *smtptest.Server, killed int) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(home, books.DatabaseFile)+"?mode=ro")
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	one := func(query string) (s string) {
		require.NoError(t, db.QueryRow(query).Scan(&s))
		return s
	}
	require.Equal(t, "ok", one(`PRAGMA integrity_check`))
	require.Equal(t, fmt.Sprint(slots()), one(`SELECT count(*) FROM round`))
	require.Equal(t, fmt.Sprint(slots()), one(`SELECT count(*) FROM job_slot WHERE state = 'done'`), "slot and round commit together")
	require.Equal(t, "0", one(`SELECT count(*) FROM (SELECT 1 FROM proposal GROUP BY client_id, round_id HAVING count(*) > 1)`), "every proposal once")
	require.Equal(t, "0", one(`SELECT count(*) FROM delivery WHERE state <> 'accepted'`))

	seen := map[string][]byte{}
	twice := 0
	for _, r := range server.Received() {
		head, _, _ := strings.Cut(string(r.Bytes), "\r\n\r\n")
		i := strings.Index(head, "Message-ID: <")
		require.GreaterOrEqual(t, i, 0)
		id, _, _ := strings.Cut(head[i+len("Message-ID: <"):], ">")
		key := id + " to " + r.To
		if before, ok := seen[key]; ok {
			twice++
			require.Equal(t, before, r.Bytes)
		}
		seen[key] = r.Bytes
	}
	require.LessOrEqual(t, twice, killed)
	require.Equal(t, one(`SELECT count(*) FROM delivery`), fmt.Sprint(len(seen)), "none lost")
	require.NotEmpty(t, seen)
	t.Logf("%d messages, %d of them twice", len(seen), twice)
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
	if _, err := daemon.New(context.Background(), daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)}); err != nil {
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

func TestADatabaseThatAnotherProcessHolds(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 1)
	ctx := t.Context()
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	other, err := sql.Open("sqlite3", "file:"+filepath.Join(home, books.DatabaseFile)+"?_txlock=immediate")
	require.NoError(t, err)
	tx, err := other.BeginTx(ctx, nil)
	require.NoError(t, err)
	e := store.Event{Kind: "other", What: "x"}
	require.ErrorContains(t, b.Store.AddEvent(ctx, e), "locked")
	_, err = b.Store.UntoldEvents(ctx)
	require.NoError(t, err, "reading goes on")
	if full() {
		time.Sleep(time.Minute)
	}
	require.NoError(t, tx.Rollback())
	require.NoError(t, other.Close())
	require.NoError(t, b.Store.AddEvent(ctx, e))
	require.NoError(t, b.Close())
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
	for at := info.Size() / 3 / 4096 * 4096; at < info.Size(); at += 8 * 4096 { // every eighth page of two thirds
		_, err = f.WriteAt(junk, at)
		require.NoError(t, err)
	}
	require.NoError(t, f.Close())

	b, err = books.Open(ctx, home)
	require.NoError(t, err)
	require.ErrorIs(t, b.Store.QuickCheck(ctx), store.ErrDamaged)
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
