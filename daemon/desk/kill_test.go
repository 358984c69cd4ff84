package desk_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/desk"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// toBeKilled and atAddress name the shop's folder, and where to serve it, to the process that
// serves the desk until it is killed.
const (
	toBeKilled = "KITMUSTER_TEST_DESK"
	atAddress  = "KITMUSTER_TEST_DESK_ADDRESS"
)

func TestMain(m *testing.M) {
	home := os.Getenv(toBeKilled)
	if home == "" {
		os.Exit(m.Run())
	}
	if err := serveUntilKilled(home); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func serveUntilKilled(home string) error {
	text, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	if err != nil {
		return err
	}
	s, err := setup.ReadShop("shop.yaml", text)
	if err != nil {
		return err
	}
	st, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{MustExist: true})
	if err != nil {
		return err
	}
	b := books.With(home, s, st)
	l, err := net.Listen("tcp", os.Getenv(atAddress))
	if err != nil {
		return err
	}
	h, err := desk.New(desk.Options{Shop: func() desk.Shop { return desk.Shop{Books: b, From: b.Shop.Owner} },
		Listen: l.Addr().String(), Now: time.Now})
	if err != nil {
		return err
	}
	fmt.Println("ready")
	return http.Serve(l, h)
}

// serveOther serves the shop from another process and returns how to kill it.
func (s *shop) serveOther(address string) (kill func()) {
	s.t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), toBeKilled+"="+s.b.Home, atAddress+"="+address)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	require.NoError(s.t, err)
	require.NoError(s.t, c.Start())
	require.True(s.t, bufio.NewScanner(out).Scan(), "it serves nothing")
	return func() {
		require.NoError(s.t, c.Process.Kill())
		require.Error(s.t, c.Wait())
	}
}

// The desk is killed while a form is being sent, again and again: what the form says is entered
// whole or not at all, and when the browser sends it once more, it is entered once.
func TestKilledInTheMiddleOfAFormItIsEnteredOnceOrNotAtAll(t *testing.T) {
	kills := 12
	if os.Getenv("KITMUSTER_FULL") == "1" {
		kills = 200
	}
	s := newShop(t)
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := free.Addr().String()
	require.NoError(t, free.Close())
	s.url = "http://" + address
	kill := s.serveOther(address)
	b := s.signedIn()
	chance, inTime, starters := rand.New(rand.NewPCG(19, 7)), 0, 4
	for n := range kills {
		var form sent
		before := len(s.moves("harbour"))
		switch n % 3 {
		case 0: // a row of the ledger
			b.get(ada)
			form = b.fill("issue", "Handed out", "kept", "-")
		case 1: // people, stock, ledger, a proposal, mails
			b.get("/client/harbour/start")
			form = b.fill("start", "They start", "name-0", fmt.Sprintf("Starter %c", 'A'+n), "role-0", "barista",
				"size-top-0", "M")
		case 2: // a proposal with its papers
			b.get("/proposal/1")
			form = b.fill("yes", "Only change the numbers", "n:polo/navy/M", fmt.Sprint(20+n))
		}
		answered := make(chan struct{})
		go func() {
			defer close(answered)
			if r, err := b.client.PostForm(b.url+form.action, form.values); err == nil {
				_ = r.Body.Close()
			}
		}()
		time.Sleep(time.Duration(chance.IntN(20_000)) * time.Microsecond)
		kill()
		<-answered
		list, err := s.b.Store.Imports(context.Background(), "harbour", 100000)
		require.NoError(t, err)
		for _, in := range list {
			require.NotEmpty(t, in.File, "an entry without its end")
			require.NotEmpty(t, in.Note)
		}
		people, err := s.b.Store.People(context.Background(), "harbour")
		require.NoError(t, err)
		inTime += len(people) - starters + len(s.moves("harbour")) - before
		kill = s.serveOther(address)
		b.client.CloseIdleConnections()
		b.send(form)
		require.Equal(t, http.StatusOK, b.status, "%d: %s", n, b.notice())
		switch people, err = s.b.Store.People(context.Background(), "harbour"); n % 3 {
		case 0:
			require.Len(t, s.moves("harbour"), before+1, "kill %d", n)
		case 1:
			require.NoError(t, err)
			require.Len(t, people, starters+1, "kill %d", n)
		case 2:
			p := s.proposal(1)
			require.Equal(t, reorder.Drafted, p.State)
			require.Equal(t, 20+n+3, p.Pieces(), "kill %d", n)
		}
		starters = len(people)
	}
	kill()
	t.Logf("%d kills, %d things were entered before the kill", kills, inTime)
}
