package daemon_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// The bubble's clock begins at midnight UTC on 1 January 2000, a Saturday.
var asOf = programme.NewDate(1999, 12, 27)

// world is an invented shop, its smallest client first.
var world = sync.OnceValue(func() simulate.World {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	slices.SortFunc(w.Cases, func(a, b simulate.Case) int { return len(a.Roster) - len(b.Roster) })
	w.Shop.TimeZone = "America/New_York"
	return w
})

// folder makes a shop's folder with one small client of an invented world.
func folder(t testing.TB, config string, clients int) string {
	t.Helper()
	ctx := context.Background()
	home := t.TempDir()
	w := world()
	w.Cases = w.Cases[:min(clients, len(w.Cases))]
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), setup.WriteShop(&w.Shop), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"), []byte(config), 0o600))
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	require.NoError(t, st.InTx(ctx, func(tx *store.Tx) error {
		for i := range w.Cases {
			if err := bookstest.Put(tx, &w.Cases[i]); err != nil {
				return err
			}
		}
		return nil
	}))
	require.NoError(t, st.Close())
	return home
}

// logBuffer collects a daemon's log.
type logBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *logBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *logBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}

// live runs a daemon for a while and stops it in good order.
func live(t *testing.T, home string, log io.Writer, during func()) {
	t.Helper()
	liveWith(t, home, log, left(1<<40), during)
}

// left is a disk with so many bytes left: whether the machine of the tests is short of
// room is not what they ask.
func left(bytes int64) func(string) (int64, error) {
	return func(string) (int64, error) { return bytes, nil }
}

// liveWith is live on a disk with so much room; nil = the one that home lies on.
func liveWith(t *testing.T, home string, log io.Writer, free func(string) (int64, error), during func()) {
	t.Helper()
	d, err := daemon.New(context.Background(), daemon.Options{Home: home,
		Log: slog.New(slog.NewTextHandler(log, nil)), Free: free})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	during()
	begin := time.Now()
	cancel()
	require.NoError(t, <-ended)
	require.Less(t, time.Since(begin), 10*time.Second)
	require.NoError(t, d.Close())
}

const weekly = `schedule:
  round: "30 6 * * 1"
  outbox: "50 */3 * * *"
  drop: "*/30 22-23,0 * * *"
limits: {tries: 0}
`

func status(t *testing.T, home string) daemon.Status {
	t.Helper()
	st, err := daemon.ReadStatus(context.Background(), home, time.Now())
	require.NoError(t, err)
	return st
}

func job(t *testing.T, st daemon.Status, name string) daemon.JobStatus {
	t.Helper()
	i := slices.IndexFunc(st.Jobs, func(j daemon.JobStatus) bool { return j.Name == name })
	require.GreaterOrEqual(t, i, 0)
	return st.Jobs[i]
}

func TestAWeekOfTheDaemon(t *testing.T) {
	home := folder(t, weekly, 1)
	log := &logBuffer{}
	synctest.Test(t, func(t *testing.T) {
		live(t, home, log, func() { time.Sleep(60 * time.Hour) }) // to Monday noon
		st := status(t, home)
		require.Equal(t, "2000-01-03T06:30", job(t, st, daemon.JobRound).Slot)
		require.Equal(t, "done", job(t, st, daemon.JobRound).State)
		require.Equal(t, 3, st.Backup.Copies)
		require.Equal(t, "done", job(t, st, daemon.JobSelfCheck).State)
		require.Positive(t, st.Outbox.Counts["accepted"])
		require.Zero(t, st.Outbox.Counts["waiting"])
	})
	mails, err := filepath.Glob(filepath.Join(home, "mail", "*.eml"))
	require.NoError(t, err)
	require.NotEmpty(t, mails)
	for _, m := range mails {
		require.FileExists(t, strings.TrimSuffix(m, ".eml")+".html")
	}
	require.NoError(t, filepath.Walk(home, func(path string, info os.FileInfo, err error) error {
		if err == nil && path != home {
			require.Zero(t, info.Mode().Perm()&0o077, "%s is %v", path, info.Mode())
		}
		return err
	}))
	require.NotContains(t, log.String(), "@", "no addresses in the log")
	require.NotContains(t, log.String(), "level=ERROR")
}

