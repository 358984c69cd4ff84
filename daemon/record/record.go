// Package record enters what happens day by day, one thing at a time: a piece
// handed out or worn out, a person who starts or leaves, goods that arrive.
// Every entry can be taken back, the last one first.
package record

import (
	"context"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
)

// Words says in a log what one hand-over or entry was, with the names of people.
func Words(in *store.Import, people []programme.Person) string {
	switch {
	case in.Kind == store.ByHand:
		return Named(in.File, people)
	case in.Counts:
		return "count from " + in.File
	case in.Assumed:
		return "past orders from " + in.File
	}
	return in.Kind + " from " + in.File
}

// Done says what was entered, for the person who entered it.
type Done struct {
	Text  string      // "issued 2 polo/navy/M to 0001 Ada Brackenholt on 9 Mar 2026"
	Notes []hint.Text // what else followed
}

// undo holds what is needed to take an entry back. Names of people are not in it: they
// are forgotten in time, and this is not.
type undo struct {
	// People are the persons whom the entry made or changed.
	People []personChange `json:"people,omitempty"`
	Shelf  *shelfChange   `json:"shelf,omitempty"`
	// Journal holds what else the entry changed: proposals, orders, several things of the shelf.
	Journal *journal.Record `json:"journal,omitempty"`

	// Hired, Before and After are only read: entries about one person were stored so before
	// People was there. Hired is the staff number of a person that the entry made.
	Hired  string            `json:"hired,omitempty"`
	Before *programme.Person `json:"before,omitempty"`
	After  *programme.Person `json:"after,omitempty"`
}

// personChange is a person's record without the name before and after an entry;
// one that it made has no Before.
type personChange struct {
	Before *programme.Person `json:"before,omitempty"`
	After  *programme.Person `json:"after"`
}

// entry is one thing being entered in a transaction.
type entry struct {
	tx     *store.Tx
	books  *books.Books
	client *programme.Client // nil for goods that belong to no client
	code   string
	id     int64 // its number in the store, which its movements carry
	// about says in the store what was entered, without names.
	about string
	undo  undo
	done  Done
}

// enter runs f as one entry in one transaction.
func enter(ctx context.Context, b *books.Books, code string, f func(*entry) error) (Done, error) {
	e := &entry{books: b, code: code}
	if code != "" {
		client, err := b.Client(ctx, code)
		if err != nil {
			return Done{}, err
		}
		e.client = client
	}
	err := b.Store.InTx(ctx, func(tx *store.Tx) error {
		e.tx = tx
		return e.keep(func() error { return f(e) })
	})
	if err != nil {
		return Done{}, err
	}
	return e.done, nil
}

// keep runs f under a new number, and then stores what f left in about and undo.
func (e *entry) keep(f func() error) error {
	return e.tx.Enter(e.code, func(id int64) (string, any, error) {
		e.id = id
		err := f()
		return e.about, e.undo, err
	})
}

// put stores a person, new where there is none before.
func (e *entry) put(before, after *programme.Person) error {
	c := personChange{After: nameless(after)}
	if before != nil {
		c.Before = nameless(before)
	}
	e.undo.People = append(e.undo.People, c)
	return e.tx.PutPeople(e.code, []programme.Person{*after})
}

// note tells the person who enters what else follows.
func (e *entry) note(format string, args ...any) {
	e.done.Notes = append(e.done.Notes, hint.Sprintf(format, args...))
}

// FindPerson finds a person by staff number or, where it is the only one of
// that name, by name.
func FindPerson(people []programme.Person, word string) (*programme.Person, error) {
	var named []*programme.Person
	for i := range people {
		if people[i].StaffID == word {
			return &people[i], nil
		}
		if people[i].Name != "" && match.Plain(people[i].Name) == match.Plain(word) {
			named = append(named, &people[i])
		}
	}
	switch len(named) {
	case 1:
		return named[0], nil
	case 0:
		return nil, unknownPerson(people, word)
	}
	numbers := programme.Listing(named,
		func(p *programme.Person) string { return fmt.Sprintf("%s (since %s)", p.StaffID, p.Start) })
	return nil, fmt.Errorf("there are several of the name %q: %s; give the staff number", word, numbers)
}

func unknownPerson(people []programme.Person, word string) error {
	if len(people) == 0 {
		return fmt.Errorf("the roster is empty; %w", hint.Text{
			Command: "import one with 'kitmuster roster import', or add people with 'kitmuster hire'",
			Desk:    "add people with Somebody starts",
		})
	}
	names := make([]string, 0, 2*len(people))
	for i := range people {
		names = append(names, people[i].StaffID)
		if people[i].Name != "" {
			names = append(names, people[i].Name)
		}
	}
	if near, ok := match.Near(word, names); ok {
		return fmt.Errorf("nobody in the roster has the number or name %q; did you mean %q?", word, near)
	}
	return fmt.Errorf("nobody in the roster has the number or name %q", word)
}

func (e *entry) person(word string) (*programme.Person, []programme.Person, error) {
	people, err := e.tx.People(e.code)
	if err != nil {
		return nil, nil, err
	}
	p, err := FindPerson(people, word)
	return p, people, err
}

func (e *entry) day(d programme.Date) string { return e.books.Shop.DateStyle.Date(d) }

func who(p *programme.Person) string { return strings.TrimSpace(p.StaffID + " " + p.Name) }
