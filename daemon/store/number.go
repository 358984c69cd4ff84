package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/kitmuster/kitmuster/notify/wholefile"
)

// Numbers are a round's own number and the first number of its proposals or,
// apart from rounds, of orders to suppliers.
type Numbers struct {
	Round    int64 `json:"round"`
	Proposal int64 `json:"proposal"`
	Order    int64 `json:"order,omitempty"`
}

// Wanted holds how many numbers of each kind to reserve.
type Wanted struct{ Rounds, Proposals, Orders int }

// NumbersSuffix ends the name of the small file beside a database that holds
// the greatest numbers given out. A backup that is put back is behind the papers
// that left the house; the file is not.
const NumbersSuffix = ".numbers"

// afterLoss is by how much numbers jump when the database says that the file
// must be there and it is not: a backup was brought to another machine, and
// nobody knows what was numbered since it was made. That is two years of weekly
// rounds and a thousand proposals.
var afterLoss = Numbers{Round: 100, Proposal: 1000, Order: 1000}

// Reserve gives out the number of a round and the numbers of so many proposals, from
// the one that it returns. They are never given out again, whether or not they
// are used, and also not after a backup was put back.
func (s *Store) Reserve(ctx context.Context, proposals int) (Numbers, error) {
	n, err := s.ReserveMore(ctx, Wanted{Rounds: 1, Proposals: proposals})
	n.Order = 0
	return n, err
}

// ReserveMore gives out numbers of any kind, from those that it returns.
func (s *Store) ReserveMore(ctx context.Context, w Wanted) (n Numbers, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		n, err = tx.reserve(s.Path+NumbersSuffix, w)
		return err
	})
	if err != nil {
		return Numbers{}, fmt.Errorf("reserve numbers: %w", err)
	}
	return n, nil
}

// reserve notes the numbers in the file before the commit: a number too many is
// lost, never given out twice.
func (tx *Tx) reserve(file string, w Wanted) (Numbers, error) {
	last, err := tx.lastNumbers(file)
	if err != nil {
		return Numbers{}, err
	}
	n := Numbers{last.Round + 1, last.Proposal + 1, last.Order + 1}
	last = Numbers{last.Round + int64(w.Rounds), last.Proposal + int64(w.Proposals), last.Order + int64(w.Orders)}
	if err := tx.putNumbers(last); err != nil {
		return Numbers{}, err
	}
	return n, writeNumbers(file, last)
}

// lastNumbers returns the greatest numbers given out, by the database and by
// the file.
func (tx *Tx) lastNumbers(file string) (Numbers, error) {
	var last Numbers
	var reserved int
	err := tx.QueryRowContext(tx.ctx, `SELECT (SELECT count(*) FROM number),
		max(coalesce((SELECT max(id) FROM round), 0), coalesce((SELECT last FROM number WHERE kind = 'round'), 0)),
		max(coalesce((SELECT seq FROM sqlite_sequence WHERE name = 'proposal'), 0), coalesce((SELECT last FROM number
			WHERE kind = 'proposal'), 0)),
		max(coalesce((SELECT max(number) FROM supplier_order), 0), coalesce((SELECT last FROM number
			WHERE kind = 'order'), 0))`).
		Scan(&reserved, &last.Round, &last.Proposal, &last.Order)
	if err != nil {
		return last, err
	}
	noted, err := readNumbers(file)
	if errors.Is(err, fs.ErrNotExist) && reserved > 0 {
		return Numbers{last.Round + afterLoss.Round, last.Proposal + afterLoss.Proposal,
			last.Order + afterLoss.Order}, nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return last, err
	}
	return Numbers{max(last.Round, noted.Round), max(last.Proposal, noted.Proposal), max(last.Order, noted.Order)}, nil
}

func (tx *Tx) putNumbers(last Numbers) error {
	return tx.do("note the numbers",
		`INSERT INTO number (kind, last) SELECT kind, last FROM (SELECT 'round' AS kind, ?1 AS last UNION ALL SELECT 'proposal', ?2 UNION ALL SELECT 'order', ?3) WHERE last > 0
		ON CONFLICT (kind) DO UPDATE SET last = excluded.last`, last.Round, last.Proposal, last.Order)
}

// readNumbers reads the file. One that cannot be read must not be taken for
// none: numbers would come again.
func readNumbers(path string) (n Numbers, err error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return n, err
	}
	if err := json.Unmarshal(text, &n); err != nil || n.Round < 0 || n.Proposal < 0 || n.Order < 0 {
		return n, fmt.Errorf("%s reads %q, where the last numbers belong, such as {\"round\":12,\"proposal\":40}; write the greatest that are on your papers",
			path, string(text[:min(len(text), 80)]))
	}
	return n, nil
}

// writeNumbers replaces the file, whole and on the disk before it returns.
func writeNumbers(path string, n Numbers) error {
	text, err := json.Marshal(n)
	if err != nil {
		return err
	}
	return wholefile.Write(path, append(text, '\n'))
}
