package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

const selectMovements = `SELECT m.seq, m.day, m.kind, m.staff_id, m.garment, m.colour, m.size, m.pieces, m.reason, m.ref, m.washes, m.assumed, m.proposal, m.old_kept, m.import_id
	FROM movement m WHERE m.client_id = (SELECT id FROM client WHERE code = ?1)`

const inOrder = ` ORDER BY m.client_id, m.seq`

// Movements returns a client's ledger in the order in which rows arrived.
func (s *Store) Movements(ctx context.Context, client string) ([]programme.Movement, error) {
	return movements(ctx, s.reader, client, nil)
}

// MovementsOf is Movements of one person.
func (s *Store) MovementsOf(ctx context.Context, client, staff string) ([]programme.Movement, error) {
	rows, err := s.reader.QueryContext(ctx, selectMovements+` AND m.staff_id = ?2`+inOrder, client, staff)
	if err != nil {
		return nil, fmt.Errorf("read ledger of %s: %w", client, err)
	}
	return collect(rows, newLedgerRow().scan)
}

// Ledger is Movements with the day, by the clocks of a zone, on which each was entered.
func (s *Store) Ledger(ctx context.Context, client string, zone *time.Location) ([]programme.Movement, error) {
	days, err := s.entryDays(ctx, client, zone)
	if err != nil {
		return nil, err
	}
	return movements(ctx, s.reader, client, days)
}

// entryDays are the days of a client's hand-overs, by number.
func (s *Store) entryDays(ctx context.Context, client string, zone *time.Location) (map[int64]programme.Date, error) {
	rows, err := s.reader.QueryContext(ctx, importColumns+` WHERE c.code = ?`, client)
	if err != nil {
		return nil, fmt.Errorf("read imports of %s: %w", client, err)
	}
	list, err := collect(rows, scanImport)
	days := make(map[int64]programme.Date, len(list))
	for i := range list {
		days[list[i].ID] = programme.DateOf(list[i].At.In(zone))
	}
	return days, err
}

// Movements returns a client's ledger as the transaction sees it.
func (tx *Tx) Movements(client string) ([]programme.Movement, error) {
	return movements(tx.ctx, tx, client, nil)
}

func movements(ctx context.Context, q querier, client string,
	entered map[int64]programme.Date) ([]programme.Movement, error) {
	most := 0 // numbers are given in turn
	if err := q.QueryRowContext(ctx,
		`SELECT coalesce(max(seq), 0) FROM movement WHERE client_id = (SELECT id FROM client WHERE code = ?1)`,
		client).Scan(&most); err != nil {
		return nil, fmt.Errorf("read ledger of %s: %w", client, err)
	}
	rows, err := q.QueryContext(ctx, selectMovements+inOrder, client)
	if err != nil {
		return nil, fmt.Errorf("read ledger of %s: %w", client, err)
	}
	row := newLedgerRow()
	row.entered = entered
	return collectOf(most, rows, row.scan)
}

// interner keeps one copy of each repeated text: a ledger of a million rows
// names a few hundred garments, colours and sizes.
type interner map[string]string

func (w interner) text(b []byte) string {
	if s, ok := w[string(b)]; ok { // the conversion in a map index does not allocate
		return s
	}
	s := string(b)
	w[s] = s
	return s
}

// same is text that is there already.
func (w interner) same(s string) string {
	if kept, ok := w[s]; ok {
		return kept
	}
	w[s] = s
	return s
}

// ledgerRow holds the row of the ledger that is scanned, one after the other:
// with places of their own, each of a million rows would leave garbage.
type ledgerRow struct {
	words   interner
	entered map[int64]programme.Date // by hand-over; nil = nobody asks
	place   [15]any

	seq, day, kind, pieces, reason, assumed, proposal, kept, handOver rawNumber
	staff, garment, colour, size, ref                                 rawText
	washes                                                            float64
}

func newLedgerRow() *ledgerRow {
	r := &ledgerRow{words: interner{}}
	r.place = [...]any{
		&r.seq, &r.day, &r.kind, &r.staff, &r.garment, &r.colour, &r.size, &r.pieces,
		&r.reason, &r.ref, &r.washes, &r.assumed, &r.proposal, &r.kept, &r.handOver,
	}
	return r
}

func (r *ledgerRow) scan(row scanner) (m programme.Movement, err error) {
	if err := row.Scan(r.place[:]...); err != nil {
		return m, err
	}
	if m.Kind, err = decode(kinds, r.kind); err != nil {
		return m, fmt.Errorf("movement %d, kind: %w", r.seq, err)
	}
	if m.Reason, err = decode(reasons, r.reason); err != nil {
		return m, fmt.Errorf("movement %d, reason: %w", r.seq, err)
	}
	m.Date = programme.Date(r.day)
	m.StaffID = r.words.text(r.staff)
	m.SKU = programme.SKU{Garment: r.words.text(r.garment), Colour: r.words.text(r.colour), Size: r.words.text(r.size)}
	m.Pieces, m.Washes, m.Assumed, m.Proposal = int(r.pieces), r.washes, r.assumed != 0, int64(r.proposal)
	m.OldKept = r.kept != 0
	m.Ref, m.Entered = string(r.ref), r.entered[int64(r.handOver)]
	return m, nil
}

// rawText takes a text column without copying it; it is valid until the next row.
type rawText []byte

// Scan takes the driver's value as it is.
func (t *rawText) Scan(src any) error {
	switch v := src.(type) {
	case string:
		*t = append((*t)[:0], v...)
	case []byte:
		*t = append((*t)[:0], v...)
	default:
		return fmt.Errorf("read a text, found %T", src)
	}
	return nil
}

