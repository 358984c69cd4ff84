package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// OrderState is the state of an order to a supplier.
type OrderState string

// States of an order to a supplier.
const (
	OrderWritten OrderState = "written" // a draft lies there, and nothing says that it was sent
	OrderOrdered OrderState = "ordered"
	OrderArrived OrderState = "arrived"
	OrderDropped OrderState = "dropped" // replaced by another draft
)

// SupplierOrder is an order to one supplier under its own number.
type SupplierOrder struct {
	Number   int64           `json:"number"`
	Supplier string          `json:"supplier"`
	AsOf     programme.Date  `json:"as_of"`
	State    OrderState      `json:"state"`
	Body     json.RawMessage `json:"body"`
}

// ErrNoOrder says that no order has that number.
var ErrNoOrder = errors.New("no such order")

const selectOrder = `SELECT number, supplier, as_of, state, body FROM supplier_order `

// SupplierOrders returns the orders in those states (all when none is given), by number.
func (s *Store) SupplierOrders(ctx context.Context, states ...OrderState) ([]SupplierOrder, error) {
	return supplierOrders(ctx, s.reader, states)
}

// SupplierOrders returns the orders in those states as the transaction sees them.
func (tx *Tx) SupplierOrders(states ...OrderState) ([]SupplierOrder, error) {
	return supplierOrders(tx.ctx, tx, states)
}

func supplierOrders(ctx context.Context, q querier, states []OrderState) ([]SupplierOrder, error) {
	list, err := json.Marshal(states)
	if err != nil {
		return nil, err
	}
	rows, err := q.QueryContext(ctx, selectOrder+`WHERE ?1 = 'null' OR state IN (SELECT value FROM json_each(?1)) ORDER BY number`, string(list))
	if err != nil {
		return nil, fmt.Errorf("read orders: %w", err)
	}
	return collect(rows, scanOrder)
}

// SupplierOrder returns one order, or ErrNoOrder.
func (tx *Tx) SupplierOrder(number int64) (SupplierOrder, error) {
	o, err := scanOrder(tx.QueryRowContext(tx.ctx, selectOrder+`WHERE number = ?`, number))
	if errors.Is(err, sql.ErrNoRows) {
		return o, fmt.Errorf("%w as number %d", ErrNoOrder, number)
	}
	return o, err
}

func scanOrder(row scanner) (SupplierOrder, error) {
	var o SupplierOrder
	var asOf, body string
	if err := row.Scan(&o.Number, &o.Supplier, &asOf, &o.State, &body); err != nil {
		return o, err
	}
	o.Body = json.RawMessage(body)
	var err error
	o.AsOf, err = programme.ParseDate(asOf)
	return o, err
}

// AddSupplierOrder stores an order under its reserved number.
func (tx *Tx) AddSupplierOrder(o SupplierOrder) error {
	_, err := tx.ExecContext(tx.ctx, `INSERT INTO supplier_order (number, supplier, as_of, state, body) VALUES (?, ?, ?, ?, ?)`,
		o.Number, o.Supplier, o.AsOf.String(), string(o.State), string(o.Body))
	if err != nil {
		return fmt.Errorf("store order %d: %w", o.Number, err)
	}
	return nil
}

// PutSupplierOrder stores where an order stands and what is in it.
func (tx *Tx) PutSupplierOrder(o SupplierOrder) error {
	if _, err := tx.ExecContext(tx.ctx, `UPDATE supplier_order SET state = ?, body = ? WHERE number = ?`, string(o.State), string(o.Body), o.Number); err != nil {
		return fmt.Errorf("store order %d: %w", o.Number, err)
	}
	return nil
}

// UnlinkSheets takes a proposal off planned sheets; sheets that then carry
// nobody's transfers are dropped. What is printed for whom is laid out anew when
// it is ordered.
func (tx *Tx) UnlinkSheets(number int64) error {
	_, err := tx.ExecContext(tx.ctx, `DELETE FROM sheet_order_proposal WHERE number = ? AND sheet_order IN (SELECT id FROM sheet_order WHERE state = 'planned')`, number)
	if err != nil {
		return fmt.Errorf("take proposal %d off its sheets: %w", number, err)
	}
	_, err = tx.ExecContext(tx.ctx, `UPDATE sheet_order SET state = 'dropped' WHERE state = 'planned' AND id NOT IN (SELECT sheet_order FROM sheet_order_proposal)`)
	if err != nil {
		return fmt.Errorf("drop sheets of nobody: %w", err)
	}
	return nil
}

// SheetLinks are the sheet orders of one proposal and where they stand, for undo.
type SheetLinks map[int64]sheet.State

// SheetLinks returns the sheet orders that carry a proposal's transfers.
func (tx *Tx) SheetLinks(number int64) (SheetLinks, error) {
	list, err := tx.SheetOrdersOf(number)
	if err != nil {
		return nil, err
	}
	out := SheetLinks{}
	for _, o := range list {
		out[o.ID] = o.State
	}
	return out, nil
}

// PutSheetLinks makes these the sheet orders of a proposal, each in that state.
func (tx *Tx) PutSheetLinks(number int64, links SheetLinks) error {
	if _, err := tx.ExecContext(tx.ctx, `DELETE FROM sheet_order_proposal WHERE number = ?`, number); err != nil {
		return fmt.Errorf("link sheets of proposal %d: %w", number, err)
	}
	for id, state := range links {
		if _, err := tx.ExecContext(tx.ctx, `INSERT INTO sheet_order_proposal (sheet_order, number) VALUES (?, ?)`, id, number); err != nil {
			return fmt.Errorf("link sheets of proposal %d: %w", number, err)
		}
		if err := tx.MoveSheetOrder(id, state); err != nil {
			return err
		}
	}
	return nil
}
