package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// ReplyState is the state of a mail that came back.
type ReplyState string

// States of a reply.
const (
	ReplyNew         ReplyState = "new"         // not judged yet
	ReplyDone        ReplyState = "done"        // what it says is carried out
	ReplyAsked       ReplyState = "asked"       // a person decides
	ReplyQuarantined ReplyState = "quarantined" // it cannot be believed
	ReplyIgnored     ReplyState = "ignored"     // it says nothing to us
)

// Reply is a mail that came back and what came of it.
type Reply struct {
	ID      int64
	Source  string
	At      time.Time
	Vouched bool // a person of the shop says that it comes from whom it says
	Bytes   []byte
	Tries   int // times that judging it was begun without an end
	State   ReplyState
	Sender  string
	Subject string
	Client  string // code; may be empty
	// Proposal is the number of the proposal that it answers; 0 = none that is known.
	Proposal int64
	Why      string
	Judged   time.Time
	// Content is the hash of what its sender wrote, whatever servers added.
	Content []byte
}

// KeepReply stores a mail as it came. The same bytes are stored once, so that a
// mail that is read again, or sent again by somebody, is judged once.
func (s *Store) KeepReply(ctx context.Context, source string, raw []byte, vouched bool) (id int64, isNew bool, err error) {
	sum := sha256.Sum256(raw)
	err = s.InTx(ctx, func(tx *Tx) error {
		res, err := tx.ExecContext(ctx, `INSERT INTO reply (source, sha256, at, vouched, bytes, state) VALUES (?, ?, ?, ?, ?, 'new') ON CONFLICT (sha256) DO NOTHING`,
			source, sum[:], stamp(tx.Now), vouched, raw)
		if err != nil {
			return err
		}
		n, err := res.RowsAffected()
		if isNew = n > 0; err != nil {
			return err
		}
		if !isNew && vouched { // a person may vouch for what was put aside
			if _, err = tx.ExecContext(ctx, `UPDATE reply SET vouched = 1, state = 'new', tries = 0, bytes = ?2 WHERE sha256 = ?1 AND state = 'quarantined'`, sum[:], raw); err != nil {
				return err
			}
		}
		return tx.QueryRowContext(ctx, `SELECT id FROM reply WHERE sha256 = ?`, sum[:]).Scan(&id)
	})
	if err != nil {
		return 0, false, fmt.Errorf("keep a mail that came: %w", err)
	}
	return id, isNew, nil
}

// MailboxRead returns how far a mailbox was read; zeros = never.
func (s *Store) MailboxRead(ctx context.Context, name string) (validity, last uint32, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT validity, last FROM mailbox WHERE name = ?`, name).Scan(&validity, &last)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, 0, nil
	}
	if err != nil {
		return 0, 0, fmt.Errorf("look how far %s was read: %w", name, err)
	}
	return validity, last, nil
}

// PutMailboxRead notes how far a mailbox was read.
func (s *Store) PutMailboxRead(ctx context.Context, name string, validity, last uint32) error {
	return s.InTx(ctx, func(tx *Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO mailbox (name, validity, last) VALUES (?, ?, ?)
			ON CONFLICT (name) DO UPDATE SET validity = excluded.validity, last = excluded.last`, name, int64(validity), int64(last))
		if err != nil {
			return fmt.Errorf("note how far %s was read: %w", name, err)
		}
		return nil
	})
}

const selectReply = `SELECT id, source, at, vouched, bytes, tries, state, sender, subject, client, proposal, why, coalesce(judged_at, '') FROM reply `

func scanReply(row scanner) (r Reply, err error) {
	var at, judged string
	if err = row.Scan(&r.ID, &r.Source, &at, &r.Vouched, &r.Bytes, &r.Tries, &r.State, &r.Sender, &r.Subject, &r.Client, &r.Proposal, &r.Why, &judged); err != nil {
		return r, err
	}
	if r.At, err = readStamp(at); err != nil {
		return r, err
	}
	r.Judged, err = readStamp(judged)
	return r, err
}

// NewReplies returns up to most mails that are not judged yet of those after that
// number, the oldest first.
func (s *Store) NewReplies(ctx context.Context, after int64, most int) ([]Reply, error) {
	rows, err := s.reader.QueryContext(ctx, selectReply+`WHERE state = 'new' AND id > ? ORDER BY id LIMIT ?`, after, most)
	if err != nil {
		return nil, fmt.Errorf("read the mails that came: %w", err)
	}
	return collect(rows, scanReply)
}

// Replies returns the newest mails that came back, without their bytes, in the
// given states or, without one, in all.
func (s *Store) Replies(ctx context.Context, most int, states ...ReplyState) ([]Reply, error) {
	list := "|"
	for _, st := range states {
		list += string(st) + "|"
	}
	rows, err := s.reader.QueryContext(ctx, `SELECT id, source, at, vouched, x'', tries, state, sender, subject, client, proposal, why, coalesce(judged_at, '') FROM reply
		WHERE ?1 = '|' OR instr(?1, '|' || state || '|') > 0 ORDER BY id DESC LIMIT ?2`, list, most)
	if err != nil {
		return nil, fmt.Errorf("read the mails that came: %w", err)
	}
	return collect(rows, scanReply)
}

