package daemon_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// move is one thing that a person enters.
type move func(context.Context, *books.Books) error

// say gives an answer to the n-th proposal, made from how it stands.
func say(n int64, a func(*reorder.Proposal) answer.Answer) move {
	return func(ctx context.Context, b *books.Books) error {
		p, err := b.Store.Proposal(ctx, n)
		if err != nil {
			return err
		}
		c, err := b.Client(ctx, p.Client)
		if err != nil {
			return err
		}
		said := a(&p)
		said.Number, said.Known = n, true
		if said.Day == 0 {
			said.Day = asOf + 1
		}
		_, err = answer.Give(ctx, b.Store, b.Shop, c, said, false)
		return err
	}
}

func event(e reorder.Event) func(*reorder.Proposal) answer.Answer {
	return func(*reorder.Proposal) answer.Answer {
		return answer.Answer{Event: e, Until: asOf + 40, Because: "new logo in autumn"}
	}
}

// half are deliveries of half of every line, the rest on back-order.
func half(p *reorder.Proposal) answer.Answer {
	a := answer.Answer{Event: reorder.Arrive, Day: asOf + 9}
	for i := range p.Lines {
		l := &p.Lines[i]
		n := l.Outstanding() / 2
		a.Deliveries = append(a.Deliveries, reorder.Delivery{SKU: l.SKU, Came: n, Spoilt: min(1, l.Outstanding()-n),
			Back: max(0, l.Outstanding()-n-1), BackOn: asOf + 30})
	}
	return a
}

func fewer(p *reorder.Proposal) answer.Answer {
	l := &p.Lines[0]
	return answer.Answer{Event: reorder.Change, Changes: []reorder.LineChange{{SKU: l.SKU, Pieces: l.Order + 1}}}
}

func drafts(ctx context.Context, b *books.Books) error {
	o, err := supply.Drafts(ctx, b, asOf+2, supply.Wish{})
	if err != nil {
		return err
	}
	return b.Store.InTx(ctx, o.Commit)
}

func sent(ctx context.Context, b *books.Books) error {
	_, err := answer.Sent(ctx, b, asOf+2, nil, false)
	return err
}

// goodsOf receives the first order that is on its way.
func goodsOf(ctx context.Context, b *books.Books) error {
	list, err := supply.Orders(ctx, b.Store, store.OrderOrdered)
	if err != nil || len(list) == 0 {
		return err
	}
	_, err = answer.Arrived(ctx, b, answer.Goods{Order: list[0].Number, Day: asOf + 8}, false)
	return err
}

func undo(n int64) move {
	return func(ctx context.Context, b *books.Books) error {
		client := ""
		if n > 0 {
			p, err := b.Store.Proposal(ctx, n)
			if err != nil {
				return err
			}
			client = p.Client
		}
		_, err := record.Undo(ctx, b, client, false)
		return err
	}
}

// answerMoves are what is entered of two proposals, in order.
func answerMoves() []move {
	return []move{
		say(1, fewer), say(1, event(reorder.Wait)), say(1, event(reorder.Accept)),
		say(2, event(reorder.Decline)), undo(2),
		say(2, event(reorder.Accept)), drafts, sent, undo(0), sent, goodsOf, goodsOf, say(1, half), undo(1),
		say(1, half),
		drafts, sent, goodsOf, say(1, event(reorder.Receive)), undo(1), say(1, event(reorder.Receive)), say(2, half),
		say(2, event(reorder.Receive)),
	}
}

// standing is all that the moves change, apart from numbers of orders, of which
// one that was given out to a process that died is not given out again.
func standing(t *testing.T, home string) string {
	t.Helper()
	ctx := context.Background()
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	defer func() { require.NoError(t, b.Close()) }()
	list, err := b.Store.Proposals(ctx, "")
	require.NoError(t, err)
	stock, err := b.Store.Stock(ctx)
	require.NoError(t, err)
	orders, err := supply.Orders(ctx, b.Store)
	require.NoError(t, err)
	all := map[string]any{"proposals": list, "stock": stock}
	for i := range list {
		moves, err := b.Store.Movements(ctx, list[i].Client)
		require.NoError(t, err)
		all["moves of "+list[i].Client] = len(moves)
		entries, err := b.Store.Imports(ctx, list[i].Client, 1000)
		require.NoError(t, err)
		all["entries of "+list[i].Client] = len(entries)
		var sheets []store.SheetOrder
		require.NoError(t, b.Store.InTx(ctx,
			func(tx *store.Tx) (err error) { sheets, err = tx.SheetOrdersOf(list[i].Number); return err }))
		for _, s := range sheets {
			key := fmt.Sprint("sheets of ", list[i].Number)
			all[key] = fmt.Sprint(all[key], " ", s.Kind, " ", s.State)
		}
	}
	for _, o := range orders {
		o.Sheets = nil
		key := "orders " + o.Supplier
		all[key] = fmt.Sprint(all[key], " ", o.State, " ", o.Contents)
	}
	text, err := json.Marshal(all)
	require.NoError(t, err)
	return string(text)
}

