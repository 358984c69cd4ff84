package record_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// moves are random entries about the people of harbour.
type moves struct {
	t     require.TestingT
	b     *books.Books
	rng   *rand.Rand
	day   programme.Date
	names int
	done  map[string]int
}

// one makes an entry of some kind; it may be refused.
func (m *moves) one() (string, record.Outcome, error) {
	ctx := context.Background()
	o := on(m.day)
	people, err := m.b.Store.People(ctx, "harbour")
	require.NoError(m.t, err)
	who := people[m.rng.IntN(len(people))].StaffID
	size := []string{"S", "M", "L", "XL"}[m.rng.IntN(4)]
	switch kind := m.rng.IntN(6); kind {
	case 0, 1:
		s := record.Starters{Options: o, Wait: m.rng.IntN(2) == 0}
		for range 1 + m.rng.IntN(3) {
			m.names++
			p := record.Starter{Name: fmt.Sprintf("Person Number%d", m.names),
				Role: []string{"barista", "baker"}[m.rng.IntN(2)], Start: m.day + programme.Date(m.rng.IntN(5)),
				Sizes: map[string]string{"top": size}}
			if m.rng.IntN(4) == 0 {
				p.Sizes = nil
			}
			s.People = append(s.People, p)
		}
		out, err := record.Start(ctx, m.b, s)
		return "starter", out, err
	case 2, 3:
		x := record.Exchange{Options: o, Person: who, Propose: m.rng.IntN(3) == 0}
		if m.rng.IntN(3) > 0 {
			x.Sizes = map[string]string{"top": size}
		}
		out, err := record.Swap(ctx, m.b, x)
		return "exchange", out, err
	case 4:
		a := record.Absence{Options: o, Person: who, From: m.day + programme.Date(m.rng.IntN(30)),
			WearsAWeek: float64(m.rng.IntN(3)), Usual: m.rng.IntN(4) == 0}
		if m.rng.IntN(3) > 0 {
			a.Until = a.From + programme.Date(m.rng.IntN(60)-2)
		}
		out, err := record.Away(ctx, m.b, a)
		return "away", out, err
	default:
		r := record.Return{Options: o, Person: who, LastDay: m.day - programme.Date(m.rng.IntN(3))}
		if m.rng.IntN(3) == 0 {
			r.Pieces = []record.Handed{{Garment: "polo", Pieces: 1 + m.rng.IntN(3)}}
		}
		out, err := record.Back(ctx, m.b, r)
		return "back", out, err
	}
}

// pieces counts by another road than the program's where every piece of a kind
// is: on the shelf; in hands and out of use, by the rows of the ledger alone.
func (m *moves) pieces() map[programme.SKU]int {
	ctx := context.Background()
	out := map[programme.SKU]int{}
	stock, err := m.b.Store.Stock(ctx)
	require.NoError(m.t, err)
	for _, l := range stock {
		if l.Kind == programme.Finished && l.Client == "harbour" {
			require.GreaterOrEqual(m.t, l.Pieces, 0)
			out[l.SKU()] += l.Pieces
		}
	}
	ledger, err := m.b.Store.Movements(ctx, "harbour")
	require.NoError(m.t, err)
	hands := map[string]int{}
	for _, x := range ledger {
		key := x.StaffID + " " + x.SKU.String()
		switch {
		case x.Kind == programme.Issued:
			hands[key] += x.Pieces
			out[x.SKU] += x.Pieces // in hands
		case x.Washes > 0: // back on the shelf, where it is counted
			hands[key] -= x.Pieces
			out[x.SKU] -= x.Pieces
		default: // out of use: it stays counted
			hands[key] -= x.Pieces
		}
		require.GreaterOrEqual(m.t, hands[key], 0, "%s ended more than it had", key)
	}
	return out
}

