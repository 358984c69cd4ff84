package store

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Form states what must hold for the entry that a context leads to, where a person
// sends it from a page: it is carried out once, and only while what the page showed still stands.
type Form struct {
	// Hash tells the form from every other.
	Hash [sha256.Size]byte
	// Still returns an error where what the page showed has changed; nil = it does not matter.
	Still func(*Tx) error
}

// ErrSentTwice says that the form was carried out already.
var ErrSentTwice = errors.New("this form was carried out already")

type formKey struct{}

// WithForm returns a context whose entries carry out the form: the first of them
// notes it in its own transaction, and each after that is ErrSentTwice.
func WithForm(ctx context.Context, f Form) context.Context {
	return context.WithValue(ctx, formKey{}, &f)
}

// keepForms is the time for which forms are known again.
const keepForms = 48 * time.Hour

// TakeForm notes that the transaction carries out the form of its context, where it
// has one. AddImport and RemoveImport do so by themselves.
func (tx *Tx) TakeForm(entry int64) error {
	f, ok := tx.ctx.Value(formKey{}).(*Form)
	if !ok || tx.formTaken {
		return nil
	}
	n, err := tx.change("note a form",
		`INSERT INTO desk_form (hash, at, entry) VALUES (?, ?, ?) ON CONFLICT (hash) DO NOTHING`,
		f.Hash[:], stamp(tx.Now), entry)
	if err != nil {
		return err
	}
	if n == 0 {
		return ErrSentTwice
	}
	if f.Still != nil {
		if err := f.Still(tx); err != nil {
			return err
		}
	}
	tx.formTaken = true
	return tx.do("forget old forms", `DELETE FROM desk_form WHERE at < ?`, stamp(tx.Now.Add(-keepForms)))
}

// Said stores the report of a form that was carried out.
func (s *Store) Said(ctx context.Context, hash []byte, said string) error {
	return s.InTx(ctx, func(tx *Tx) error {
		return tx.do("keep what a form came to", `UPDATE desk_form SET said = ? WHERE hash = ?`, said, hash)
	})
}

// FormSaid returns what a form that was carried out came to: its number among the
// entries, and what its reader was told; ok is false where it was not.
func (s *Store) FormSaid(ctx context.Context, hash []byte) (entry int64, said string, ok bool, err error) {
	_, ok, err = rowOf(s.View(ctx), "look for a form", func(row scanner) (none struct{}, err error) {
		return none, row.Scan(&entry, &said)
	}, `SELECT entry, said FROM desk_form WHERE hash = ?`, hash)
	return entry, said, ok, err
}

// Kinds of keys to the desk.
const (
	DeskLink    = "link"
	DeskSession = "session"
)

// AddDeskKey lets a secret, of which hash is known, open the desk until a moment.
func (s *Store) AddDeskKey(ctx context.Context, kind string, hash [sha256.Size]byte, until time.Time) error {
	return s.InTx(ctx, func(tx *Tx) error { return tx.addDeskKey(kind, hash, until) })
}

func (tx *Tx) addDeskKey(kind string, hash [sha256.Size]byte, until time.Time) error {
	if err := tx.do("drop old keys to the desk", `DELETE FROM desk_key WHERE until <= ?`, stamp(tx.Now)); err != nil {
		return err
	}
	return tx.do("keep a key to the desk", `INSERT INTO desk_key (hash, kind, until) VALUES (?, ?, ?)`, hash[:], kind,
		stamp(until))
}

// UseDeskLink exchanges a link for a session. ok is false where the link was used
// before, has expired, or never was.
func (s *Store) UseDeskLink(ctx context.Context, link, session [sha256.Size]byte,
	until time.Time) (ok bool, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		n, err := tx.change("use a link to the desk",
			`DELETE FROM desk_key WHERE hash = ? AND kind = 'link' AND until > ?`, link[:], stamp(tx.Now))
		if ok = n == 1; err != nil || !ok {
			return err
		}
		return tx.addDeskKey(DeskSession, session, until)
	})
	return ok && err == nil, err
}

// HasDeskKey reports whether a secret opens the desk at this moment.
func (s *Store) HasDeskKey(ctx context.Context, kind string, hash [sha256.Size]byte) (ok bool, err error) {
	return valueOf[bool](s.View(ctx), "look for a key to the desk",
		`SELECT EXISTS (SELECT 1 FROM desk_key WHERE hash = ? AND kind = ? AND until > ?)`, hash[:], kind,
		stamp(s.now()))
}

// DropDeskKey ends a session; with no hash all sessions and links.
func (s *Store) DropDeskKey(ctx context.Context, hash []byte) error {
	return s.InTx(ctx, func(tx *Tx) error {
		return tx.do("drop a key to the desk", `DELETE FROM desk_key WHERE ?1 IS NULL OR hash = ?1`, hash)
	})
}

// PersonMark sums up what is recorded of a person: their row of the roster and of
// the ledger. It is equal while nothing of it changes, and empty of nobody.
func (s *Store) PersonMark(ctx context.Context, client, staff string) (string, error) {
	return s.View(ctx).PersonMark(client, staff)
}

// PersonMark is Store.PersonMark as a transaction sees it.
func (v View) PersonMark(client, staff string) (string, error) {
	text, ok, err := rowOf(v, "read what is recorded of "+staff,
		scanValue[string],
		`SELECT json_array(p.name, p.print_name, p.role, p.site, p.started, p.ended, p.sizes, p.outgrown, p.spells,
		(SELECT json_group_array(json_array(m.seq, m.day, m.kind, m.garment,
			m.colour, m.size, m.pieces, m.reason, m.import_id)) FROM movement m WHERE m.client_id = p.client_id
				AND m.staff_id = p.staff_id))
		FROM person p WHERE p.client_id = (SELECT id FROM client WHERE code = ?) AND p.staff_id = ?`, client, staff)
	if err != nil || !ok {
		return "", err
	}
	return markOf(text), nil
}

// ProposalMark returns a fingerprint of a proposal's state and contents.
func ProposalMark(p *reorder.Proposal) (string, error) {
	body, err := json.Marshal(p)
	return markOf(string(p.State) + string(body)), err
}

// EntryMark returns a fingerprint of an entry; one that gets the number of an entry taken back has another.
func EntryMark(in *Import) string { return markOf(fmt.Sprint(in.ID, " ", stamp(in.At))) }

// OrderMark returns a fingerprint of a supplier order's state and contents.
func OrderMark(o *SupplierOrder) string {
	return markOf(fmt.Sprint(o.Number, " ", o.State, " ", string(o.Body)))
}

func markOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return fmt.Sprintf("%x", sum[:12])
}
