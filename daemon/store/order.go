package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

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
	return s.View(ctx).SupplierOrders(states...)
}

// SupplierOrders is Store.SupplierOrders as a transaction sees it.
func (v View) SupplierOrders(states ...OrderState) ([]SupplierOrder, error) {
	return rowsOf(v, "read orders", scanOrder,
		selectOrder+`WHERE ?1 = 'null' OR state IN (SELECT value FROM json_each(?1)) ORDER BY number`, inJSON{states})
}

// SupplierOrder returns one order, or ErrNoOrder.
func (v View) SupplierOrder(number int64) (SupplierOrder, error) {
	o, ok, err := rowOf(v, fmt.Sprintf("read order %d", number), scanOrder, selectOrder+`WHERE number = ?`, number)
	if err == nil && !ok {
		err = fmt.Errorf("%w as number %d", ErrNoOrder, number)
	}
	return o, err
}

func scanOrder(row scanner) (o SupplierOrder, err error) {
	err = row.Scan(&o.Number, &o.Supplier, day{&o.AsOf}, &o.State, (*[]byte)(&o.Body))
	return o, err
}

// AddSupplierOrder stores an order under its reserved number.
func (tx *Tx) AddSupplierOrder(o SupplierOrder) error {
	return tx.do(fmt.Sprintf("store order %d", o.Number),
		`INSERT INTO supplier_order (number, supplier, as_of, state, body) VALUES (?, ?, ?, ?, ?)`,
		o.Number, o.Supplier, o.AsOf.String(), o.State, string(o.Body))
}

// PutSupplierOrder stores where an order stands and what is in it.
func (tx *Tx) PutSupplierOrder(o SupplierOrder) error {
	return tx.do(fmt.Sprintf("store order %d", o.Number),
		`UPDATE supplier_order SET state = ?, body = ? WHERE number = ?`, o.State, string(o.Body), o.Number)
}

// UnlinkSheets takes a proposal off planned sheets; sheets that then carry
// nobody's transfers are dropped. What is printed for whom is laid out anew when
// it is ordered.
func (tx *Tx) UnlinkSheets(number int64) error {
	err := tx.do(fmt.Sprintf("take proposal %d off its sheets", number),
		`DELETE FROM sheet_order_proposal WHERE number = ? AND sheet_order IN (SELECT id FROM sheet_order WHERE state = 'planned')`, number)
	if err != nil {
		return err
	}
	return tx.do("drop sheets of nobody", `UPDATE sheet_order SET state = 'dropped' WHERE state = 'planned' AND id NOT IN (SELECT sheet_order FROM sheet_order_proposal)`)
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

// Unmoved lists the sheet orders that still stand where they did.
func (tx *Tx) Unmoved(before SheetLinks) (left []int64, err error) {
	for _, id := range slices.Sorted(maps.Keys(before)) {
		state, err := valueOf[sheet.State](tx.View, "read a sheet order", `SELECT state FROM sheet_order WHERE id = ?`, id)
		if err != nil {
			return nil, err
		}
		if state == before[id] {
			left = append(left, id)
		}
	}
	return left, nil
}

// PutSheetLinks makes these the sheet orders of a proposal, each in that state but for those that are left as they
// are.
func (tx *Tx) PutSheetLinks(number int64, links SheetLinks, left []int64) error {
	what := fmt.Sprintf("link sheets of proposal %d", number)
	if err := tx.do(what, `DELETE FROM sheet_order_proposal WHERE number = ?`, number); err != nil {
		return err
	}
	for id, state := range links {
		if err := tx.do(what, `INSERT INTO sheet_order_proposal (sheet_order, number) VALUES (?, ?)`, id,
			number); err != nil {
			return err
		}
		if slices.Contains(left, id) {
			continue
		}
		if err := tx.MoveSheetOrder(id, state); err != nil {
			return err
		}
	}
	return nil
}
