package store

import (
	"context"
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
	what := fmt.Sprintf("put message %s into the outbox", l.MessageID)
	id, err := valueOf[int64](tx.View, what,
		`INSERT INTO message (message_id, name, kind, client, proposal, subject, sender, bytes, created_at)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (message_id) DO UPDATE SET message_id = message_id RETURNING id`,
		l.MessageID, l.Name, l.Kind, l.Client, l.Proposal, l.Subject, l.From, l.Bytes, stamp(tx.Now))
	if err != nil {
		return 0, err
	}
	for _, to := range l.To {
		err := tx.do(what, `INSERT INTO delivery (message, recipient, way, state, next_try) VALUES (?, ?, ?, 'waiting', ?) ON CONFLICT DO NOTHING`,
			id, to, l.Way, stamp(tx.Now))
		if err != nil {
			return 0, err
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
	return rowsOf(s.View(ctx), "read the drafts", func(row scanner) (d Draft, err error) {
		err = row.Scan(&d.ID, &d.MessageID, &d.Name, &d.Kind, &d.Client, &d.Proposal, &d.State)
		return d, err
	}, `SELECT m.id, m.message_id, m.name, m.kind, m.client, m.proposal, coalesce(p.state, '')
		FROM delivery d JOIN message m ON m.id = d.message LEFT JOIN proposal p ON p.number = m.proposal
		WHERE d.way = 'draft' AND d.state = 'accepted' GROUP BY m.id ORDER BY m.id`)
}

// Wrote reports whether a client was written to under that subject, in a mail of that kind.
func (s *Store) Wrote(ctx context.Context, kind, client, subject string) (bool, error) {
	return s.View(ctx).Wrote(kind, client, subject)
}

// Wrote is Store.Wrote as a transaction sees it.
func (v View) Wrote(kind, client, subject string) (bool, error) {
	return valueOf[bool](v, fmt.Sprintf("look for the mail %q", subject),
		`SELECT EXISTS (SELECT 1 FROM message WHERE kind = ? AND client = ? AND subject = ?)`, kind, client, subject)
}

// Letter returns a letter with its bytes; ok is false when there is none of that number.
func (s *Store) Letter(ctx context.Context, id int64) (l outbox.Letter, ok bool, err error) {
	return rowOf(s.View(ctx), fmt.Sprintf("read message %d", id), func(row scanner) (l outbox.Letter, err error) {
		err = row.Scan(&l.ID, &l.MessageID, &l.Name, &l.Kind, &l.Client, &l.Proposal, &l.Subject, &l.From, &l.Bytes,
			instant{&l.Created}, &l.Way, inJSON{&l.To})
		return l, err
	}, `SELECT id, message_id, name, kind, client, proposal, subject, sender, bytes, created_at,
		coalesce((SELECT way FROM delivery WHERE message = id LIMIT 1), 'post'), (SELECT json_group_array(recipient)
			FROM delivery WHERE message = id)
		FROM message WHERE id = ?`, id)
}

// ForgetTexts drops the bytes of the messages that all recipients have had, or
// never will, since before a time, and of those that came and were judged before it, and returns how many those were.
// The rest of their records stays. A shop of a hundred clients would else gather gigabytes,
// and every backup with it.
func (s *Store) ForgetTexts(ctx context.Context, before time.Time) (n int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		n, err = tx.change("drop the texts of old mails",
			`UPDATE message SET bytes = x'' WHERE created_at < ?1 AND length(bytes) > 0
			AND NOT EXISTS (SELECT 1 FROM delivery d WHERE d.message = message.id
				AND (d.state IN ('waiting', 'held') OR d.settled_at >= ?1))`, stamp(before))
		if err != nil {
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
	err = row.Scan(&p.ID, &p.MessageID, &p.Name, &p.Way, &p.Kind, &p.Client, &p.Proposal, &p.Subject, &p.From,
		instant{&p.Created}, &p.Recipient, &p.State, &p.Attempts, &p.Unsure,
		instant{&p.NextTry}, instant{&p.FirstTry}, instant{&p.LastTry}, instant{&p.Settled}, &p.Code, &p.Answer)
	return p, err
}

// DuePostings returns up to most waiting deliveries of a way whose time has
// come (outbox.Due), the longest waiting first, without their letters' bytes.
func (s *Store) DuePostings(ctx context.Context, way outbox.Way, now time.Time, most int) ([]outbox.Posting, error) {
	return rowsOf(s.View(ctx), "read the outbox", scanPosting,
		selectPosting+`WHERE d.way = ? AND d.state = 'waiting' AND (d.next_try <= ? OR d.next_try > ?)
		ORDER BY d.next_try, m.id, d.recipient LIMIT ?`, way, stamp(now), stamp(now.Add(outbox.LongestWait)), most)
}

// Postings returns the newest deliveries, newest first, without their letters'
// bytes; openOnly leaves out what is settled.
func (s *Store) Postings(ctx context.Context, openOnly bool, most int) ([]outbox.Posting, error) {
	return rowsOf(s.View(ctx), "read the outbox", scanPosting,
		selectPosting+`WHERE d.state IN ('waiting', 'held') OR NOT ? ORDER BY m.id DESC, d.recipient LIMIT ?`,
		openOnly, most)
}

// Settle stores the state of a delivery after a try.
func (tx *Tx) Settle(message int64, d outbox.Delivery) error {
	return tx.do(fmt.Sprintf("record the delivery of message %d", message),
		`UPDATE delivery SET state = ?, attempts = ?, unsure = ?, next_try = ?, first_try = ?, last_try = ?, settled_at = ?, code = ?, answer = ? WHERE message = ? AND recipient = ?`,
		d.State, d.Attempts, d.Unsure, stamp(d.NextTry), stampOrNull(d.FirstTry), stampOrNull(d.LastTry),
		stampOrNull(d.Settled), d.Code, d.Answer, message, d.Recipient)
}

// TryNow makes every waiting delivery due and clears the waits and stops of all transports; it returns how many
// deliveries wait.
func (s *Store) TryNow(ctx context.Context) (waiting int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		waiting, err = tx.change("hurry the outbox", `UPDATE delivery SET next_try = ? WHERE state = 'waiting'`,
			stamp(tx.Now))
		if err != nil {
			return err
		}
		return tx.do("start the ways out again", `DELETE FROM channel`)
	})
	return waiting, err
}

// Again makes the deliveries of a message that were refused, given up or held
// wait as if they had never been tried; it returns how many those are.
func (s *Store) Again(ctx context.Context, message int64) (again int, err error) {
	err = s.InTx(ctx, func(tx *Tx) (err error) {
		again, err = tx.change(fmt.Sprintf("send message %d again",
			message),
			`UPDATE delivery SET state = 'waiting', attempts = 0, unsure = 0, next_try = ?, first_try = NULL, settled_at = NULL
			WHERE message = ? AND state IN ('held', 'refused', 'given up') AND EXISTS (SELECT 1 FROM message m
				WHERE m.id = delivery.message AND length(m.bytes) > 0)`, stamp(tx.Now), message)
		return err
	})
	return again, err
}

// Drop takes what waits of a message out of the outbox; it returns how many
// recipients will not get it.
func (s *Store) Drop(ctx context.Context, message int64) (dropped int, err error) {
	err = s.InTx(ctx, func(tx *Tx) (err error) {
		dropped, err = tx.change(fmt.Sprintf("drop message %d", message),
			`UPDATE delivery SET state = 'dropped', settled_at = ? WHERE message = ? AND state IN ('waiting', 'held')`,
			stamp(tx.Now), message)
		return err
	})
	return dropped, err
}

// TriedBetween counts the deliveries of a way whose last try was after one time
// and not after another, for the rate limit.
func (s *Store) TriedBetween(ctx context.Context, way outbox.Way, after, until time.Time) (int, error) {
	return valueOf[int](s.View(ctx), "read the outbox",
		`SELECT count(*) FROM delivery WHERE way = ? AND last_try > ? AND last_try <= ?`, way, stamp(after),
		stamp(until))
}

// LostSince counts the deliveries that were refused or given up after t.
func (s *Store) LostSince(ctx context.Context, t time.Time) (int, error) {
	return valueOf[int](s.View(ctx), "read the outbox",
		`SELECT count(*) FROM delivery WHERE state IN ('refused', 'given up') AND settled_at > ?`, stamp(t))
}

// WaitingSince counts the deliveries that wait of messages made before t.
func (s *Store) WaitingSince(ctx context.Context, t time.Time) (int, error) {
	return valueOf[int](s.View(ctx), "read the outbox",
		`SELECT count(*) FROM delivery d JOIN message m ON m.id = d.message WHERE d.state = 'waiting' AND m.created_at < ?`, stamp(t))
}

// OutboxCount returns how many deliveries of a way there are in each state.
func (s *Store) OutboxCount(ctx context.Context, way outbox.Way) (map[outbox.State]int, error) {
	counts := map[outbox.State]int{}
	_, err := rowsOf(s.View(ctx), "read the outbox", func(row scanner) (none struct{}, err error) {
		var state outbox.State
		var n int
		err = row.Scan(&state, &n)
		counts[state] = n
		return none, err
	}, `SELECT state, count(*) FROM delivery WHERE way = ? GROUP BY state`, way)
	return counts, err
}

// Channel returns the state of a transport; the zero value for one that was never used.
func (s *Store) Channel(ctx context.Context, name string) (outbox.Channel, error) {
	c, _, err := rowOf(s.View(ctx), "read the state of "+name, func(row scanner) (c outbox.Channel, err error) {
		err = row.Scan(&c.Failures, instant{&c.FailingSince}, instant{&c.NextTry}, instant{&c.Stopped}, &c.Answer)
		return c, err
	}, `SELECT failures, failing_since, next_try, stopped_at, answer FROM channel WHERE name = ?`, name)
	return c, err
}

// SetChannel stores the state of a transport.
func (tx *Tx) SetChannel(name string, c outbox.Channel) error {
	return tx.do("record the state of "+name,
		`INSERT INTO channel (name, failures, failing_since, next_try, stopped_at, answer) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (name) DO UPDATE SET failures = excluded.failures,
			failing_since = excluded.failing_since, next_try = excluded.next_try,
		stopped_at = excluded.stopped_at, answer = excluded.answer`,
		name, c.Failures, stampOrNull(c.FailingSince), stampOrNull(c.NextTry), stampOrNull(c.Stopped), c.Answer)
}
