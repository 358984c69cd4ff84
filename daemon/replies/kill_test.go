package replies_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/replies"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/setup"
)

const homeEnv = "KITMUSTER_REPLIES_HOME"

// portEnv is the port of the mailbox that is read besides.
const portEnv = "KITMUSTER_REPLIES_PORT"

func mailboxAt(port int) *inbox.Mailbox {
	return &inbox.Mailbox{Host: "127.0.0.1", Port: port, Security: inbox.Plain, User: "shop", Password: "secret",
		Folder: "INBOX", Step: 5 * time.Second}
}

// TestMain is the process that is killed where the environment names its folder.
func TestMain(m *testing.M) {
	if home := os.Getenv(homeEnv); home != "" {
		if err := takeAll(home); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// takeAll does with a folder of answers what the service does each minute.
func takeAll(home string) error {
	text, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	if err != nil {
		return err
	}
	shop, err := setup.ReadShop("shop.yaml", text)
	if err != nil {
		return err
	}
	ctx := context.Background()
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{MustExist: true})
	if err != nil {
		return err
	}
	d := &replies.Desk{Books: books.With(home, shop, st), Keys: inbox.Keys{bytes.Repeat([]byte("K"), 32)},
		Trust: inbox.Trust{Server: "mx.quaypress.example"},
		From:  shop.Owner, Now: func() time.Time { return tuesday }, Log: slog.New(slog.DiscardHandler)}
	kept := inbox.Maildir{Dir: filepath.Join(home, "inbox")}.Take(ctx, inbox.DefaultLimits.Bytes,
		func(name string, raw []byte) error {
			_, _, err := st.KeepReply(ctx, name, raw, false)
			return err
		})
	if port, err := strconv.Atoi(os.Getenv(portEnv)); err == nil {
		kept = errors.Join(kept, replies.ReadMailbox(ctx, st, mailboxAt(port), tuesday))
	}
	_, err = d.Judge(ctx)
	return errors.Join(kept, err, st.Close())
}

// Killed at random moments while it takes answers, the program acts on each once.
func TestKilledWhileItTakesAnswers(t *testing.T) {
	d := newDesk(t)
	in := filepath.Join(d.Books.Home, "inbox", "new")
	require.NoError(t, os.MkdirAll(in, 0o700))
	killedTaking(t, d, 60*time.Millisecond,
		func(name string, raw []byte) { require.NoError(t, os.WriteFile(filepath.Join(in, name), raw, 0o600)) })
}

// killedTaking kills the process that takes answers at random moments within a time.
func killedTaking(t *testing.T, d *replies.Desk, within time.Duration, deliver func(name string, raw []byte),
	env ...string) {
	t.Helper()
	kills := 15
	if os.Getenv("KITMUSTER_FULL") != "" {
		kills = 200
	}
	exe, err := os.Executable()
	require.NoError(t, err)
	run := func() *exec.Cmd {
		c := exec.Command(exe)
		c.Env = append(append(os.Environ(), homeEnv+"="+d.Books.Home), env...)
		c.Stderr = os.Stderr
		return c
	}
	rng := rand.New(rand.NewPCG(1, 9))
	killed, number := 0, int64(100)
	for killed < kills {
		number++ // another proposal, and its yes
		p := &reorder.Proposal{Number: number, Client: "harbour", AsOf: monday, State: reorder.Drafted,
			OrderBy: monday + 4, Arrives: monday + 14,
			Lines: []reorder.Line{{SKU: bookstest.PoloM, Order: 2, Wanted: 2, Buy: 2}}}
		require.NoError(t, d.Books.Store.InTx(t.Context(), func(tx *store.Tx) error { return tx.AddProposal(1, p) }))
		mark, err := d.Keys.Write(inbox.Token{Kind: inbox.ToProposal, Number: number, Form: 1},
			inbox.QuestionOf("harbour", monday))
		require.NoError(t, err)
		raw := bytes.ReplaceAll(read(t, "short-yes-1"), []byte("p12.1.qzppuhjv2vdb2ojf"), []byte(mark))
		deliver(fmt.Sprint(number), raw)
		c := run()
		require.NoError(t, c.Start())
		time.Sleep(time.Duration(rng.Int64N(int64(within))))
		if c.Process.Kill() == nil {
			killed++
		}
		_ = c.Wait()
	}
	require.NoError(t, run().Run())
	all, err := d.Books.Store.Replies(t.Context(), 10_000)
	require.NoError(t, err)
	require.Len(t, all, int(number-100), "no mail is lost")
	done := 0
	for _, r := range all {
		if r.State == store.ReplyDone {
			done++
			continue
		}
		// One that was in hand at kill after kill is put before a person.
		require.Equal(t, store.ReplyQuarantined, r.State, r.Why)
		require.Contains(t, r.Why, "the program ended")
	}
	require.Greater(t, done, int(number-100)*8/10)
	list, err := d.Books.Store.Proposals(t.Context(), "harbour", reorder.Accepted)
	require.NoError(t, err)
	require.Len(t, list, done, "every yes is carried out")
	require.Len(t, letters(t, d)["job"], done+1, "and once: the papers of each went out once")
	entries, err := d.Books.Store.Imports(t.Context(), "harbour", 10_000)
	require.NoError(t, err)
	require.Len(t, entries, done)
	t.Logf("%d kills, %d answers, %d carried out", killed, len(all), done)
}
