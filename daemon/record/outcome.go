package record

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Kit is the result of an entry for one person.
type Kit struct {
	StaffID string         `json:"staff_id"`
	Name    string         `json:"name,omitempty"`
	Hired   bool           `json:"hired,omitempty"`
	Start   programme.Date `json:"start,omitzero"`
	// Picked come from the client's shelf of finished pieces.
	Picked []programme.Lot `json:"picked,omitempty"`
	// Proposed are in a proposal that the entry makes, Waiting in none: they are
	// owed, and the next round proposes them.
	Proposed []programme.Lot `json:"proposed,omitempty"`
	Waiting  []programme.Lot `json:"waiting,omitempty"`
	// Awaited are in a proposal that was there before, and are in no second one.
	Awaited []message.AwaitedLot `json:"awaited,omitempty"`
	// Later is the rest of a kit that is given in two parts, each on its day.
	Later []message.LaterLot `json:"later,omitempty"`
	// Held is protective clothing that waits for a person's yes.
	Held []programme.Lot `json:"held,omitempty"`
	// Shelved came back and lie on the shelf again, Spent came back and do not.
	Shelved []programme.Lot `json:"shelved,omitempty"`
	Spent   []programme.Lot `json:"spent,omitempty"`
	// Kept are worn on until what takes their place is there.
	Kept []programme.Lot `json:"kept,omitempty"`
	// Unsized says of which garments no size is known, or which are not made in it.
	Unsized []string `json:"unsized,omitempty"`
}

// Outcome is the result of an entry about people and their kits.
type Outcome struct {
	Done
	Client string
	Entry  int64 // its number; 0 of a trial
	On     programme.Date
	Kits   []Kit
	// Proposal holds what the entry proposes or orders; nil = nothing. In a trial it
	// has no number.
	Proposal *reorder.Proposal
	// Papers are the pick list and the bag tags; they are in the outbox as well.
	Papers []message.Part
}

// Options are common to entries about people and their kits.
type Options struct {
	Client string
	On     programme.Date // the day on which it happens
	// Try works all out and keeps nothing.
	Try bool
	// From is the sender of mails; empty = the owner. Now is the moment of their date headers.
	From programme.Contact
	Now  time.Time
}

// errNumber ends the transaction of an entry that turned out to need a number for a proposal.
var errNumber = errors.New("a number is needed")

// move is an entry about people and their kits while it is worked out.
type move struct {
	*entry
	opt     *Options
	out     *Outcome
	number  int64 // reserved for a proposal; 0 = none yet
	journal *journal.Journal
	people  []programme.Person
	moves   []programme.Movement // the ledger as it was
	rows    []programme.Movement // to be added to it
	input   *demand.Input        // nil until it is asked for
	named   []reorder.Named      // to be proposed
}

// carry carries out a move as one entry: all of it, or nothing. A number for a
// proposal is reserved once it is known to be needed, and the move worked out anew.
func carry(ctx context.Context, b *books.Books, opt Options, f func(*move) error) (Outcome, error) {
	if opt.On.IsZero() {
		return Outcome{}, errors.New("the day is missing")
	}
	client, err := b.Client(ctx, opt.Client)
	if err != nil {
		return Outcome{}, err
	}
	for number := int64(0); ; {
		out := Outcome{Client: opt.Client, On: opt.On}
		err := b.Store.Trial(ctx, opt.Try, func(tx *store.Tx) error {
			m := &move{entry: &entry{tx: tx, books: b, client: client, code: client.Code}, opt: &opt, out: &out,
				number: number}
			return m.carryOut(f)
		})
		if err == nil {
			return out, nil
		}
		if !errors.Is(err, errNumber) {
			return Outcome{}, err
		}
		n, err := b.Store.ReserveMore(ctx, store.Wanted{Proposals: 1})
		if err != nil {
			return Outcome{}, err
		}
		number = n.Proposal
	}
}

func (m *move) carryOut(f func(*move) error) (err error) {
	if m.people, err = m.tx.People(m.code); err != nil {
		return err
	}
	if m.moves, err = m.tx.Movements(m.code); err != nil {
		return err
	}
	if m.journal, err = journal.Open(m.tx); err != nil {
		return err
	}
	err = m.keep(func() (err error) {
		if err := f(m); err != nil {
			return err
		}
		if err := m.addRows(); err != nil {
			return err
		}
		m.undo.Journal, err = m.journal.Close()
		return err
	})
	if err != nil {
		return err
	}
	m.out.Done = m.done
	if !m.opt.Try {
		m.out.Entry = m.id
	}
	return nil
}

// addRows writes the rows of the move into the ledger under refs of their own.
func (m *move) addRows() error {
	if len(m.rows) == 0 {
		return nil
	}
	taken := map[string]bool{}
	for i := range m.moves {
		taken[m.moves[i].Ref] = true
	}
	for i := range m.rows {
		if m.rows[i].Ref == "" {
			m.rows[i].Ref = freeRef(m.id, taken)
		}
	}
	_, _, err := m.tx.AddMovements(m.code, m.rows, m.id)
	return err
}

// put stores a person, new where there is none before, and keeps the people of the move true.
func (m *move) put(before, after *programme.Person) error {
	err := m.entry.put(before, after)
	at := slices.IndexFunc(m.people, func(p programme.Person) bool { return p.StaffID == after.StaffID })
	if at < 0 {
		m.people = append(m.people, *after)
	} else {
		m.people[at] = *after
	}
	return err
}

// known returns what the records say, learnt from this client's alone: enough to judge
// what may be worn on.
func (m *move) known() (*demand.Input, error) {
	if m.input != nil {
		return m.input, nil
	}
	past, err := demand.Recall(m.books.Shop, m.client, m.people, upTo(m.moves, m.opt.On), m.opt.On)
	if err != nil {
		return nil, err
	}
	m.input, err = past.Prepare(nil, nil)
	return m.input, err
}

func upTo(moves []programme.Movement, day programme.Date) []programme.Movement {
	out := make([]programme.Movement, 0, len(moves))
	for i := range moves {
		if moves[i].Date <= day {
			out = append(out, moves[i])
		}
	}
	return out
}