// Reply returns one mail that came back; ok is false when there is none of that number.
func (s *Store) Reply(ctx context.Context, id int64) (r Reply, ok bool, err error) {
	rows, err := s.reader.QueryContext(ctx, selectReply+`WHERE id = ?`, id)
	if err != nil {
		return r, false, fmt.Errorf("read mail %d that came: %w", id, err)
	}
	all, err := collect(rows, scanReply)
	if err != nil || len(all) == 0 {
		return r, false, err
	}
	return all[0], true, nil
}

// BeginReply counts that judging a mail is begun, and returns how often it was.
func (s *Store) BeginReply(ctx context.Context, id int64) (tries int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		return tx.QueryRowContext(ctx, `UPDATE reply SET tries = tries + 1 WHERE id = ? RETURNING tries`, id).Scan(&tries)
	})
	if err != nil {
		return 0, fmt.Errorf("begin mail %d that came: %w", id, err)
	}
	return tries, nil
}

// PauseReply takes back that judging a mail was begun: its trouble was not the mail's.
func (s *Store) PauseReply(ctx context.Context, id int64) error {
	return s.InTx(ctx, func(tx *Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE reply SET tries = max(tries - 1, 0) WHERE id = ?`, id)
		return err
	})
}

// SettleReply stores what came of a mail. ok is false when it is settled already
// by another hand: the caller must then do nothing for it.
func (tx *Tx) SettleReply(r *Reply) (ok bool, err error) {
	res, err := tx.ExecContext(tx.ctx, `UPDATE reply SET state = ?, sender = ?, subject = ?, client = ?, proposal = ?, why = ?, judged_at = ?, content = ?
		WHERE id = ? AND state IN ('new', 'asked')`, string(r.State), r.Sender, r.Subject, r.Client, r.Proposal, r.Why, stamp(tx.Now), orEmpty(r.Content), r.ID)
	if err != nil {
		return false, fmt.Errorf("record what came of mail %d: %w", r.ID, err)
	}
	n, err := res.RowsAffected()
	return n == 1, err
}

// orEmpty is for columns that are never NULL.
func orEmpty(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// CameBefore reports whether another mail of the same content was acted on or is asked about.
func (tx *Tx) CameBefore(r *Reply) (yes bool, err error) {
	err = tx.QueryRowContext(tx.ctx, `SELECT EXISTS (SELECT 1 FROM reply WHERE content = ? AND id <> ? AND state IN ('done', 'asked'))`, orEmpty(r.Content), r.ID).Scan(&yes)
	if err != nil {
		return false, fmt.Errorf("look for the same mail: %w", err)
	}
	return yes, nil
}

// ConfirmedSince reports whether an address got a mail of that kind since then.
func (tx *Tx) ConfirmedSince(kind, recipient string, since time.Time) (yes bool, err error) {
	err = tx.QueryRowContext(tx.ctx, `SELECT EXISTS (SELECT 1 FROM message m JOIN delivery d ON d.message = m.id
		WHERE m.kind = ? AND lower(d.recipient) = lower(?) AND m.created_at >= ?)`, kind, recipient, stamp(since)).Scan(&yes)
	if err != nil {
		return false, fmt.Errorf("look for earlier confirmations: %w", err)
	}
	return yes, nil
}

// RefuseDelivery notes that a mail of ours came back: its delivery to that
// recipient (to all of them where none is named) is refused after all. It returns
// the addresses that it did not know of yet.
func (tx *Tx) RefuseDelivery(messageID string, recipients []string, why string) (subject, client string, failed []string, err error) {
	rows, err := tx.QueryContext(tx.ctx, `SELECT m.id, m.subject, m.client, d.recipient FROM message m JOIN delivery d ON d.message = m.id
		WHERE m.message_id = ? AND d.way = 'post' AND d.state <> 'refused'`, messageID)
	if err != nil {
		return "", "", nil, fmt.Errorf("look for the mail that came back: %w", err)
	}
	type sent struct {
		id                         int64
		subject, client, recipient string
	}
	all, err := collect(rows, func(row scanner) (x sent, err error) {
		err = row.Scan(&x.id, &x.subject, &x.client, &x.recipient)
		return x, err
	})
	if err != nil {
		return "", "", nil, err
	}
	for _, x := range all {
		subject, client = x.subject, x.client
		if len(recipients) > 0 && !slices.ContainsFunc(recipients, func(r string) bool { return strings.EqualFold(r, x.recipient) }) {
			continue
		}
		if _, err := tx.ExecContext(tx.ctx, `UPDATE delivery SET state = 'refused', settled_at = ?, answer = ? WHERE message = ? AND recipient = ?`,
			stamp(tx.Now), why, x.id, x.recipient); err != nil {
			return "", "", nil, fmt.Errorf("record a mail that came back: %w", err)
		}
		failed = append(failed, x.recipient)
	}
	return subject, client, failed, nil
}

// ForgetReplies drops what mails say that were judged before a time: of one client,
// or with no code of all. What came of them stays on record.
func (tx *Tx) ForgetReplies(client string, before time.Time) (n int64, err error) {
	res, err := tx.ExecContext(tx.ctx, `UPDATE reply SET bytes = x'', subject = '', why = state WHERE length(bytes) > 0 AND state <> 'new'
		AND judged_at < ?2 AND (?1 = '' OR client = ?1)`, client, stamp(before))
	if err != nil {
		return 0, fmt.Errorf("drop old mails that came: %w", err)
	}
	return res.RowsAffected()
}
