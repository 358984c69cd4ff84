package daemon_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	folderway "github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
)

// Stages that the process to be killed reports as it reaches them, one byte each.
const (
	atComposed  = 'c' // the round is worked out
	atWritten   = 'w' // and stored but for the commit
	atCommitted = 'x'
	atHandover  = 'h' // a message is handed to the server: MAIL, RCPT, DATA follow
	atAnswered  = 'a' // the server has it, the outbox does not know yet
	atAnyTime   = ' '
)

const stages = "cwxha "

// progress tells the parent process how far this one has come.
type progress struct{ to *os.File }

func (p progress) say(stage byte) { _, _ = p.to.Write([]byte{stage}) } // the parent may have stopped to listen

// told is a transport that reports when it hands a message over.
type told struct {
	outbox.Sender
	progress
}

func (t told) Open(ctx context.Context) (outbox.Session, error) {
	s, err := t.Sender.Open(ctx)
	return toldSession{s, t.progress}, err
}

type toldSession struct {
	outbox.Session
	progress
}

func (t toldSession) Send(ctx context.Context, l *outbox.Letter, to string) error {
	t.say(atHandover)
	err := t.Session.Send(ctx, l, to)
	t.say(atAnswered)
	return err
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
	slots, err := strconv.Atoi(os.Getenv("KITMUSTER_TEST_SLOTS"))
	if err != nil {
		return err
	}
	parent := progress{os.NewFile(3, "progress")}
	policy := outbox.DefaultPolicy()
	policy.First, policy.Longest = time.Millisecond, 10*time.Millisecond
	way := smtp.New(smtp.Settings{Host: "localhost", Port: port, Security: smtp.Plain, Step: 10 * time.Second})
	courier := &delivery.Courier{Store: b.Store, Policy: policy, Now: time.Now, Log: slog.New(slog.DiscardHandler),
		Sender: told{way, parent},
		Drafts: folderway.Drafts(filepath.Join(home, books.DraftsDir))}
	for n := range slots {
		if err := roundOfSlot(ctx, b, n, parent); err != nil {
			return err
		}
		if _, err := courier.Run(ctx); err != nil {
			return err
		}
	}
	return joined(b.Close(), l.Release())
}

// roundOfSlot makes the n-th round unless it is there.
func roundOfSlot(ctx context.Context, b *books.Books, n int, parent progress) error {
	s := slotOf(n)
	if _, done, err := b.Store.RoundOfSlot(ctx, s.Name()); err != nil || done {
		return err
	}
	if err := b.Store.InTx(ctx, func(tx *store.Tx) error { _, err := tx.BeginSlot(s); return err }); err != nil {
		return err
	}
	_, err := round.Run(ctx, b, round.Options{AsOf: asOf.Add(7 * n), Slot: s.Name(), Now: s.Due,
		Reached: func(stage round.Stage) {
			parent.say(map[round.Stage]byte{round.Composed: atComposed, round.Written: atWritten,
				round.Committed: atCommitted}[stage])
		}})
	return err
}

func joined(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// kills is how often the process is killed.
func kills() int {
	if full() {
		return 200
	}
	return len(stages)
}

// Killed at random moments and at those that matter most, the rounds are made
// once each and every message arrives; a message comes twice at most once a
// kill, and then it is the same.
func TestKilledAtRandomMoments(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 2)
	server := smtptest.Start(t, "none")
	killed, slots := killAgainAndAgain(t, home, server.Port)
	inspectAfterKills(t, home, slots, killed, server.Received())
}

// killAgainAndAgain lets a process make rounds and kills it, until it has been
// killed often enough and then made all its rounds.
func killAgainAndAgain(t *testing.T, home string, port int) (killed, slots int) {
	t.Helper()
	chance := rand.New(rand.NewPCG(1, 2))
	at := map[byte]int{}
	for slots = 3; ; {
		stage := byte(0)
		if killed < kills() {
			stage = stages[killed%len(stages)]
		}
		if liveUntil(t, home, port, slots, stage, chance) {
			killed++
			at[stage]++
			continue
		}
		if killed == kills() {
			break
		}
		slots += 2 // it had nothing left to do
	}
	t.Logf("%d kills over %d rounds: %d when composed, %d before the commit, %d after it, %d while handing over, %d before the answer was recorded, %d at any time",
		killed, slots, at[atComposed], at[atWritten], at[atCommitted], at[atHandover], at[atAnswered], at[atAnyTime])
	return killed, slots
}