// Random entries, a third of them taken back: no piece is made or lost, what is
// refused changes nothing, and undo restores all to the last row.
func TestRandomMovesConserveEveryPiece(t *testing.T) {
	n := 60
	if os.Getenv("KITMUSTER_FULL") == "1" {
		n = 600
	}
	for seed := range uint64(2) {
		m := &moves{t: t, b: reissuing(t, "0.2"), rng: rand.New(rand.NewPCG(seed, 5)), day: bookstest.Summer,
			done: map[string]int{}}
		lie(t, m.b, programme.Lot{SKU: bookstest.PoloM, Pieces: 30},
			programme.Lot{SKU: bookstest.PoloL, Pieces: 9, Washes: 3}, programme.Lot{SKU: bookstest.PoloL, Pieces: 12},
			programme.Lot{SKU: apron, Pieces: 20})
		all := m.pieces()
		undone := 0
		for range n {
			m.day += programme.Date(m.rng.IntN(4))
			before := whole(t, m.b)
			kind, out, err := m.one()
			if err != nil {
				require.Equal(t, before, whole(t, m.b), "a refused %s changes nothing: %v", kind, err)
				continue
			}
			m.done[kind]++
			require.Equal(t, all, m.pieces(), "%s %+v", kind, out.Kits)
			m.check(&out)
			if m.rng.IntN(3) == 0 {
				undone++
				_, err := record.Undo(context.Background(), m.b, "harbour", false)
				require.NoError(t, err)
				require.Equal(t, before, whole(t, m.b), "undo of %s", kind)
			}
		}
		require.Greater(t, undone, n/10)
		for _, kind := range []string{"starter", "exchange", "away", "back"} {
			require.Positive(t, m.done[kind], "no %s was ever made", kind)
		}
	}
}

// check compares what an entry says with what stands in the books.
func (m *moves) check(out *record.Outcome) {
	for i := range out.Kits {
		k := &out.Kits[i]
		for _, lots := range [][]programme.Lot{k.Picked, k.Proposed, k.Waiting, k.Shelved, k.Spent, k.Kept} {
			for _, l := range lots {
				require.Positive(m.t, l.Pieces)
			}
		}
	}
	if p := out.Proposal; p != nil {
		stored, err := m.b.Store.Proposal(context.Background(), p.Number)
		require.NoError(m.t, err)
		named := 0
		for i := range out.Kits {
			named += total(out.Kits[i].Proposed)
		}
		require.Equal(m.t, named, stored.Pieces())
		require.Equal(m.t, reorder.Drafted, stored.State)
	}
}

// Whichever write of an entry fails, nothing of it is there afterwards.
func TestAnyWriteThatFailsLeavesNothing(t *testing.T) {
	ctx := context.Background()
	for kind, do := range map[string]func(b *books.Books) error{
		"starter": func(b *books.Books) error {
			_, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Summer), People: []record.Starter{
				{Name: "Kezia Larkfield", Role: "barista", Start: bookstest.Summer,
					Sizes: map[string]string{"top": "M"}},
				{Name: "Tove Ashlock", Role: "barista", Start: bookstest.Summer, Sizes: map[string]string{"top": "L"}},
			}})
			return err
		},
		"exchange": func(b *books.Books) error {
			_, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
				Sizes: map[string]string{"top": "L"}, Propose: true})
			return err
		},
		"away": func(b *books.Books) error {
			_, err := record.Away(ctx, b, record.Absence{Options: on(bookstest.Summer), Person: "0001",
				From: bookstest.Summer})
			return err
		},
		"back": func(b *books.Books) error {
			_, err := record.Back(ctx, b, record.Return{Options: on(bookstest.Summer), Person: "0001",
				LastDay: bookstest.Summer})
			return err
		},
		"undo": func(b *books.Books) error {
			_, err := record.Undo(ctx, b, "harbour", false)
			return err
		},
	} {
		t.Run(kind, func(t *testing.T) {
			b := reissuing(t, "0.1")
			lie(t, b, programme.Lot{SKU: bookstest.PoloL, Pieces: 2})
			if kind == "undo" {
				_, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
					Sizes: map[string]string{"top": "L"}, Propose: true})
				require.NoError(t, err)
			}
			before := whole(t, b)
			for n := 0; ; n++ {
				bookstest.BreakAt(t, b, n)
				err := do(b)
				if err == nil {
					require.Greater(t, n, 2, "an entry writes more than once")
					break
				}
				require.ErrorContains(t, err, bookstest.DiskFull)
				require.Equal(t, before, whole(t, b), "the %d. write", n+1)
			}
			require.NotEqual(t, before, whole(t, b))
		})
	}
}