func TestADiskThatFillsUpIsToldOfInTime(t *testing.T) {
	home := folder(t, weekly, 1)
	synctest.Test(t, func(t *testing.T) {
		liveWith(t, home, io.Discard, left(150<<20), func() { time.Sleep(60 * time.Hour) })
		check := job(t, status(t, home), daemon.JobSelfCheck)
		require.Equal(t, "failed", check.State)
		require.Contains(t, check.Error, "has only 150 MB left")
		require.Equal(t, "done", job(t, status(t, home), daemon.JobRound).State, "the round goes on")
	})
	synctest.Test(t, func(t *testing.T) {
		time.Sleep(60 * time.Hour)
		live(t, home, io.Discard, func() { time.Sleep(24 * time.Hour) })
		require.Equal(t, "done", job(t, status(t, home), daemon.JobSelfCheck).State,
			"and all is well when there is room again")
	})
}

func TestTextsOfMailsAreKeptForTheirDays(t *testing.T) {
	home := folder(t, weekly+"mail: {keep_days: 1}\n", 1)
	texts := func() (with, all int) {
		s, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
		require.NoError(t, err)
		for ; ; all++ {
			l, ok, err := s.Letter(context.Background(), int64(all+1))
			require.NoError(t, err)
			if !ok {
				break
			}
			if len(l.Bytes) > 0 {
				with++
			}
		}
		require.NoError(t, s.Close())
		return with, all
	}
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() {
			time.Sleep(3 * 24 * time.Hour) // the mails of Monday the 3rd went out that morning
			with, all := texts()
			require.Positive(t, all)
			require.Equal(t, all, with)
			time.Sleep(2 * 24 * time.Hour)
			with, _ = texts()
			require.Zero(t, with)
		})
	})
}

func TestASlotMissedWhileTheMachineWasOffIsDoneOnce(t *testing.T) {
	home := folder(t, weekly, 1)
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() { time.Sleep(time.Hour) })
		time.Sleep(30 * 24 * time.Hour) // off: four Mondays go by
		log := &logBuffer{}
		live(t, home, log, func() { time.Sleep(30 * time.Minute) })
		j := job(t, status(t, home), daemon.JobRound)
		require.Equal(t, []any{"2000-01-24T06:30", "done", 3}, []any{j.Slot, j.State, j.Missed})
		live(t, home, io.Discard, func() { time.Sleep(time.Hour) })
		require.Equal(t, j.Finished, job(t, status(t, home), daemon.JobRound).Finished, "not done again")
	})
	require.Equal(t, 1, rounds(t, home))
}

func rounds(t *testing.T, home string) int {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	n, err := s.Rows(context.Background())
	require.NoError(t, err)
	require.NoError(t, s.Close())
	return int(n["round"])
}

func TestANewShopDoesNotCatchUpOnTheTimeBeforeIt(t *testing.T) {
	home := folder(t, weekly, 1)
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() { time.Sleep(time.Hour) })
		require.Empty(t, job(t, status(t, home), daemon.JobRound).State)
	})
}

func TestSettingsThatChangeWhileRunning(t *testing.T) {
	home := folder(t, weekly, 1)
	log := &logBuffer{}
	path := filepath.Join(home, "config.yaml")
	synctest.Test(t, func(t *testing.T) {
		live(t, home, log, func() {
			time.Sleep(time.Minute)
			require.NoError(t, os.WriteFile(path, []byte("schedule: {ronud: x}\n"), 0o600))
			time.Sleep(time.Hour)
			require.Contains(t, log.String(), "did you mean round?")
			require.NoError(t, os.WriteFile(path, []byte(strings.Replace(weekly, "30 6 * * 1", "0 21 * * *", 1)),
				0o600))
			time.Sleep(3 * time.Hour) // 21:00 in New York is 02:00 UTC
		})
		require.Equal(t, "done", job(t, status(t, home), daemon.JobRound).State, log.String())
		require.Equal(t, 1, strings.Count(log.String(), "cannot be read; going on"))
	})
}

