package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Enqueue puts a letter into the outbox within the transaction that caused it.
// A Message-ID that is there already is left as it is.
func (tx *Tx) Enqueue(l outbox.Letter) (int64, error) {
	if l.Way == "" {
		l.Way = outbox.Post
	}
	var id int64
	err := tx.QueryRowContext(tx.ctx, `INSERT INTO message (message_id, name, kind, client, proposal, subject, sender, bytes, created_at)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (message_id) DO UPDATE SET message_id = message_id RETURNING id`,
		l.MessageID, l.Name, l.Kind, l.Client, l.Proposal, l.Subject, l.From, l.Bytes, stamp(tx.Now)).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("put message %s into the outbox: %w", l.MessageID, err)
	}
	for _, to := range l.To {
		if _, err := tx.ExecContext(tx.ctx, `INSERT INTO delivery (message, recipient, way, state, next_try) VALUES (?, ?, ?, 'waiting', ?) ON CONFLICT DO NOTHING`,
			id, to, string(l.Way), stamp(tx.Now)); err != nil {
			return 0, fmt.Errorf("put message %s into the outbox: %w", l.MessageID, err)
		}
	}
	return id, nil
}

// EnqueueAll puts letters into the outbox, in order.
func (tx *Tx) EnqueueAll(letters []outbox.Letter) error {
	for i := range letters {
		if _, err := tx.Enqueue(letters[i]); err != nil {
			return err
		}
	}
	return nil
}

// Draft is a letter that lies in the folder of drafts, without its bytes, and the state of
// its proposal, empty where it has none.
type Draft struct {
	outbox.Letter
	State reorder.State
}

// Drafts returns the letters that were written into the folder of drafts, oldest first.
func (s *Store) Drafts(ctx context.Context) ([]Draft, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT m.id, m.message_id, m.name, m.kind, m.client, m.proposal, coalesce(p.state, '')
		FROM delivery d JOIN message m ON m.id = d.message LEFT JOIN proposal p ON p.number = m.proposal
		WHERE d.way = 'draft' AND d.state = 'accepted' GROUP BY m.id ORDER BY m.id`)
	if err != nil {
		return nil, fmt.Errorf("read the drafts: %w", err)
	}
	return collect(rows, func(row scanner) (d Draft, err error) {
		return d, row.Scan(&d.ID, &d.MessageID, &d.Name, &d.Kind, &d.Client, &d.Proposal, &d.State)
	})
}

// Wrote reports whether a client was written to under that subject, in a mail of that kind.
func (s *Store) Wrote(ctx context.Context, kind, client, subject string) (bool, error) {
	return wrote(ctx, s.reader, kind, client, subject)
}

// Wrote is Store.Wrote as the transaction sees it.
func (tx *Tx) Wrote(kind, client, subject string) (bool, error) {
	return wrote(tx.ctx, tx, kind, client, subject)
}

func wrote(ctx context.Context, q querier, kind, client, subject string) (yes bool, err error) {
	row := q.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM message WHERE kind = ? AND client = ? AND subject = ?)`, kind, client, subject)
	if err = row.Scan(&yes); err != nil {
		return false, fmt.Errorf("look for the mail %q: %w", subject, err)
	}
	return yes, nil
}

// Letter returns a letter with its bytes; ok is false when there is none of that number.
func (s *Store) Letter(ctx context.Context, id int64) (l outbox.Letter, ok bool, err error) {
	var created, to string
	err = s.reader.QueryRowContext(ctx, `SELECT id, message_id, name, kind, client, proposal, subject, sender, bytes, created_at,
		coalesce((SELECT way FROM delivery WHERE message = id LIMIT 1), 'post'), (SELECT json_group_array(recipient) FROM delivery WHERE message = id)
		FROM message WHERE id = ?`, id).
		Scan(&l.ID, &l.MessageID, &l.Name, &l.Kind, &l.Client, &l.Proposal, &l.Subject, &l.From, &l.Bytes, &created, &l.Way, &to)
	if errors.Is(err, sql.ErrNoRows) {
		return l, false, nil
	}
	if err == nil {
		err = json.Unmarshal([]byte(to), &l.To)
	}
	if err != nil {
		return l, false, fmt.Errorf("read message %d: %w", id, err)
	}
	l.Created, err = readStamp(created)
	return l, err == nil, err
}

