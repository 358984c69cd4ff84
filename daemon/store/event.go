package store

import (
	"context"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// Event is something that the owner's next mail must tell.
type Event struct {
	ID     int64
	Last   time.Time
	Times  int
	Kind   programme.EventKind
	Client string // code; empty = nobody's in particular
	What   string // a sentence
	Mend   string // what would mend it, as a sentence; may be empty
}

// AddEvent records e for the owner's next mail. Last and Times are set by
// the store; one that is equal to an untold one is counted with it.
func (tx *Tx) AddEvent(e Event) error {
	return tx.do("record an event",
		`INSERT INTO event (at, last_at, kind, client, what, mend) VALUES (?1, ?1, ?2, ?3, ?4, ?5)
		ON CONFLICT (kind, client, what) WHERE told_in IS NULL DO UPDATE SET last_at = excluded.last_at,
			times = times + 1`,
		stamp(tx.Now), e.Kind, e.Client, e.What, e.Mend)
}

// AddEvent records e in a transaction of its own.
func (s *Store) AddEvent(ctx context.Context, e Event) error {
	return s.InTx(ctx, func(tx *Tx) error { return tx.AddEvent(e) })
}

// UntoldEvents returns what no round has told yet, oldest first.
func (s *Store) UntoldEvents(ctx context.Context) ([]Event, error) {
	return rowsOf(s.View(ctx), "read events", func(row scanner) (e Event, err error) {
		err = row.Scan(&e.ID, instant{&e.Last}, &e.Times, &e.Kind, &e.Client, &e.What, &e.Mend)
		return e, err
	}, `SELECT id, last_at, times, kind, client, what, mend FROM event WHERE told_in IS NULL ORDER BY id`)
}

// MarkTold notes that a round's mail tells the events. One that happened again
// since it was read stays untold.
func (tx *Tx) MarkTold(events []Event, round int64) error {
	for i := range events {
		if err := tx.do("mark events as told", `UPDATE event SET told_in = ? WHERE id = ? AND times = ?`, round,
			events[i].ID, events[i].Times); err != nil {
			return err
		}
	}
	return nil
}

// AddTold records an event that a round's mail tells.
func (tx *Tx) AddTold(e Event, round int64) error {
	return tx.do("record an event",
		`INSERT INTO event (at, last_at, kind, client, what, mend, told_in) VALUES (?1, ?1, ?2, ?3, ?4, ?5, ?6)`,
		stamp(tx.Now), e.Kind, e.Client, e.What, e.Mend, round)
}

// ToldOf returns what rounds have told of a kind about a client since a day.
func (s *Store) ToldOf(ctx context.Context, kind programme.EventKind, client string,
	since programme.Date) ([]string, error) {
	return rowsOf(s.View(ctx), "read events", scanValue[string],
		`SELECT e.what FROM event e JOIN round r ON r.id = e.told_in
		WHERE e.kind = ? AND e.client = ? AND r.as_of >= ? ORDER BY e.id`, kind, client, since.String())
}