// Times of a new schedule that lie before the change were never planned: nobody
// wants the week's mails because a line of config.yaml was edited.
func TestAChangedScheduleIsNotCaughtUpOn(t *testing.T) {
	home := folder(t, weekly, 1)
	round := func(text string) {
		require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"),
			[]byte(strings.Replace(weekly, "30 6 * * 1", text, 1)), 0o600))
	}
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() { time.Sleep(time.Hour) }) // to 20:00 in New York
		round("0 18 * * *")
		live(t, home, io.Discard, func() {
			time.Sleep(5 * time.Minute)
			require.Empty(t, job(t, status(t, home), daemon.JobRound).State, "changed while it was off")
			round("0 19 * * *")
			time.Sleep(5 * time.Minute)
			require.Empty(t, job(t, status(t, home), daemon.JobRound).State, "changed while it ran")
			round("0 21 * * *")
			time.Sleep(time.Hour)
		})
		j := job(t, status(t, home), daemon.JobRound)
		require.Equal(t, []any{"1999-12-31T21:00", "done", 0}, []any{j.Slot, j.State, j.Missed})
		time.Sleep(24 * time.Hour)
		live(t, home, io.Discard, func() { time.Sleep(5 * time.Minute) })
		j = job(t, status(t, home), daemon.JobRound)
		require.Equal(t, []any{"2000-01-01T21:00", "done"}, []any{j.Slot, j.State},
			"what was missed under the same schedule is")
		round("0 12 * * *")
		live(t, home, io.Discard, func() { time.Sleep(5 * time.Minute) })
		require.Equal(t, "2000-01-01T21:00", job(t, status(t, home), daemon.JobRound).Slot,
			"the last result stays in sight")
	})
	require.Equal(t, 2, rounds(t, home))
}

// A config.yaml that is gone or empty, as an editor or a full disk leaves it, is
// no wish for the defaults: mails would go to a folder and count as delivered.
func TestSettingsThatVanishWhileRunning(t *testing.T) {
	for name, vanish := range map[string]func(path string) error{
		"gone":  os.Remove,
		"empty": func(path string) error { return os.WriteFile(path, []byte("\n"), 0o600) },
	} {
		t.Run(name, func(t *testing.T) {
			with := weekly + "mail: {server: 127.0.0.1, port: 1, security: none}\n"
			home := folder(t, with, 1)
			post(t, home, outbox.Delivery{State: outbox.Waiting}, "due")
			log := &logBuffer{}
			path := filepath.Join(home, "config.yaml")
			synctest.Test(t, func(t *testing.T) {
				live(t, home, log, func() {
					time.Sleep(time.Minute)
					require.NoError(t, vanish(path))
					time.Sleep(4 * time.Hour) // past a slot of the outbox
					st := status(t, home)
					require.Contains(t, st.Worries[0], "config.yaml is "+name)
					require.Empty(t, st.Outbox.Way, "it is not the folder of the defaults")
					require.NoError(t, os.WriteFile(path, []byte(with), 0o600))
					time.Sleep(5 * time.Minute)
				})
				st := status(t, home)
				require.Equal(t, "done", job(t, st, daemon.JobOutbox).State)
				require.Equal(t, 1, st.Outbox.Counts["waiting"])
			})
			require.NoDirExists(t, filepath.Join(home, "mail"))
			require.Contains(t, log.String(), "config.yaml is "+name)
			require.Equal(t, 1, strings.Count(log.String(), "cannot be read; going on"))
			require.Contains(t, log.String(), "going on with the new ones", "when it is back")
		})
	}
}

