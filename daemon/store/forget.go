package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

// Leaver is somebody who left, and until when what was written may name them.
type Leaver struct {
	StaffID   string
	Name      string // empty when it is forgotten already
	Forgotten bool
	// NamedUntil is the moment at which their last day was entered, or the end of that day where it came later.
	NamedUntil time.Time
}

// Leavers returns the people of a client who left on or before a date, those
// whose names are forgotten included; or, where staff is not empty, the one of that number.
func (s *Store) Leavers(ctx context.Context, client string, leftBy programme.Date, staff string) ([]Leaver, error) {
	return rowsOf(s.View(ctx), "read leavers of "+client, func(row scanner) (l Leaver, err error) {
		var ended programme.Date
		err = row.Scan(&l.StaffID, &l.Name, &l.Forgotten, day{&ended}, instant{&l.NamedUntil})
		if over := ended.Time().AddDate(0, 0, 2); over.After(l.NamedUntil) { // that day is over in every time zone
			l.NamedUntil = over
		}
		return l, err
	}, `SELECT p.staff_id, p.name, p.forgotten, p.ended, p.end_entered_at
		FROM person p JOIN client c ON c.id = p.client_id WHERE c.code = ?1 AND p.ended <= ?2
			AND (?3 = '' OR p.staff_id = ?3) ORDER BY p.staff_id`, client, leftBy.String(), staff)
}

// ForgetLeavers removes the names of people who left on or before the date, or of the one
// of a staff number, and returns how many; their pieces stay in the ledger under the
// staff number.
func (tx *Tx) ForgetLeavers(client string, leftBy programme.Date, staff string) (int, error) {
	c, err := tx.Client(client)
	if err != nil {
		return 0, err
	}
	n, err := tx.change("forget leavers of "+client,
		`UPDATE person SET name = '', print_name = '', site = '', forgotten = 1
		WHERE client_id = ?1 AND ended <= ?2 AND (?3 = '' OR staff_id = ?3)
			AND forgotten = 0`, c.ID, leftBy.String(), staff)
	if n > 0 {
		err = errors.Join(err, tx.oweCompact())
	}
	return n, err
}

// ForgetCodes puts the codes of artworks without a name in the place of those with one,
// in proposals and sheets, and takes transfers of them off the shelf.
func (tx *Tx) ForgetCodes(codes map[string]string) error {
	for _, code := range slices.Sorted(maps.Keys(codes)) {
		for _, at := range [][2]string{{"proposal", "body"}, {"proposal_form", "body"}, {"sheet_order", "plan"}} {
			query := fmt.Sprintf(`UPDATE %[1]s SET %[2]s = replace(%[2]s, ?1, ?2) WHERE instr(%[2]s, ?1) > 0`,
				at[0], at[1])
			if err := tx.do("forget a name in "+at[0], query, inJSON{code}, inJSON{codes[code]}); err != nil {
				return err
			}
		}
		if err := tx.do("forget a name in stock", `DELETE FROM stock WHERE kind = 'transfer' AND code = ?`,
			code); err != nil {
			return err
		}
	}
	return nil
}

// Settled is a letter without its bytes, which all its recipients have had or
// never will.
type Settled struct {
	outbox.Letter
	HasText bool // its bytes are still there
	// Replaced is true where a younger letter of the same name has its text: a
	// file of that name in a folder is that one's.
	Replaced bool
}

// SettledLetters returns every letter that waits for nothing any more, oldest first.
func (s *Store) SettledLetters(ctx context.Context) ([]Settled, error) {
	list, err := rowsOf(s.View(ctx), "read the outbox", func(row scanner) (l Settled, err error) {
		err = row.Scan(&l.ID, &l.MessageID, &l.Name, &l.Client, &l.Proposal, &l.HasText, instant{&l.Created},
			inJSON{&l.To}, &l.Way)
		return l, err
	}, `SELECT m.id, m.message_id, m.name, m.client, m.proposal, length(m.bytes) > 0, m.created_at,
		(SELECT json_group_array(recipient) FROM delivery WHERE message = m.id), coalesce((SELECT way FROM delivery
			WHERE message = m.id LIMIT 1), 'post')
		FROM message m WHERE NOT EXISTS (SELECT 1 FROM delivery d WHERE d.message = m.id
			AND d.state IN ('waiting', 'held')) ORDER BY m.id`)
	seen := map[string]bool{}
	for i := len(list) - 1; i >= 0; i-- {
		l := &list[i]
		l.Replaced = seen[l.FileName()]
		seen[l.FileName()] = l.Replaced || l.HasText
	}
	return list, err
}

// DropTexts drops the bytes of letters; the rest of their records stays.
func (tx *Tx) DropTexts(ids []int64) error {
	if err := tx.do("drop the texts of mails",
		`UPDATE message SET bytes = x'' WHERE id IN (SELECT value FROM json_each(?))`, inJSON{ids}); err != nil {
		return err
	}
	if len(ids) == 0 {
		return nil
	}
	return tx.oweCompact()
}

// oweCompact notes, with what is forgotten in the same transaction, that names
// stand on in the file until Compact was done: it may fail, or a crash come before
// it. The note is SQLite's user_version, which the tables' version leaves alone.
func (tx *Tx) oweCompact() error {
	return tx.do("note what was forgotten", `PRAGMA user_version = 1`)
}

// Compact writes the database anew without its free space, so that nothing
// which was forgotten stands in it any more, nor in the log beside it. It does
// nothing where nothing was since the last time that it succeeded.
func (s *Store) Compact(ctx context.Context) error {
	var owed int
	if err := s.writer.QueryRowContext(ctx, `PRAGMA user_version`).Scan(&owed); err != nil || owed == 0 {
		return err
	}
	err := s.vacuum(ctx)
	if err != nil {
		return fmt.Errorf("write the database anew without what was deleted: %w", err)
	}
	emptied, err := s.emptyLog(ctx)
	if err != nil || !emptied { // while somebody reads, the log stays: the next time empties it
		return err
	}
	if _, err = s.writer.ExecContext(ctx, `PRAGMA user_version = 0`); err != nil {
		return fmt.Errorf("note that nothing deleted is left: %w", err)
	}
	return nil
}

func (s *Store) vacuum(ctx context.Context) (err error) {
	for range s.tries {
		if _, err = s.writer.ExecContext(ctx, `VACUUM`); !busy(err) || ctx.Err() != nil {
			break
		}
	}
	return err
}
