package store

import (
	"context"
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// HeldAnswer is an answer about clothing that waits for a person's yes.
type HeldAnswer struct {
	Client string
	programme.SKU
	Yes    bool
	Pieces int // that were asked about
	On     programme.Date
}

const selectHeld = `SELECT c.code, h.garment, h.colour, h.size, h.answer, h.pieces, h.said_on FROM held_answer h JOIN client c ON c.id = h.client_id `

// HeldAnswers returns what was said about a client's held clothing (about all
// clients' when empty).
func (s *Store) HeldAnswers(ctx context.Context, client string) ([]HeldAnswer, error) {
	return heldAnswers(ctx, s.reader, client)
}

// HeldAnswers returns what was said as the transaction sees it.
func (tx *Tx) HeldAnswers(client string) ([]HeldAnswer, error) {
	return heldAnswers(tx.ctx, tx, client)
}

func heldAnswers(ctx context.Context, q querier, client string) ([]HeldAnswer, error) {
	rows, err := q.QueryContext(ctx, selectHeld+`WHERE ?1 = '' OR c.code = ?1 ORDER BY c.code, h.garment, h.colour, h.size`, client)
	if err != nil {
		return nil, fmt.Errorf("read answers about held clothing: %w", err)
	}
	return collect(rows, func(row scanner) (HeldAnswer, error) {
		var h HeldAnswer
		var answer, on string
		if err := row.Scan(&h.Client, &h.Garment, &h.Colour, &h.Size, &answer, &h.Pieces, &on); err != nil {
			return h, err
		}
		h.Yes = answer == "yes"
		var err error
		h.On, err = programme.ParseDate(on)
		return h, err
	})
}

// PutHeldAnswers replaces all that was said about a client's held clothing.
func (tx *Tx) PutHeldAnswers(client string, list []HeldAnswer) error {
	c, err := tx.Client(client)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(tx.ctx, `DELETE FROM held_answer WHERE client_id = ?`, c.ID); err != nil {
		return fmt.Errorf("store answers about held clothing: %w", err)
	}
	for _, h := range list {
		answer := programme.YesNo(h.Yes)
		_, err := tx.ExecContext(tx.ctx, `INSERT INTO held_answer (client_id, garment, colour, size, answer, pieces, said_on) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			c.ID, h.Garment, h.Colour, h.Size, answer, h.Pieces, h.On.String())
		if err != nil {
			return fmt.Errorf("store answers about held clothing: %w", err)
		}
	}
	return nil
}