// A file that is being written is not taken for what it says so far.
func TestSettingsThatAreStillBeingWritten(t *testing.T) {
	home := folder(t, weekly, 1)
	log := &logBuffer{}
	synctest.Test(t, func(t *testing.T) {
		live(t, home, log, func() {
			for n := range 60 {
				require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"),
					[]byte(weekly+strings.Repeat("# more\n", n+1)), 0o600))
				time.Sleep(10 * time.Second)
			}
			require.NotContains(t, log.String(), "settings changed")
			time.Sleep(time.Minute)
		})
	})
	require.Equal(t, 1, strings.Count(log.String(), "settings changed"))
}

// The daemon goes on with the settings it had, and can be asked how it stands.
func TestStatusWhileTheSettingsCannotBeRead(t *testing.T) {
	home := folder(t, weekly, 1)
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() {
			time.Sleep(4 * time.Hour) // past a slot of the outbox
			good := status(t, home)
			for _, name := range []string{"config.yaml", books.ShopFile} {
				path := filepath.Join(home, name)
				text, err := os.ReadFile(path)
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(path, []byte("mail: {server"), 0o600))
				st := status(t, home)
				require.Contains(t, st.Worries[0], name)
				require.Contains(t, st.Worries[0], "goes on with the settings it had")
				require.Equal(t, map[string]string{"config.yaml": good.Zone, books.ShopFile: "UTC"}[name], st.Zone)
				require.Equal(t, good.Running, st.Running)
				require.Equal(t, good.Outbox.Counts, st.Outbox.Counts)
				j := job(t, st, daemon.JobOutbox)
				require.Equal(t, []any{"1999-12-31T21:50", "done"}, []any{j.Slot, j.State})
				require.Nil(t, j.Next)
				require.NoError(t, os.WriteFile(path, text, 0o600))
			}
		})
	})
}

func TestStatusNamesFoldersThatCannotBeRead(t *testing.T) {
	home := folder(t, weekly, 1)
	for _, name := range []string{"drop", books.BackupDir} {
		require.NoError(t, os.WriteFile(filepath.Join(home, name), nil, 0o600))
	}
	worries := strings.Join(status(t, home).Worries, "\n")
	require.Contains(t, worries, "look into the drop folder")
	require.Contains(t, worries, "list backups")
}

func TestStatusTellsOfMailsThatWereRefused(t *testing.T) {
	home := folder(t, weekly, 1)
	settled := func(state outbox.State, ago time.Duration) {
		post(t, home, outbox.Delivery{State: state, Settled: time.Now().Add(-ago)}, fmt.Sprint(state, ago))
	}
	const worry = "Mails that were refused or given up in the last 7 days: "
	settled(outbox.Accepted, time.Hour)
	settled(outbox.Refused, 8*24*time.Hour)
	require.NotContains(t, strings.Join(status(t, home).Worries, "\n"), worry)
	settled(outbox.Refused, time.Hour)
	settled(outbox.GivenUp, 6*24*time.Hour)
	require.Contains(t, strings.Join(status(t, home).Worries, "\n"), worry+"2.")
}

func TestStatusTellsOfMailsThatWaitLong(t *testing.T) {
	home := folder(t, weekly, 1)
	post(t, home, outbox.Delivery{State: outbox.Waiting}, "new")
	const worry = "Mails that wait for more than a day: "
	require.NotContains(t, strings.Join(status(t, home).Worries, "\n"), worry)
	st, err := daemon.ReadStatus(t.Context(), home, time.Now().Add(25*time.Hour))
	require.NoError(t, err)
	require.Contains(t, strings.Join(st.Worries, "\n"), worry+"1.")
}

// A transport that failed is closed until a message has gone through, also in the
// minute in which the next try is due.
func TestStatusTellsOfAWayOutThatFails(t *testing.T) {
	home := folder(t, weekly, 1)
	s, err := store.Open(t.Context(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	for _, next := range []time.Duration{-time.Second, time.Hour} {
		require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
			return tx.SetChannel("folder", outbox.Channel{Failures: 1, NextTry: time.Now().Add(next),
				Answer: "the disk is full"})
		}))
		st := status(t, home)
		require.True(t, st.Outbox.Closed)
		require.Contains(t, st.Worries, "Messages wait: the disk is full")
	}
	require.NoError(t, s.Close())
}

