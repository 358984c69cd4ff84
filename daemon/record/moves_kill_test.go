package record_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
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
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// toBeKilled names the shop's folder to the process that makes entries until it
// is killed.
const toBeKilled = "KITMUSTER_TEST_MOVES"

func TestMain(m *testing.M) {
	home := os.Getenv(toBeKilled)
	if home == "" {
		os.Exit(m.Run())
	}
	if err := moveOnAndOn(home); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// broken is where the process to be killed reports what must not be.
type broken struct{ err error }

func (b *broken) Errorf(format string, args ...any) { b.err = fmt.Errorf(format, args...) }
func (b *broken) FailNow()                          { panic(b.err) }

// moveOnAndOn makes entries and takes some back, and says a line after each that it has made.
func moveOnAndOn(home string) error {
	b, err := openAgain(home)
	if err != nil {
		return err
	}
	seed, err := strconv.ParseUint(os.Getenv("KITMUSTER_TEST_SEED"), 10, 64)
	if err != nil {
		return err
	}
	m := &moves{t: &broken{}, b: b, rng: rand.New(rand.NewPCG(seed, 9)), day: bookstest.Summer, names: int(1000 * seed),
		done: map[string]int{}}
	for {
		if m.rng.IntN(4) == 0 {
			if _, err := record.Undo(context.Background(), b, "harbour", false); err != nil &&
				!errors.Is(err, record.ErrNothing) {
				return err
			}
			continue
		}
		m.day += 1
		if _, _, err := m.one(); err == nil { // what is refused is refused
			fmt.Println("made")
		}
	}
}

func openAgain(home string) (*books.Books, error) {
	text, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	if err != nil {
		return nil, err
	}
	shop, err := setup.ReadShop("shop.yaml", text)
	if err != nil {
		return nil, err
	}
	st, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{MustExist: true})
	if err != nil {
		return nil, err
	}
	return books.With(home, shop, st), nil
}

// A process that makes entries is killed at any moment, again and again: each
// entry is there whole, with its record, or not at all.
func TestKilledAtAnyMomentAnEntryIsThereWholeOrNotAtAll(t *testing.T) {
	kills := 15
	if os.Getenv("KITMUSTER_FULL") == "1" {
		kills = 300
	}
	first := reissuing(t, "0.2")
	lie(t, first, programme.Lot{SKU: bookstest.PoloM, Pieces: 40}, programme.Lot{SKU: bookstest.PoloL, Pieces: 30},
		programme.Lot{SKU: apron, Pieces: 60})
	all := (&moves{t: t, b: first}).pieces()
	chance, most := rand.New(rand.NewPCG(3, 4)), 0
	for n := range kills {
		killOne(t, first.Home, n, time.Duration(chance.IntN(30_000))*time.Microsecond)
		b, err := openAgain(first.Home)
		require.NoError(t, err)
		require.Equal(t, all, (&moves{t: t, b: b}).pieces(), "kill %d", n)
		list, err := b.Store.Imports(context.Background(), "harbour", 100000)
		require.NoError(t, err)
		known := map[string]bool{}
		for _, in := range list {
			require.NotEmpty(t, in.File, "an entry without its end")
			require.NotEmpty(t, in.Note)
			known[strconv.FormatInt(in.ID, 10)] = true
		}
		most = max(most, len(list))
		proposals, err := b.Store.Proposals(context.Background(), "harbour")
		require.NoError(t, err)
		for i := range proposals {
			require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
				_, err := tx.Form(proposals[i].Number, 1)
				require.NoError(t, err)
				_, err = tx.Form(proposals[i].Number, 2)
				require.Error(t, err)
				return nil
			}))
		}
		require.NoError(t, b.Close())
	}
	require.Positive(t, most, "it never came to an entry")
}

// killOne lets the process make some entries, however long it takes, and kills it a moment
// later.
func killOne(t *testing.T, home string, n int, after time.Duration) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), toBeKilled+"="+home, fmt.Sprintf("KITMUSTER_TEST_SEED=%d", n+1))
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	says := bufio.NewScanner(out)
	for range 1 + n%4 {
		require.True(t, says.Scan(), "it ended by itself")
	}
	time.Sleep(after)
	require.NoError(t, c.Process.Kill())
	require.Error(t, c.Wait())
}
