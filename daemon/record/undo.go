package record

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// ErrNothing says that there is no entry left to take back.
var ErrNothing = fmt.Errorf("there is no entry by hand to take back; what a file brought is corrected by %w a corrected file",
	hint.Text{Command: "importing", Desk: "handing over"})

// Undo takes back the last entry by hand for a client, or for no client the
// last goods received. It refuses when something else has changed the same
// thing since. With try it only says what would be taken back.
func Undo(ctx context.Context, b *books.Books, client string, try bool) (Done, error) {
	if client != "" {
		if _, err := b.Client(ctx, client); err != nil {
			return Done{}, err
		}
	}
	var done Done
	err := b.Store.Trial(ctx, try, func(tx *store.Tx) error {
		last, ok, err := tx.LastImport(store.ByHand, client)
		if err != nil {
			return err
		}
		if !ok {
			return ErrNothing
		}
		var u undo
		if err := json.Unmarshal([]byte(last.Note), &u); err != nil {
			return fmt.Errorf("read what entry %d did: %w", last.ID, err)
		}
		what := last.File
		if client != "" {
			people, err := tx.People(client)
			if err != nil {
				return err
			}
			what = Named(what, people)
		}
		done.Text = takenBack(try) + what
		if err := u.takeBack(tx, client, last.ID); err != nil {
			return fmt.Errorf("cannot take back %q: %w", what, err)
		}
		if done.Notes, err = u.dropDrafts(tx, b.Shop); err != nil {
			return err
		}
		return tx.RemoveImport(last.ID)
	})
	if err != nil {
		return Done{}, err
	}
	return done, nil
}

// takenBack begins the sentence about what an undo did or would do.
func takenBack(try bool) string {
	if try {
		return "would be taken back: "
	}
	return "taken back: "
}

// dropDrafts drops what was written to suppliers for proposals since the entry that is taken back, and
// returns a sentence about each. Without a yes they would be sent for nobody; where the entry had put them
// into the place of others, which are back, goods would be bought twice.
func (u *undo) dropDrafts(tx *store.Tx, shop *programme.Shop) (told []hint.Text, err error) {
	if u.Journal == nil {
		return nil, nil
	}
	back := u.Journal.Orders
	stands := map[int64]bool{} // whether there is still a yes
	for i := range u.Journal.Made {
		stands[u.Journal.Made[i].Number] = false
	}
	for i := range u.Journal.Proposals {
		stands[u.Journal.Proposals[i].Number] = slices.Contains(reorder.OnItsWay(), u.Journal.Proposals[i].State)
	}
	for _, n := range slices.Sorted(maps.Keys(stands)) {
		why := fmt.Sprintf("what was said to proposal %d is taken back", n)
		more, err := answer.DropDrafts(tx, shop, n, why, func(o *supply.Order) (bool, error) {
			is := func(b journal.OrderChange) bool { return b.Number == o.Number }
			replaced := func(b journal.OrderChange) bool { return b.Supplier == o.Supplier }
			return !slices.ContainsFunc(back, is) && (!stands[n] || slices.ContainsFunc(back, replaced)), nil
		})
		if err != nil {
			return nil, err
		}
		told = append(told, more...)
	}
	return told, nil
}

func (u *undo) takeBack(tx *store.Tx, client string, id int64) error {
	if client != "" {
		if _, err := tx.RemoveMovements(client, id); err != nil {
			return err
		}
	}
	if u.Hired != "" || u.After != nil {
		if err := u.restorePerson(tx, client); err != nil {
			return err
		}
	}
	for i := range u.People {
		if err := u.People[i].restore(tx, client); err != nil {
			return err
		}
	}
	if u.Shelf != nil {
		if err := u.restoreShelf(tx); err != nil {
			return err
		}
	}
	if u.Journal != nil {
		return u.Journal.TakeBack(tx, "taken back")
	}
	return nil
}

// restorePerson takes back what the entry did to a person, unless the roster
// says something else since. The name is that of the roster: it may have been
// forgotten in the meantime.
func (u *undo) restorePerson(tx *store.Tx, client string) error {
	if u.After == nil { // as written before what was entered was kept as well
		return unhire(tx, client, u.Hired)
	}
	c := personChange{u.Before, u.After}
	return c.restore(tx, client)
}

func (c *personChange) restore(tx *store.Tx, client string) error {
	staff := c.After.StaffID
	people, err := tx.People(client)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(people, func(p programme.Person) bool { return p.StaffID == staff })
	if at < 0 || !reflect.DeepEqual(nameless(&people[at]), c.After) {
		return fmt.Errorf("the roster says something else about %s since; correct it %w", staff,
			hint.Text{Command: "with 'kitmuster change'", Desk: "on the page of the person"})
	}
	if c.Before == nil {
		return unhire(tx, client, staff)
	}
	if reflect.DeepEqual(c.Before, c.After) {
		return fmt.Errorf("what stood before as the name on garments of %s is not kept; enter it %w", staff,
			hint.Text{Command: "with 'kitmuster change --print-name'", Desk: "under Name on garments"})
	}
	before := *c.Before
	before.Name, before.PrintName = people[at].Name, people[at].PrintName
	return tx.PutPeople(client, []programme.Person{before})
}

func unhire(tx *store.Tx, client, staff string) error {
	moves, err := tx.Movements(client)
	if err != nil {
		return err
	}
	if slices.ContainsFunc(moves, func(m programme.Movement) bool { return m.StaffID == staff }) {
		return fmt.Errorf("pieces of %s are in the ledger; enter a last day%w instead", staff,
			hint.Text{Command: " with 'kitmuster leave'"})
	}
	return tx.RemovePerson(client, staff)
}

func (u *undo) restoreShelf(tx *store.Tx) error {
	now, err := linesOf(tx, u.Shelf.Thing)
	if err != nil {
		return err
	}
	if !sameLines(now, u.Shelf.After) {
		return fmt.Errorf("the stock of %s has changed since; %w", u.Shelf.Thing, journal.StateAnew)
	}
	return tx.ReplaceStockOf(u.Shelf.Thing, u.Shelf.Before)
}

func sameLines(a, b []programme.StockLine) bool {
	count := map[programme.StockLine]int{}
	for _, l := range a {
		count[l]++
	}
	for _, l := range b {
		count[l]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}
