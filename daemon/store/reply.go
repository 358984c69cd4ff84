package store

import (
	"context"
	"crypto/sha256"
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
	ReplyDone        ReplyState = "done"        // what it says is carried out, or a person has dealt with it
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
	// Content is the hash of what its sender wrote, whatever servers added.
	Content []byte
}

// KeepReply stores a mail as it came. The same bytes are stored once, so that a
// mail that is read again, or sent again by somebody, is judged once.
func (s *Store) KeepReply(ctx context.Context, source string, raw []byte,
	vouched bool) (id int64, isNew bool, err error) {
	sum := sha256.Sum256(raw)
	const what = "keep a mail that came"
	err = s.InTx(ctx, func(tx *Tx) error {
		n, err := tx.change(what, `INSERT INTO reply (source, sha256, at, vouched, bytes, state) VALUES (?, ?, ?, ?, ?, 'new') ON CONFLICT (sha256) DO NOTHING`,
			source, sum[:], stamp(tx.Now), vouched, raw)
		if isNew = n > 0; err != nil {
			return err
		}
		if !isNew && vouched { // a person may vouch for what was put aside
			if err := tx.do(what, `UPDATE reply SET vouched = 1, state = 'new', tries = 0, bytes = ?2 WHERE sha256 = ?1 AND state = 'quarantined'`,
				sum[:], raw); err != nil {
				return err
			}
		}
		id, err = valueOf[int64](tx.View, what, `SELECT id FROM reply WHERE sha256 = ?`, sum[:])
		return err
	})
	return id, isNew, err
}

// MailboxRead returns how far a mailbox was read; zeros = never.
func (s *Store) MailboxRead(ctx context.Context, name string) (validity, last uint32, err error) {
	_, _, err = rowOf(s.View(ctx), "look how far "+name+" was read", func(row scanner) (none struct{}, err error) {
		return none, row.Scan(&validity, &last)
	}, `SELECT validity, last FROM mailbox WHERE name = ?`, name)
	return validity, last, err
}

// PutMailboxRead notes how far a mailbox was read.
func (s *Store) PutMailboxRead(ctx context.Context, name string, validity, last uint32) error {
	return s.InTx(ctx, func(tx *Tx) error {
		return tx.do("note how far "+name+" was read", `INSERT INTO mailbox (name, validity, last) VALUES (?, ?, ?)
			ON CONFLICT (name) DO UPDATE SET validity = excluded.validity,
				last = excluded.last`, name, int64(validity), int64(last))
	})
}

const selectReply = `SELECT id, source, at, vouched, bytes, tries, state, sender, subject, client, proposal, why FROM reply `

func scanReply(row scanner) (r Reply, err error) {
	err = row.Scan(&r.ID, &r.Source, instant{&r.At}, &r.Vouched, &r.Bytes, &r.Tries, &r.State, &r.Sender, &r.Subject,
		&r.Client, &r.Proposal, &r.Why)
	return r, err
}

// NewReplies returns up to most mails that are not judged yet of those after that
// number, the oldest first.
func (s *Store) NewReplies(ctx context.Context, after int64, most int) ([]Reply, error) {
	return rowsOf(s.View(ctx), "read the mails that came", scanReply,
		selectReply+`WHERE state = 'new' AND id > ? ORDER BY id LIMIT ?`, after, most)
}

// Replies returns the newest mails that came back, without their bytes, in the
// given states or, without one, in all.
func (s *Store) Replies(ctx context.Context, most int, states ...ReplyState) ([]Reply, error) {
	return rowsOf(s.View(ctx), "read the mails that came", scanReply,
		`SELECT id, source, at, vouched, x'', tries, state, sender, subject, client, proposal, why FROM reply
		WHERE ?1 = 'null' OR state IN (SELECT value FROM json_each(?1)) ORDER BY id DESC
			LIMIT ?2`, inJSON{states}, most)
}

// Reply returns one mail that came back; ok is false when there is none of that number.
func (s *Store) Reply(ctx context.Context, id int64) (r Reply, ok bool, err error) {
	return rowOf(s.View(ctx), fmt.Sprintf("read mail %d that came", id), scanReply, selectReply+`WHERE id = ?`, id)
}

// BeginReply counts that judging a mail is begun, and returns how often it was.
func (s *Store) BeginReply(ctx context.Context, id int64) (tries int, err error) {
	err = s.InTx(ctx, func(tx *Tx) (err error) {
		tries, err = valueOf[int](tx.View, fmt.Sprintf("begin mail %d that came", id),
			`UPDATE reply SET tries = tries + 1 WHERE id = ? RETURNING tries`, id)
		return err
	})
	return tries, err
}