// childAnswers makes the moves from the one numbered on, and tells of each when
// it begins and when it is done.
func childAnswers(home string) error {
	ctx := context.Background()
	from, err := strconv.Atoi(os.Getenv("KITMUSTER_TEST_FROM"))
	if err != nil {
		return err
	}
	b, err := books.Open(ctx, home)
	if err != nil {
		return err
	}
	parent := progress{os.NewFile(3, "progress")}
	for i, m := range answerMoves()[from:] {
		parent.say(atComposed)
		if err := m(ctx, b); err != nil {
			return fmt.Errorf("move %d: %w", from+i, err)
		}
		parent.say(atCommitted)
	}
	return b.Close()
}

// Killed in the middle of any answer, order, delivery or undo, the books stand as
// before it or as after it, and the next move goes on from there.
func TestKilledWhileAnswersAreEntered(t *testing.T) {
	t.Parallel()
	home := folder(t, weekly, 2)
	b, err := books.Open(t.Context(), home)
	require.NoError(t, err)
	_, err = round.Run(t.Context(), b, round.Options{AsOf: asOf, Now: asOf.Time()})
	require.NoError(t, err)
	require.NoError(t, b.Close())

	whole := filepath.Join(t.TempDir(), "whole")
	require.NoError(t, os.CopyFS(whole, os.DirFS(home)))
	states := []string{standing(t, whole)}
	took := time.Duration(0)
	b, err = books.Open(t.Context(), whole)
	require.NoError(t, err)
	for i, m := range answerMoves() {
		start := time.Now()
		require.NoError(t, m(t.Context(), b), "move %d", i)
		took = max(took, time.Since(start))
		states = append(states, standing(t, whole))
	}
	require.NoError(t, b.Close())

	wanted := 6
	if full() {
		wanted = 300
	}
	chance := rand.New(rand.NewPCG(5, 6))
	killed, inside := 0, 0
	for at := 0; at < len(answerMoves()) || killed < wanted; {
		if at >= len(answerMoves()) { // all is done: once more from the beginning
			require.NoError(t, os.RemoveAll(home))
			home = filepath.Join(t.TempDir(), fmt.Sprint("again-", killed))
			require.NoError(t, os.CopyFS(home, os.DirFS(begun(t))))
			at = 0
		}
		begins, done, dead := enterUntilKilled(t, home, at, killed < wanted, took, chance)
		if !dead {
			at = len(answerMoves())
			require.Equal(t, states[at], standing(t, home))
			continue
		}
		killed++
		now := standing(t, home)
		before, after := at+done, at+begins
		require.True(t, now == states[before] || now == states[after],
			"killed in move %d: neither as before it nor as after it", before)
		if before != after {
			inside++
		}
		at = before
		if now == states[after] && now != states[before] {
			at = after
		}
	}
	t.Logf("%d kills, %d of them in the middle of a move; the longest move took %s", killed, inside, took)
	require.Positive(t, inside)
}

// begun is a shop after its first round.
func begun(t *testing.T) string {
	t.Helper()
	home := folder(t, weekly, 2)
	b, err := books.Open(t.Context(), home)
	require.NoError(t, err)
	_, err = round.Run(t.Context(), b, round.Options{AsOf: asOf, Now: asOf.Time()})
	require.NoError(t, err)
	require.NoError(t, b.Close())
	return home
}

// enterUntilKilled lets a process make moves and kills it at a random moment of
// one of the first of them; it returns how many it has begun and ended.
func enterUntilKilled(t *testing.T, home string, from int, kill bool, longest time.Duration,
	chance *rand.Rand) (begun, done int, dead bool) {
	t.Helper()
	c := child(t, "answers", home, fmt.Sprintf("KITMUSTER_TEST_FROM=%d", from))
	reader, writer, err := os.Pipe()
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	c.ExtraFiles = []*os.File{writer}
	var says strings.Builder
	c.Stderr = &says
	require.NoError(t, c.Start())
	require.NoError(t, writer.Close())
	victim := 1 + chance.IntN(3)
	for one := make([]byte, 1); ; {
		if _, err := reader.Read(one); err != nil {
			break
		}
		if one[0] == atCommitted {
			done++
			continue
		}
		if begun++; kill && begun == victim {
			// The moves end in a commit of a few milliseconds: as many kills there as before.
			late := time.Duration(chance.Int64N(int64(longest)))
			if chance.IntN(2) == 0 {
				late /= 10
			}
			time.AfterFunc(late, func() { _ = c.Process.Kill() })
		}
	}
	err = c.Wait()
	if c.ProcessState.Exited() {
		require.NoError(t, err, says.String())
	}
	return begun, done, !c.ProcessState.Exited()
}