// rawNumber takes a column of whole numbers without the way through text that
// database/sql takes for every type of number but int64.
type rawNumber int64

// Scan takes the driver's value as it is.
func (n *rawNumber) Scan(src any) error {
	v, ok := src.(int64)
	if !ok {
		return fmt.Errorf("read a whole number, found %T", src)
	}
	*n = rawNumber(v)
	return nil
}

// AddMovements appends rows to a client's ledger and returns how many were new
// and how many were known. A row with a ref is known by it; without one the
// whole row is compared, and the n-th equal row of this call is known when the
// ledger already holds n of them, so a file that names two equal issues keeps both.
func (tx *Tx) AddMovements(client string, list []programme.Movement, importID int64) (added, known int, err error) {
	c, err := tx.Client(client)
	if err != nil {
		return 0, 0, err
	}
	have, last, err := tx.ledgerKeys(c.ID, len(list))
	if err != nil {
		return 0, 0, fmt.Errorf("read ledger of %s: %w", client, err)
	}
	fresh := have.unknown(list)
	if err := tx.insertMovements(c.ID, last, importID, fresh); err != nil {
		return 0, 0, fmt.Errorf("store ledger of %s: %w", client, err)
	}
	return len(fresh), len(list) - len(fresh), nil
}

// ledgerKeys counts the rows that a ledger already holds, by what makes a row
// known again, and leaves room for as many more.
func (tx *Tx) ledgerKeys(clientID int64, more int) (keySet, int64, error) {
	rows, err := tx.QueryContext(tx.ctx,
		`SELECT seq, day, kind, staff_id, garment, colour, size, pieces, reason, ref, washes, assumed, proposal, old_kept, import_id
		FROM movement WHERE client_id = ? ORDER BY client_id, seq`, clientID)
	if err != nil {
		return keySet{}, 0, err
	}
	list, err := collect(rows, newLedgerRow().scan)
	if err != nil {
		return keySet{}, 0, err
	}
	set := newKeySet(more)
	for i := range list {
		set.add(&list[i])
	}
	var last int64
	err = tx.QueryRowContext(tx.ctx, `SELECT coalesce(max(seq), 0) FROM movement WHERE client_id = ?`,
		clientID).Scan(&last)
	return set, last, err
}

// Values of a row that differ from row to row: seq to ref, and all.
const (
	plainColumns = 10
	wholeColumns = 14
)

func (tx *Tx) insertMovements(clientID, last, importID int64, list []*programme.Movement) error {
	const batch = 60 // database/sql's list of a batch's values stays below what Go allocates apart, 32 kB
	args := make([]any, 0, 2+batch*wholeColumns)
	for len(list) > 0 {
		n := min(batch, len(list))
		whole := slices.ContainsFunc(list[:n],
			func(m *programme.Movement) bool { return m.Washes != 0 || m.Assumed || m.Proposal != 0 || m.OldKept })
		args = append(args[:0], clientID, importID)
		for _, m := range list[:n] {
			last++
			args = append(args, last, int64(m.Date), encode(kinds, m.Kind), m.StaffID, m.SKU.Garment,
				m.SKU.Colour, m.SKU.Size,
				int64(m.Pieces), encode(reasons, m.Reason), m.Ref)
			if whole {
				args = append(args, m.Washes, m.Assumed, m.Proposal, m.OldKept)
			}
		}
		stmt, err := tx.insertOf(n, whole)
		if err != nil {
			return err
		}
		if err := run(tx.ctx, stmt, args); err != nil {
			return err
		}
		list = list[n:]
	}
	return nil
}

// run executes a statement that gives no rows. As a query all its values reach
// the database in one call from Go to C; as an Exec each value is a call.
func run(ctx context.Context, stmt *sql.Stmt, args []any) (err error) {
	rows, err := stmt.QueryContext(ctx, args...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() { // runs the statement to its end
	}
	return rows.Err()
}

// keySet counts ledger rows by identity.
type keySet struct {
	refs map[string]struct{}
	rows map[rowKey]int
}

// rowKey is a row without what the program itself adds to it.
type rowKey struct {
	date    programme.Date
	kind    programme.MovementKind
	staff   string
	sku     programme.SKU
	pieces  int
	reason  programme.Reason
	washes  float64
	assumed bool
}

func newKeySet(refs int) keySet {
	return keySet{refs: make(map[string]struct{}, refs), rows: map[rowKey]int{}}
}

func keyOf(m *programme.Movement) rowKey {
	return rowKey{m.Date, m.Kind, m.StaffID, m.SKU, m.Pieces, m.Reason, m.Washes, m.Assumed}
}

func (k keySet) add(m *programme.Movement) {
	if m.Ref != "" {
		k.refs[m.Ref] = struct{}{}
		return
	}
	k.rows[keyOf(m)]++
}

// unknown returns the rows of list that the set does not hold yet.
func (k keySet) unknown(list []programme.Movement) []*programme.Movement {
	fresh := make([]*programme.Movement, 0, len(list))
	seen := map[rowKey]int{}
	for i := range list {
		m := &list[i]
		if m.Ref != "" {
			known := len(k.refs)
			k.refs[m.Ref] = struct{}{}
			if len(k.refs) > known {
				fresh = append(fresh, m)
			}
			continue
		}
		key := keyOf(m)
		seen[key]++
		if seen[key] > k.rows[key] {
			fresh = append(fresh, m)
		}
	}
	return fresh
}
