package store

import (
	"context"
	"fmt"
	"time"
)

// MessageState is where a message to one recipient stands.
type MessageState string

// States of a message in the outbox.
const (
	Waiting  MessageState = "waiting"  // not yet accepted by the mail server
	Accepted MessageState = "accepted" // the mail server has taken it
	Refused  MessageState = "refused"  // the mail server will never take it
)

// Message is one message to one recipient with the bytes that go out.
type Message struct {
	ID        int64
	MessageID string // without brackets
	Recipient string
	Sender    string
	Kind      string
	Subject   string
	RoundID   int64 // 0 = none
	Proposal  int64 // 0 = none
	Raw       []byte
	State     MessageState
	Tries     int
	NextTry   time.Time
	LastError string
	CreatedAt time.Time
}

// AddMessage puts a message into the outbox, due at once. A message that is
// there already, by its ID and recipient, is left as it is.
func (tx *Tx) AddMessage(m Message) error {
	_, err := tx.ExecContext(tx.ctx, `INSERT INTO outbox (message_id, recipient, sender, kind, subject, round_id, proposal, raw, next_try, created_at)
		VALUES (?, ?, ?, ?, ?, nullif(?, 0), nullif(?, 0), ?, ?, ?) ON CONFLICT (message_id, recipient) DO NOTHING`,
		m.MessageID, m.Recipient, m.Sender, m.Kind, m.Subject, m.RoundID, m.Proposal, m.Raw, stamp(tx.Now), stamp(tx.Now))
	if err != nil {
		return fmt.Errorf("put %q into the outbox: %w", m.Subject, err)
	}
	return nil
}

const selectMessage = `SELECT id, message_id, recipient, sender, kind, subject, coalesce(round_id, 0), coalesce(proposal, 0), raw, state, tries, next_try, last_error, created_at FROM outbox `

// DueMessages returns up to limit waiting messages whose next try has come, oldest first.
func (s *Store) DueMessages(ctx context.Context, now time.Time, limit int) ([]Message, error) {
	return s.messages(ctx, selectMessage+`WHERE state = 'waiting' AND next_try <= ? ORDER BY id LIMIT ?`, stamp(now), limit)
}

// Messages returns the messages of a state (of all when empty), newest first, up to limit.
func (s *Store) Messages(ctx context.Context, state MessageState, limit int) ([]Message, error) {
	return s.messages(ctx, selectMessage+`WHERE ?1 = '' OR state = ?1 ORDER BY id DESC LIMIT ?2`, string(state), limit)
}

// Message returns one message; ok is false when there is none of that number.
func (s *Store) Message(ctx context.Context, id int64) (m Message, ok bool, err error) {
	list, err := s.messages(ctx, selectMessage+`WHERE id = ?`, id)
	if err != nil || len(list) == 0 {
		return m, false, err
	}
	return list[0], true, nil
}

func (s *Store) messages(ctx context.Context, query string, args ...any) ([]Message, error) {
	rows, err := s.reader.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, fmt.Errorf("read the outbox: %w", err)
	}
	return collect(rows, func(row scanner) (Message, error) {
		var m Message
		var next, created string
		err := row.Scan(&m.ID, &m.MessageID, &m.Recipient, &m.Sender, &m.Kind, &m.Subject, &m.RoundID, &m.Proposal, &m.Raw, &m.State, &m.Tries, &next, &m.LastError, &created)
		if err != nil {
			return m, err
		}
		if m.NextTry, err = time.Parse(time.RFC3339Nano, next); err != nil {
			return m, err
		}
		m.CreatedAt, err = time.Parse(time.RFC3339Nano, created)
		return m, err
	})
}

// SettleMessage records that a message was accepted or finally refused.
func (tx *Tx) SettleMessage(id int64, state MessageState, lastError string) error {
	return tx.setMessage(id, `state = ?, settled_at = ?, last_error = ?, tries = tries + 1`, string(state), stamp(tx.Now), lastError)
}

// RetryMessage records a failed try and when to try again.
func (tx *Tx) RetryMessage(id int64, next time.Time, lastError string) error {
	return tx.setMessage(id, `next_try = ?, last_error = ?, tries = tries + 1`, stamp(next), lastError)
}

func (tx *Tx) setMessage(id int64, set string, args ...any) error {
	if _, err := tx.ExecContext(tx.ctx, `UPDATE outbox SET `+set+` WHERE id = ?`, append(args, id)...); err != nil {
		return fmt.Errorf("record delivery of message %d: %w", id, err)
	}
	return nil
}

// NextNumbers foresees the numbers of the next round and the next proposal.
func (s *Store) NextNumbers(ctx context.Context) (round, proposal int64, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT coalesce((SELECT max(id) FROM round), 0) + 1,
		coalesce((SELECT seq FROM sqlite_sequence WHERE name = 'proposal'), 0) + 1`).Scan(&round, &proposal)
	if err != nil {
		return 0, 0, fmt.Errorf("read the last numbers: %w", err)
	}
	return round, proposal, nil
}

// Incident is something that went wrong and that the owner should hear of.
type Incident struct {
	ID     int64
	At     time.Time
	Kind   string // import, mail, ...: the words of the weekly mail
	Client string // name; empty when it is nobody's in particular
	What   string
	Do     string
}

// AddIncident notes something for the next round's mail.
func (tx *Tx) AddIncident(i Incident) error {
	_, err := tx.ExecContext(tx.ctx, `INSERT INTO incident (at, kind, client, what, do_next) VALUES (?, ?, ?, ?, ?)`, stamp(tx.Now), i.Kind, i.Client, i.What, i.Do)
	if err != nil {
		return fmt.Errorf("note an incident: %w", err)
	}
	return nil
}

// OpenIncidents returns what no round has told yet, oldest first.
func (s *Store) OpenIncidents(ctx context.Context) ([]Incident, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, at, kind, client, what, do_next FROM incident WHERE told_in IS NULL ORDER BY id`)
	if err != nil {
		return nil, fmt.Errorf("read incidents: %w", err)
	}
	return collect(rows, func(row scanner) (Incident, error) {
		var i Incident
		var at string
		if err := row.Scan(&i.ID, &at, &i.Kind, &i.Client, &i.What, &i.Do); err != nil {
			return i, err
		}
		t, err := time.Parse(time.RFC3339Nano, at)
		i.At = t
		return i, err
	})
}

// TellIncidents marks the incidents up to and including last as told by a round.
func (tx *Tx) TellIncidents(roundID, last int64) error {
	if _, err := tx.ExecContext(tx.ctx, `UPDATE incident SET told_in = ? WHERE told_in IS NULL AND id <= ?`, roundID, last); err != nil {
		return fmt.Errorf("mark incidents as told: %w", err)
	}
	return nil
}
