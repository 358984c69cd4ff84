package store

import (
	"context"

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

// HeldAnswers returns what was said about a client's held clothing (about all
// clients' when empty).
func (s *Store) HeldAnswers(ctx context.Context, client string) ([]HeldAnswer, error) {
	return s.View(ctx).HeldAnswers(client)
}

// HeldAnswers is Store.HeldAnswers as a transaction sees it.
func (v View) HeldAnswers(client string) ([]HeldAnswer, error) {
	return rowsOf(v, "read answers about held clothing", func(row scanner) (h HeldAnswer, err error) {
		err = row.Scan(&h.Client, &h.Garment, &h.Colour, &h.Size, &h.Yes, &h.Pieces, day{&h.On})
		return h, err
	},
		`SELECT c.code, h.garment, h.colour, h.size, h.answer = 'yes', h.pieces, h.said_on FROM held_answer h JOIN client c ON c.id = h.client_id
		WHERE ?1 = '' OR c.code = ?1 ORDER BY c.code, h.garment, h.colour, h.size`, client)
}

// PutHeldAnswers replaces all that was said about a client's held clothing.
func (tx *Tx) PutHeldAnswers(client string, list []HeldAnswer) error {
	c, err := tx.Client(client)
	if err != nil {
		return err
	}
	const what = "store answers about held clothing"
	if err := tx.do(what, `DELETE FROM held_answer WHERE client_id = ?`, c.ID); err != nil {
		return err
	}
	for _, h := range list {
		err := tx.do(what, `INSERT INTO held_answer (client_id, garment, colour, size, answer, pieces, said_on) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			c.ID, h.Garment, h.Colour, h.Size, programme.YesNo(h.Yes), h.Pieces, h.On.String())
		if err != nil {
			return err
		}
	}
	return nil
}
