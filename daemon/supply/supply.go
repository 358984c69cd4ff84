// Package supply buys what accepted proposals need: it lays out sheets for them
// alone, writes an order to each supplier under a number of its own, and knows
// what is on which order for whom.
package supply

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Contents lists what an order to a supplier holds.
type Contents struct {
	// Proposals are those that it is for; With are the ones of them that had no yes
	// and were named by the owner, of which only transfers are bought.
	Proposals []int64 `json:"proposals"`
	With      []int64 `json:"with,omitempty"`
	Blanks    []Blank `json:"blanks,omitempty"`
	// Sheets are the numbers of the sheet orders in the store.
	Sheets []int64 `json:"sheets,omitempty"`
	// printed says of a draft that it has sheets, which have no numbers yet.
	printed bool
}

// Blank is blanks of one garment, colour and size for one proposal.
type Blank struct {
	Proposal int64 `json:"proposal"`
	programme.SKU
	Pieces   int             `json:"pieces"`
	UnitCost programme.Money `json:"unit_cost,omitempty"`
	// Again blanks are for pieces that must be made again; Shelf more of those lie
	// on the shelf and are not bought.
	Again bool `json:"again,omitempty"`
	Shelf int  `json:"shelf,omitempty"`
	// Came counts the pieces of Pieces that have come.
	Came int `json:"came,omitempty"`
	// BackOrders are outstanding blanks that the supplier has promised for a later day.
	BackOrders []reorder.BackOrder `json:"back_orders,omitempty"`
}

// Outstanding returns how many of the blanks are still to come.
func (b *Blank) Outstanding() int { return b.Pieces - b.Came }

// contentsOf reads what an order holds.
func contentsOf(o *store.SupplierOrder) (Contents, error) {
	var c Contents
	if err := json.Unmarshal(o.Body, &c); err != nil {
		return c, fmt.Errorf("read order %d: %w", o.Number, err)
	}
	return c, nil
}

// Write puts the contents into the order.
func (c *Contents) Write(o *store.SupplierOrder) error {
	body, err := json.Marshal(c)
	o.Body = body
	return err
}

// Carries reports whether the order is for that proposal, among others.
func (c *Contents) Carries(number int64) bool { return slices.Contains(c.Proposals, number) }

// Outstanding returns how many blanks are still to come.
func (c *Contents) Outstanding() (n int) {
	for i := range c.Blanks {
		n += c.Blanks[i].Outstanding()
	}
	return n
}

// Without takes a proposal off the order and reports whether it is for nobody then.
func (c *Contents) Without(number int64) (empty bool) {
	not := func(n int64) bool { return n == number }
	c.Proposals, c.With = slices.DeleteFunc(c.Proposals, not), slices.DeleteFunc(c.With, not)
	c.Blanks = slices.DeleteFunc(c.Blanks, func(b Blank) bool { return b.Proposal == number })
	return len(c.Proposals) == 0
}

// Words says in short what is on the order.
func (c *Contents) Words() string {
	pieces, shelf := 0, 0
	for i := range c.Blanks {
		pieces, shelf = pieces+c.Blanks[i].Pieces, shelf+c.Blanks[i].Shelf
	}
	var parts []string
	if pieces > 0 {
		parts = append(parts, fmt.Sprintf("%d blanks", pieces))
	}
	if shelf > 0 {
		parts = append(parts, fmt.Sprintf("%d blanks from the shelf", shelf))
	}
	if c.printed || len(c.Sheets) > 0 {
		parts = append(parts, "transfers")
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, ", ")
}

// Order is an order to a supplier with what it holds.
type Order struct {
	store.SupplierOrder
	Contents
}

// OrdersOf returns the orders in those states that carry a proposal; of all
// proposals when number is 0.
func OrdersOf(tx *store.Tx, number int64, states ...store.OrderState) ([]Order, error) {
	list, err := tx.SupplierOrders(states...)
	if err != nil {
		return nil, err
	}
	return withContents(list, number)
}

func withContents(list []store.SupplierOrder, number int64) ([]Order, error) {
	var out []Order
	for i := range list {
		c, err := contentsOf(&list[i])
		if err != nil {
			return nil, err
		}
		if number == 0 || c.Carries(number) {
			out = append(out, Order{list[i], c})
		}
	}
	return out, nil
}

// Put stores where the order stands and what it holds.
func (o *Order) Put(tx *store.Tx) error {
	if err := o.Write(&o.SupplierOrder); err != nil {
		return err
	}
	return tx.PutSupplierOrder(o.SupplierOrder)
}

// One returns one order with what it holds.
func One(tx *store.Tx, number int64) (Order, error) {
	row, err := tx.SupplierOrder(number)
	if err != nil {
		return Order{}, err
	}
	c, err := contentsOf(&row)
	return Order{row, c}, err
}

// Take books blanks that came, for the proposals in turn, and returns how many
// more came than are still to come.
func (c *Contents) Take(k programme.SKU, pieces int) (left int) {
	for i := range c.Blanks {
		b := &c.Blanks[i]
		if b.SKU == k {
			n := min(pieces, b.Outstanding())
			b.come(n)
			pieces -= n
		}
	}
	return pieces
}

func (b *Blank) come(pieces int) {
	b.Came += pieces
	b.BackOrders = reorder.BackOrdersWith(b.BackOrders, reorder.BackOrder{}, b.Outstanding())
}

// TakeBy books all blanks that can have come by a day: those on back-order until later are
// left out, unless there is nothing else to come; sheets says that sheets are.
func (c *Contents) TakeBy(day programme.Date, sheets bool) {
	late := func(b Blank) int { return reorder.PiecesLater(b.BackOrders, day) }
	if !sheets && !slices.ContainsFunc(c.Blanks, func(b Blank) bool { return b.Outstanding() > late(b) }) {
		late = func(Blank) int { return 0 }
	}
	for i := range c.Blanks {
		b := &c.Blanks[i]
		b.come(b.Outstanding() - late(*b))
	}
}

// Orders returns the orders in those states, all when none is given.
func Orders(ctx context.Context, st *store.Store, states ...store.OrderState) ([]Order, error) {
	list, err := st.SupplierOrders(ctx, states...)
	if err != nil {
		return nil, err
	}
	return withContents(list, 0)
}