// ForgetTexts drops the bytes of the messages that all recipients have had, or
// never will, since before a time, and of those that came and were judged before it, and returns how many those were. The rest of
// their records stays. A shop of a hundred clients would else gather gigabytes,
// and every backup with it.
func (s *Store) ForgetTexts(ctx context.Context, before time.Time) (n int64, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		res, err := tx.ExecContext(ctx, `UPDATE message SET bytes = x'' WHERE created_at < ?1 AND length(bytes) > 0
			AND NOT EXISTS (SELECT 1 FROM delivery d WHERE d.message = message.id AND (d.state IN ('waiting', 'held') OR d.settled_at >= ?1))`, stamp(before))
		if err != nil {
			return fmt.Errorf("drop the texts of old mails: %w", err)
		}
		if n, err = res.RowsAffected(); err != nil {
			return err
		}
		came, err := tx.ForgetReplies("", before)
		n += came
		return err
	})
	return n, err
}

const selectPosting = `SELECT m.id, m.message_id, m.name, d.way, m.kind, m.client, m.proposal, m.subject, m.sender, m.created_at,
	d.recipient, d.state, d.attempts, d.unsure, d.next_try, d.first_try, d.last_try, d.settled_at, d.code, d.answer
	FROM delivery d JOIN message m ON m.id = d.message `

func scanPosting(row scanner) (p outbox.Posting, err error) {
	var created, next string
	var first, last, settled sql.NullString
	if err = row.Scan(&p.ID, &p.MessageID, &p.Name, &p.Way, &p.Kind, &p.Client, &p.Proposal, &p.Subject, &p.From, &created,
		&p.Recipient, &p.State, &p.Attempts, &p.Unsure, &next, &first, &last, &settled, &p.Code, &p.Answer); err != nil {
		return p, err
	}
	for _, c := range []struct {
		text string
		into *time.Time
	}{{created, &p.Created}, {next, &p.NextTry}, {first.String, &p.FirstTry}, {last.String, &p.LastTry}, {settled.String, &p.Settled}} {
		if *c.into, err = readStamp(c.text); err != nil {
			return p, err
		}
	}
	return p, nil
}

// DuePostings returns up to most waiting deliveries of a way whose time has
// come (outbox.Due), the longest waiting first, without their letters' bytes.
func (s *Store) DuePostings(ctx context.Context, way outbox.Way, now time.Time, most int) ([]outbox.Posting, error) {
	rows, err := s.reader.QueryContext(ctx, selectPosting+`WHERE d.way = ? AND d.state = 'waiting' AND (d.next_try <= ? OR d.next_try > ?)
		ORDER BY d.next_try, m.id, d.recipient LIMIT ?`, string(way), stamp(now), stamp(now.Add(outbox.LongestWait)), most)
	if err != nil {
		return nil, fmt.Errorf("read the outbox: %w", err)
	}
	return collect(rows, scanPosting)
}

// Postings returns the newest deliveries, newest first, without their letters'
// bytes; openOnly leaves out what is settled.
func (s *Store) Postings(ctx context.Context, openOnly bool, most int) ([]outbox.Posting, error) {
	rows, err := s.reader.QueryContext(ctx, selectPosting+`WHERE d.state IN ('waiting', 'held') OR NOT ? ORDER BY m.id DESC, d.recipient LIMIT ?`, openOnly, most)
	if err != nil {
		return nil, fmt.Errorf("read the outbox: %w", err)
	}
	return collect(rows, scanPosting)
}

// Settle stores how a delivery stands after a try.
func (tx *Tx) Settle(message int64, d outbox.Delivery) error {
	_, err := tx.ExecContext(tx.ctx, `UPDATE delivery SET state = ?, attempts = ?, unsure = ?, next_try = ?, first_try = ?, last_try = ?, settled_at = ?, code = ?, answer = ?
		WHERE message = ? AND recipient = ?`, string(d.State), d.Attempts, d.Unsure, stamp(d.NextTry), stampOrNull(d.FirstTry), stampOrNull(d.LastTry), stampOrNull(d.Settled),
		d.Code, d.Answer, message, d.Recipient)
	if err != nil {
		return fmt.Errorf("record the delivery of message %d: %w", message, err)
	}
	return nil
}

// TryNow makes every waiting delivery due and starts a stopped or delayed way
// out again; it returns how many deliveries wait.
func (s *Store) TryNow(ctx context.Context) (waiting int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		res, err := tx.ExecContext(ctx, `UPDATE delivery SET next_try = ? WHERE state = 'waiting'`, stamp(tx.Now))
		if err != nil {
			return fmt.Errorf("hurry the outbox: %w", err)
		}
		n, err := res.RowsAffected()
		if err != nil {
			return err
		}
		waiting = int(n)
		_, err = tx.ExecContext(ctx, `DELETE FROM channel`)
		return err
	})
	return waiting, err
}