func TestAShopThatNeverHadAConfigIsNoWorry(t *testing.T) {
	home := folder(t, "", 1)
	require.NoError(t, os.Remove(filepath.Join(home, "config.yaml")))
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() {
			time.Sleep(5 * time.Minute)
			st := status(t, home)
			require.Equal(t, "folder", st.Outbox.Way)
			require.Empty(t, st.Worries)
		})
	})
}

// post puts a mail into the outbox whose delivery stands as given.
func post(t *testing.T, home string, d outbox.Delivery, name string) {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	d.Recipient = "anna@example.com"
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
		id, err := tx.Enqueue(outbox.Letter{MessageID: name, Kind: "round", From: "owner@shop.example",
			To: []string{d.Recipient}, Bytes: []byte("Hello.")})
		if err != nil {
			return err
		}
		return tx.Settle(id, d)
	}))
	require.NoError(t, s.Close())
}

func TestDroppedFiles(t *testing.T) {
	home := folder(t, weekly, 1)
	var code string
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() {
			time.Sleep(time.Minute)
			s, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
			require.NoError(t, err)
			rows, err := s.Clients(context.Background())
			require.NoError(t, err)
			code = rows[0].Code
			people, err := s.People(context.Background(), code)
			require.NoError(t, err)
			require.NoError(t, s.Close())
			// A list that names somebody long gone would not stay in done: it is forgotten with the name.
			people = slices.DeleteFunc(people, func(p programme.Person) bool { return !p.End.IsZero() })
			var list bytes.Buffer
			require.NoError(t, roster.Write(&list, people))
			drop := func(name, text string) {
				require.NoError(t, os.WriteFile(filepath.Join(home, "drop", name), []byte(text), 0o600))
			}
			require.NoError(t, os.MkdirAll(filepath.Join(home, "drop"), 0o700))
			drop("roster--"+strings.ToUpper(code)+".csv", list.String())
			drop("roster--nobody.csv", list.String())
			sku := world().Cases[0].Ledger[0].SKU
			var few bytes.Buffer
			require.NoError(t, roster.Write(&few, people[:1]))
			drop("roster--"+code+"--full.csv", few.String())
			drop("ledger--"+code+".csv", "date,movement,staff_id,garment,colour,size,pieces\n2000-01-01,issued,nobody,nothing,x,M,-3\n1999-12-30,issued,"+
				people[0].StaffID+","+sku.Garment+","+sku.Colour+","+sku.Size+",1\n")
			time.Sleep(60 * time.Hour) // to Monday noon
		})
		require.Empty(t, status(t, home).Drop.Waiting)
	})
	done, err := filepath.Glob(filepath.Join(home, "drop", "done", "*.csv"))
	require.NoError(t, err)
	require.Len(t, done, 1)
	refused, err := filepath.Glob(filepath.Join(home, "drop", "refused", "*.report.txt"))
	require.NoError(t, err)
	require.Len(t, refused, 3)
	wrong, taken := ownersMail(t, home)
	name := world().Cases[0].Client.Name
	require.Contains(t, taken, "Fri Dec 31: "+name+": roster--"+strings.ToUpper(code)+".csv: Nothing in it was new",
		"by the shop's clock")
	require.NotContains(t, taken, "not taken in")
	require.NotContains(t, wrong, "Nothing in it was new")
	require.Equal(t, 3, strings.Count(wrong, ".csv was not taken in"))
	require.Contains(t, wrong, "--full.csv was not taken in", "that nearly all leave needs a person's yes")
	require.Contains(t, wrong, "kitmuster roster import "+code+" FILE --full --yes")
	var reports string
	for _, path := range refused {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		reports += string(text)
	}
	require.Contains(t, reports, "kitmuster ledger import "+code+" FILE --accept-good")
}