// liveUntil runs the process and kills it at once or up to 4 ms after it has reached a
// stage, at any time, or (stage 0) never; it tells whether it had to be killed.
func liveUntil(t *testing.T, home string, port, slots int, stage byte, chance *rand.Rand) bool {
	t.Helper()
	c := child(t, "rounds", home, fmt.Sprintf("KITMUSTER_TEST_PORT=%d", port),
		fmt.Sprintf("KITMUSTER_TEST_SLOTS=%d", slots))
	reader, writer, err := os.Pipe()
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	c.ExtraFiles = []*os.File{writer}
	var says strings.Builder
	c.Stderr = &says
	require.NoError(t, c.Start())
	require.NoError(t, writer.Close())

	if stage == atAnyTime {
		late := time.AfterFunc(time.Duration(20+chance.IntN(500))*time.Millisecond, func() { _ = c.Process.Kill() })
		defer late.Stop()
	}
	times := 1 + chance.IntN(2)
	for one := make([]byte, 1); ; {
		if _, err := reader.Read(one); err != nil {
			break // it has ended
		}
		if one[0] != stage {
			continue
		}
		if times--; times == 0 {
			if chance.IntN(2) == 0 {
				time.Sleep(time.Duration(chance.IntN(4000)) * time.Microsecond)
			}
			_ = c.Process.Kill() // it may have come to its end meanwhile
		}
	}
	err = c.Wait()
	if c.ProcessState.Exited() {
		require.NoError(t, err, says.String())
	}
	return !c.ProcessState.Exited()
}

func inspectAfterKills(t *testing.T, home string, slots, killed int, received []smtptest.Received) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(home, books.DatabaseFile)+"?mode=ro")
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	one := func(query string) (s string) {
		require.NoError(t, db.QueryRow(query).Scan(&s))
		return s
	}
	require.Equal(t, "ok", one(`PRAGMA integrity_check`))
	require.Equal(t, fmt.Sprint(slots), one(`SELECT count(*) FROM round`))
	require.Equal(t, fmt.Sprint(slots), one(`SELECT count(*) FROM job_slot WHERE state = 'done'`),
		"slot and round commit together")
	require.Equal(t, "0",
		one(`SELECT count(*) FROM (SELECT 1 FROM proposal GROUP BY client_id, round_id HAVING count(*) > 1)`),
		"every proposal once")
	require.Equal(t, "0", one(`SELECT count(*) FROM delivery WHERE state <> 'accepted'`))

	seen := map[string][]byte{}
	twice := 0
	for _, r := range received {
		head, _, _ := strings.Cut(string(r.Bytes), "\r\n\r\n")
		i := strings.Index(head, "Message-ID: <")
		require.GreaterOrEqual(t, i, 0)
		id, _, _ := strings.Cut(head[i+len("Message-ID: <"):], ">")
		var stored []byte
		require.NoError(t, db.QueryRow(`SELECT bytes FROM message WHERE message_id = ?`, id).Scan(&stored))
		require.Equal(t, string(bytes.TrimSpace(stored)), string(bytes.TrimSpace(r.Bytes)),
			"whole, and as it was stored")
		key := id + " to " + r.To
		if before, ok := seen[key]; ok {
			twice++
			require.Equal(t, before, r.Bytes)
		}
		seen[key] = r.Bytes
	}
	require.LessOrEqual(t, twice, killed)
	require.Equal(t, one(`SELECT count(*) FROM delivery WHERE way = 'post'`), fmt.Sprint(len(seen)), "none lost")
	draftsLie(t, db, home)
	require.NotEmpty(t, seen)
	t.Logf("%d messages, %d of them twice", len(seen), twice)
}

// draftsLie looks whether the draft of every reorder lies in its folder, or in that of
// what is settled, as it was stored.
func draftsLie(t *testing.T, db *sql.DB, home string) {
	t.Helper()
	rows, err := db.Query(`SELECT m.name, m.bytes FROM message m JOIN delivery d ON d.message = m.id WHERE d.way = 'draft'`)
	require.NoError(t, err)
	defer func() { require.NoError(t, rows.Close()) }()
	drafts := 0
	for rows.Next() {
		var name string
		var stored []byte
		require.NoError(t, rows.Scan(&name, &stored))
		file := folderway.DraftName(&outbox.Letter{Name: name})
		lies, err := os.ReadFile(filepath.Join(home, books.DraftsDir, file))
		if errors.Is(err, fs.ErrNotExist) { // a younger form took its place
			lies, err = os.ReadFile(filepath.Join(home, books.DraftsDir, folderway.SettledDir, file))
		}
		require.NoError(t, err)
		require.Equal(t, string(stored), string(lies))
		drafts++
	}
	require.NoError(t, rows.Err())
	var reorders int
	require.NoError(t, db.QueryRow(`SELECT count(*) FROM message m JOIN delivery d ON d.message = m.id WHERE m.kind = 'reorder' AND d.way = 'post'`).Scan(&reorders))
	require.Equal(t, reorders, drafts, "a draft for every reorder")
	require.NotZero(t, drafts)
}
