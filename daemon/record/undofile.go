package record

import (
	"context"
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
)

// ErrNoFile says that no ledger file was taken in for the client.
var ErrNoFile = errors.New("no ledger file was taken in for this client, so there is none to take back")

// UndoFile takes back the last ledger file of a client, all its rows, while
// nothing was built on it: no later entry, no later file, no proposal. With the
// error nothing has changed; it names what stands in the way. With try it only says what would be taken back.
func UndoFile(ctx context.Context, b *books.Books, client string, try bool) (Done, error) {
	if _, err := b.Client(ctx, client); err != nil {
		return Done{}, err
	}
	var done Done
	err := b.Store.Trial(ctx, try, func(tx *store.Tx) error {
		last, ok, err := tx.LastImport("ledger", client)
		switch {
		case err != nil:
			return err
		case !ok:
			return ErrNoFile
		}
		if err := builtOn(tx, client, last); err != nil {
			return fmt.Errorf("cannot take %s back: %w", last.File, err)
		}
		rows, err := tx.RemoveMovements(client, last.ID)
		if err != nil {
			return err
		}
		done.Text = fmt.Sprintf("%s%s, with the %d rows that it had brought", takenBack(try), last.File, rows)
		return tx.RemoveImport(last.ID)
	})
	return done, err
}

// builtOn says what was entered or proposed after a file came in.
func builtOn(tx *store.Tx, client string, file store.Import) error {
	newest, _, err := tx.NewestImport(client)
	if err != nil {
		return err
	}
	if newest.ID != file.ID {
		if newest.Kind == store.ByHand {
			return fmt.Errorf("%q was entered after it; 'kitmuster undo %s' takes that back first", newest.File, client)
		}
		return fmt.Errorf("the %s %s was taken in after it; correct single rows with entries of their own", newest.Kind,
			newest.File)
	}
	number, err := tx.ProposalSince(client, file.At)
	if err != nil || number == 0 {
		return err
	}
	return fmt.Errorf("proposal %d was made from it; correct single rows with entries of their own", number)
}
