package answer

import (
	"context"
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// ErrAnew is a yes that would come to another day, price or number of pieces than
// its form promised. Nothing is recorded: the outcome shows what it would come
// to, and Known makes it count.
var ErrAnew = errors.New("what the client was told has changed since, so nothing is recorded yet")

// Give carries out an answer as one entry that undo takes back: all of it, or
// nothing. With try nothing is kept, and the outcome says what would come of it.
func Give(ctx context.Context, st *store.Store, shop *programme.Shop, client *programme.Client, a Answer,
	try bool) (Outcome, error) {
	var out Outcome
	err := st.Trial(ctx, try, func(tx *store.Tx) (err error) {
		out, err = GiveIn(tx, shop, client, a)
		if err == nil && out.Anew && !a.Known && !try {
			err = ErrAnew
		}
		return err
	})
	return out, err
}

// GiveIn is Give within the caller's transaction, which must be given up with any
// error, and where the outcome is Anew and whoever said it does not know.
func GiveIn(tx *store.Tx, shop *programme.Shop, client *programme.Client, a Answer) (Outcome, error) {
	var out Outcome
	err := entry(tx, client.Code, func(id int64, j *journal.Journal) (what string, err error) {
		out, err = Record(tx, shop, client, a, id, j)
		return fmt.Sprintf("proposal %d: %s on %s", a.Number, out.Proposal.State, shop.DateStyle.Date(a.Day)), err
	})
	return out, err
}

// entry keeps what f does as one entry of a client, or of none in particular, under the
// words that f returns.
func entry(tx *store.Tx, client string, f func(id int64, j *journal.Journal) (what string, err error)) error {
	j, err := journal.Open(tx)
	if err != nil {
		return err
	}
	return tx.Enter(client, func(id int64) (what string, back any, err error) {
		if what, err = f(id, j); err != nil {
			return "", nil, err
		}
		changed, err := j.Close()
		return what, map[string]any{"journal": changed}, err
	})
}