// Again makes the deliveries of a message that were refused, given up or held
// wait as if they had never been tried; it returns how many those are.
func (s *Store) Again(ctx context.Context, message int64) (again int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		res, err := tx.ExecContext(ctx, `UPDATE delivery SET state = 'waiting', attempts = 0, unsure = 0, next_try = ?, first_try = NULL, settled_at = NULL
			WHERE message = ? AND state IN ('held', 'refused', 'given up') AND EXISTS (SELECT 1 FROM message m WHERE m.id = delivery.message AND length(m.bytes) > 0)`, stamp(tx.Now), message)
		if err != nil {
			return fmt.Errorf("send message %d again: %w", message, err)
		}
		n, err := res.RowsAffected()
		again = int(n)
		return err
	})
	return again, err
}

// Drop takes what waits of a message out of the outbox; it returns how many
// recipients will not get it.
func (s *Store) Drop(ctx context.Context, message int64) (dropped int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		res, err := tx.ExecContext(ctx, `UPDATE delivery SET state = 'dropped', settled_at = ? WHERE message = ? AND state IN ('waiting', 'held')`, stamp(tx.Now), message)
		if err != nil {
			return fmt.Errorf("drop message %d: %w", message, err)
		}
		n, err := res.RowsAffected()
		dropped = int(n)
		return err
	})
	return dropped, err
}

// TriedBetween counts the deliveries of a way whose last try was after one time
// and not after another, for the rate limit.
func (s *Store) TriedBetween(ctx context.Context, way outbox.Way, after, until time.Time) (n int, err error) {
	if err = s.reader.QueryRowContext(ctx, `SELECT count(*) FROM delivery WHERE way = ? AND last_try > ? AND last_try <= ?`, string(way), stamp(after), stamp(until)).Scan(&n); err != nil {
		return 0, fmt.Errorf("read the outbox: %w", err)
	}
	return n, nil
}

// LostSince counts the deliveries that were refused or given up after t.
func (s *Store) LostSince(ctx context.Context, t time.Time) (n int, err error) {
	if err = s.reader.QueryRowContext(ctx, `SELECT count(*) FROM delivery WHERE state IN ('refused', 'given up') AND settled_at > ?`, stamp(t)).Scan(&n); err != nil {
		return 0, fmt.Errorf("read the outbox: %w", err)
	}
	return n, nil
}

// WaitingSince counts the deliveries that wait of messages made before t.
func (s *Store) WaitingSince(ctx context.Context, t time.Time) (n int, err error) {
	if err = s.reader.QueryRowContext(ctx, `SELECT count(*) FROM delivery d JOIN message m ON m.id = d.message WHERE d.state = 'waiting' AND m.created_at < ?`, stamp(t)).Scan(&n); err != nil {
		return 0, fmt.Errorf("read the outbox: %w", err)
	}
	return n, nil
}

// OutboxCount returns how many deliveries of a way there are in each state.
func (s *Store) OutboxCount(ctx context.Context, way outbox.Way) (map[outbox.State]int, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT state, count(*) FROM delivery WHERE way = ? GROUP BY state`, string(way))
	if err != nil {
		return nil, fmt.Errorf("read the outbox: %w", err)
	}
	counts := map[outbox.State]int{}
	_, err = collect(rows, func(row scanner) (none struct{}, err error) {
		var state outbox.State
		var n int
		err = row.Scan(&state, &n)
		counts[state] = n
		return none, err
	})
	return counts, err
}

// Channel returns how a transport stands; one never used stands well.
func (s *Store) Channel(ctx context.Context, name string) (c outbox.Channel, err error) {
	var since, next, stopped sql.NullString
	err = s.reader.QueryRowContext(ctx, `SELECT failures, failing_since, next_try, stopped_at, answer FROM channel WHERE name = ?`, name).
		Scan(&c.Failures, &since, &next, &stopped, &c.Answer)
	if errors.Is(err, sql.ErrNoRows) {
		return c, nil
	}
	if err != nil {
		return c, fmt.Errorf("read the state of %s: %w", name, err)
	}
	for _, v := range []struct {
		text string
		into *time.Time
	}{{since.String, &c.FailingSince}, {next.String, &c.NextTry}, {stopped.String, &c.Stopped}} {
		if *v.into, err = readStamp(v.text); err != nil {
			return c, err
		}
	}
	return c, nil
}

// SetChannel stores how a transport stands.
func (tx *Tx) SetChannel(name string, c outbox.Channel) error {
	_, err := tx.ExecContext(tx.ctx, `INSERT INTO channel (name, failures, failing_since, next_try, stopped_at, answer) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (name) DO UPDATE SET failures = excluded.failures, failing_since = excluded.failing_since, next_try = excluded.next_try,
		stopped_at = excluded.stopped_at, answer = excluded.answer`,
		name, c.Failures, stampOrNull(c.FailingSince), stampOrNull(c.NextTry), stampOrNull(c.Stopped), c.Answer)
	if err != nil {
		return fmt.Errorf("record the state of %s: %w", name, err)
	}
	return nil
}

func stampOrNull(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return stamp(t)
}