// PauseReply takes back that judging a mail was begun: its trouble was not the mail's.
func (s *Store) PauseReply(ctx context.Context, id int64) error {
	return s.InTx(ctx, func(tx *Tx) error {
		return tx.do(fmt.Sprintf("leave mail %d that came", id),
			`UPDATE reply SET tries = max(tries - 1, 0) WHERE id = ?`, id)
	})
}

// SettleReply stores what came of a mail. ok is false when it is settled already
// by another hand: the caller must then do nothing for it.
func (tx *Tx) SettleReply(r *Reply) (ok bool, err error) {
	n, err := tx.change(fmt.Sprintf("record what came of mail %d",
		r.ID),
		`UPDATE reply SET state = ?, sender = ?, subject = ?, client = ?, proposal = ?, why = ?, judged_at = ?, content = ?
		WHERE id = ? AND state IN ('new',
			'asked')`, r.State, r.Sender, r.Subject, r.Client, r.Proposal, r.Why, stamp(tx.Now), orEmpty(r.Content), r.ID)
	return n == 1, err
}

// DealWithReply records that a person has dealt with a mail that waited or was put aside. ok is false where no mail
// of that number does.
func (tx *Tx) DealWithReply(id int64, why string) (ok bool, err error) {
	n, err := tx.change(fmt.Sprintf("record that mail %d is dealt with", id),
		`UPDATE reply SET state = 'done', why = ?, judged_at = ? WHERE id = ? AND state IN ('asked', 'quarantined')`,
		why, stamp(tx.Now), id)
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
func (v View) CameBefore(r *Reply) (bool, error) {
	return valueOf[bool](v, "look for the same mail",
		`SELECT EXISTS (SELECT 1 FROM reply WHERE content = ? AND id <> ? AND state IN ('done', 'asked'))`,
		orEmpty(r.Content), r.ID)
}

// ConfirmedSince reports whether an address got a mail of that kind since then.
func (v View) ConfirmedSince(kind, recipient string, since time.Time) (bool, error) {
	return valueOf[bool](v, "look for earlier confirmations",
		`SELECT EXISTS (SELECT 1 FROM message m JOIN delivery d ON d.message = m.id
		WHERE m.kind = ? AND lower(d.recipient) = lower(?) AND m.created_at >= ?)`, kind, recipient, stamp(since))
}

// RefuseDelivery notes that a mail of ours came back: its delivery to that
// recipient (to all of them where none is named) is refused after all. It returns
// the addresses that it did not know of yet.
func (tx *Tx) RefuseDelivery(messageID string, recipients []string,
	why string) (subject, client string, failed []string, err error) {
	type sent struct {
		id                         int64
		subject, client, recipient string
	}
	all, err := rowsOf(tx.View, "look for the mail that came back", func(row scanner) (x sent, err error) {
		err = row.Scan(&x.id, &x.subject, &x.client, &x.recipient)
		return x, err
	}, `SELECT m.id, m.subject, m.client, d.recipient FROM message m JOIN delivery d ON d.message = m.id
		WHERE m.message_id = ? AND d.way = 'post' AND d.state <> 'refused'`, messageID)
	if err != nil {
		return "", "", nil, err
	}
	for _, x := range all {
		subject, client = x.subject, x.client
		if len(recipients) > 0 && !slices.ContainsFunc(recipients,
			func(r string) bool { return strings.EqualFold(r, x.recipient) }) {
			continue
		}
		err := tx.do("record a mail that came back",
			`UPDATE delivery SET state = 'refused', settled_at = ?, answer = ? WHERE message = ? AND recipient = ?`,
			stamp(tx.Now), why, x.id, x.recipient)
		if err != nil {
			return "", "", nil, err
		}
		failed = append(failed, x.recipient)
	}
	return subject, client, failed, nil
}

// ForgetReplies drops what mails say that were judged before a time: of one client,
// or with no code of all. What came of them stays on record.
func (tx *Tx) ForgetReplies(client string, before time.Time) (int, error) {
	return tx.change("drop old mails that came",
		`UPDATE reply SET bytes = x'', subject = '', why = state WHERE length(bytes) > 0 AND state <> 'new'
		AND judged_at < ?2 AND (?1 = '' OR client = ?1)`, client, stamp(before))
}