// ownersMail returns two parts of the owner's mail: what went wrong and what was taken in.
func ownersMail(t *testing.T, home string) (wrong, taken string) {
	t.Helper()
	pages, err := filepath.Glob(filepath.Join(home, "mail", "*.html"))
	require.NoError(t, err)
	for _, page := range pages {
		text, err := os.ReadFile(page)
		require.NoError(t, err)
		if _, rest, ok := strings.Cut(string(text), ">What went wrong</h2>"); ok {
			wrong, rest, ok = strings.Cut(rest, ">Taken in since the last mail</h2>")
			require.True(t, ok)
			taken, _, _ = strings.Cut(rest, "</ul>")
			return wrong, taken
		}
	}
	require.Fail(t, "no mail says what went wrong")
	return "", ""
}

func TestTheSecondDaemonSaysWhoIsAtWork(t *testing.T) {
	home := folder(t, weekly, 1)
	d, err := daemon.New(t.Context(), daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	_, err = daemon.New(t.Context(), daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)})
	require.ErrorIs(t, err, lock.ErrHeld)
	require.ErrorContains(t, err, fmt.Sprintf("process %d", os.Getpid()))
	require.Contains(t, status(t, home).Running, "kitmuster run")
	require.Equal(t, 0o077, syscall.Umask(0o077), "whatever it makes is for its owner alone")
	require.NoError(t, d.Close())
	require.Empty(t, status(t, home).Running)
	d, err = daemon.New(t.Context(), daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	require.NoError(t, d.Close())
}

func TestThePageForMonitoring(t *testing.T) {
	home := folder(t, weekly+"http: {listen: \"127.0.0.1:0\"}\n", 1)
	log := &logBuffer{}
	live(t, home, log, func() {
		address := regexp.MustCompile(`address=(127[0-9.:]+)`)
		require.Eventually(t, func() bool { return address.MatchString(log.String()) }, 5*time.Second,
			10*time.Millisecond)
		at := "http://" + address.FindStringSubmatch(log.String())[1]
		get := func(path string) (int, string) {
			resp, err := http.Get(at + path)
			require.NoError(t, err)
			body, err := io.ReadAll(resp.Body)
			require.NoError(t, err)
			require.NoError(t, resp.Body.Close())
			return resp.StatusCode, string(body)
		}
		code, body := get("/healthz")
		require.Equal(t, 200, code, body)
		require.True(t, json.Valid([]byte(body)))
		code, body = get("/metrics")
		require.Equal(t, 200, code)
		for _, name := range []string{"kitmuster_outbox_deliveries", "kitmuster_job_next_timestamp_seconds",
			"kitmuster_database_bytes", "process_resident_memory_bytes"} {
			require.Contains(t, body, name)
		}
	})
}

// A schedule in a client's programme is a round of its own, from the day on which
// the programme is applied, without the daemon being started anew.
func TestAScheduleInAProgrammeIsKept(t *testing.T) {
	home := folder(t, weekly, 1)
	log := &logBuffer{}
	w := world()
	client := w.Cases[0].Client
	name := daemon.JobRound + " of " + client.Code
	apply := func(cron string) {
		client.Schedule = cron
		s, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
		require.NoError(t, err)
		require.NoError(t, s.InTx(context.Background(),
			func(tx *store.Tx) error { return tx.PutClient(client.Code, setup.WriteClient(&client)) }))
		require.NoError(t, s.Close())
	}
	synctest.Test(t, func(t *testing.T) {
		live(t, home, log, func() { // from Friday evening in New York
			time.Sleep(time.Hour)
			apply("0 12 * * 6")
			time.Sleep(20 * time.Hour)
			j := job(t, status(t, home), name)
			require.Equal(t, []any{"2000-01-01T12:00", "done", "0 12 * * 6"}, []any{j.Slot, j.State, j.Schedule})
			apply("")
			time.Sleep(time.Hour)
			require.False(t, slices.ContainsFunc(status(t, home).Jobs,
				func(j daemon.JobStatus) bool { return j.Name == name }))
		})
	})
	require.Equal(t, 1, rounds(t, home))
	require.Equal(t, 2, strings.Count(log.String(), "a client has another schedule"))
}
