// Package journal keeps what an entry changes, so that one undo takes all of it
// back or, where something else has changed the same thing since, nothing.
package journal

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Journal watches one entry within its transaction. What it may change is named
// to it before it does; the stock is watched whole.
type Journal struct {
	tx        *store.Tx
	stock     []programme.StockLine
	proposals map[int64]*proposalChange
	orders    map[int64]*OrderChange
	held      map[string][]store.HeldAnswer
	made      []int64
}

// StateAnew says how the stock is set right that an undo cannot.
var StateAnew = hint.Text{
	Command: "state what is there with 'kitmuster stock import'",
	Desk:    "what lies there is stated anew in a list of the stock",
}

// Open begins to watch.
func Open(tx *store.Tx) (*Journal, error) {
	stock, err := tx.Stock()
	return &Journal{tx: tx, stock: stock, proposals: map[int64]*proposalChange{},
		orders: map[int64]*OrderChange{}, held: map[string][]store.HeldAnswer{}}, err
}

// Proposal is called before a proposal is changed.
func (j *Journal) Proposal(number int64) error {
	if j == nil || j.proposals[number] != nil || slices.Contains(j.made, number) {
		return nil
	}
	p, err := j.tx.Proposal(number)
	if err != nil {
		return err
	}
	body, err := json.Marshal(&p)
	if err != nil {
		return err
	}
	links, err := j.tx.SheetLinks(number)
	j.proposals[number] = &proposalChange{Number: number, State: p.State, Body: body, Sheets: links}
	return err
}

// Made is called with a proposal that the entry has made.
func (j *Journal) Made(number int64) { j.made = append(j.made, number) }

// Order is called before an order to a supplier is changed or made.
func (j *Journal) Order(number int64) error {
	if j == nil || j.orders[number] != nil {
		return nil
	}
	o, err := j.tx.SupplierOrder(number)
	j.orders[number] = &OrderChange{SupplierOrder: o}
	return err
}

// Held is called before answers about a client's held clothing are changed.
func (j *Journal) Held(client string) error {
	list, err := j.tx.HeldAnswers(client)
	j.held[client] = list
	return err
}

// Record holds what is needed to take an entry back.
type Record struct {
	Shelf     []ShelfChange    `json:"shelf,omitempty"`
	Proposals []proposalChange `json:"proposals,omitempty"`
	Made      []madeProposal   `json:"made,omitempty"`
	Orders    []OrderChange    `json:"orders,omitempty"`
	Held      []heldChange     `json:"held,omitempty"`
}

// ShelfChange is the change that an entry made to the stock of one thing.
type ShelfChange struct {
	Thing         programme.Goods
	Before, After []programme.StockLine
}

type proposalChange struct {
	Number int64            `json:"number"`
	State  reorder.State    `json:"state"`
	Body   json.RawMessage  `json:"body"`
	Sheets store.SheetLinks `json:"sheets,omitempty"`
	// Left are those of Sheets that the entry did not move: others may have ordered them since.
	Left  []int64 `json:"left,omitempty"`
	After string  `json:"after"` // what it must still be, as a sum
}

// madeProposal is a proposal that the entry has made, and what it must still be.
type madeProposal struct {
	Number int64  `json:"number"`
	After  string `json:"after"`
}

// OrderChange is an order to a supplier as it was before an entry that changed it.
type OrderChange struct {
	store.SupplierOrder
	// After is what it must still be, as a sum; empty of entries that were made before it was noted.
	After string `json:"after,omitempty"`
}

type heldChange struct {
	Client string             `json:"client"`
	Before []store.HeldAnswer `json:"before"`
}

// Close says what has changed since Open.
func (j *Journal) Close() (*Record, error) {
	r := &Record{}
	for _, n := range j.made {
		sum, err := standing(j.tx, n)
		if err != nil {
			return nil, err
		}
		r.Made = append(r.Made, madeProposal{n, sum})
	}
	for _, n := range slices.Sorted(maps.Keys(j.proposals)) {
		c := j.proposals[n]
		var err error
		if c.After, err = standing(j.tx, n); err != nil {
			return nil, err
		}
		if c.Left, err = j.tx.Unmoved(c.Sheets); err != nil {
			return nil, err
		}
		r.Proposals = append(r.Proposals, *c)
	}
	for _, n := range slices.Sorted(maps.Keys(j.orders)) {
		o := j.orders[n]
		before, err := sumOf(&o.SupplierOrder)
		if err != nil {
			return nil, err
		}
		if o.After, err = orderStanding(j.tx, n); err != nil {
			return nil, err
		}
		if o.After != before { // else it is left as later entries make it
			r.Orders = append(r.Orders, *o)
		}
	}
	for _, c := range slices.Sorted(maps.Keys(j.held)) {
		r.Held = append(r.Held, heldChange{c, j.held[c]})
	}
	after, err := j.tx.Stock()
	r.Shelf = shelfChanges(j.stock, after)
	return r, err
}

// standing sums up where a proposal stands.
func standing(tx *store.Tx, number int64) (string, error) {
	p, err := tx.Proposal(number)
	if err != nil {
		return "", err
	}
	return sumOf(&p)
}

// orderStanding sums up where an order stands.
func orderStanding(tx *store.Tx, number int64) (string, error) {
	o, err := tx.SupplierOrder(number)
	if err != nil {
		return "", err
	}
	return sumOf(&o)
}

func sumOf(x any) (string, error) {
	body, err := json.Marshal(x)
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:]), err
}

func shelfChanges(before, after []programme.StockLine) []ShelfChange {
	by := map[programme.Goods]*ShelfChange{}
	at := func(l *programme.StockLine) *ShelfChange {
		k := l.Goods
		if by[k] == nil {
			by[k] = &ShelfChange{Thing: k}
		}
		return by[k]
	}
	for i := range before {
		c := at(&before[i])
		c.Before = append(c.Before, before[i])
	}
	for i := range after {
		c := at(&after[i])
		c.After = append(c.After, after[i])
	}
	var out []ShelfChange
	for _, c := range by {
		if !slices.Equal(c.Before, c.After) {
			out = append(out, *c)
		}
	}
	slices.SortFunc(out, func(a, b ShelfChange) int { return cmp.Compare(text(a.Thing), text(b.Thing)) })
	return out
}

// text names goods, finished ones with their client.
func text(g programme.Goods) string {
	if g.Client != "" {
		return fmt.Sprintf("%s of %s", g, g.Client)
	}
	return g.String()
}

// TakeBack restores what the entry changed; why is noted with each proposal.
func (r *Record) TakeBack(tx *store.Tx, why string) error {
	if err := r.unchanged(tx); err != nil {
		return err
	}
	for i := range r.Shelf {
		if err := tx.ReplaceStockOf(r.Shelf[i].Thing, r.Shelf[i].Before); err != nil {
			return err
		}
	}
	for i := range r.Proposals {
		c := &r.Proposals[i]
		if err := tx.RestoreProposal(c.Number, c.State, c.Body, why); err != nil {
			return err
		}
		if err := tx.PutSheetLinks(c.Number, c.Sheets, c.Left); err != nil {
			return err
		}
	}
	for _, m := range r.Made {
		if err := tx.RemoveProposal(m.Number); err != nil {
			return err
		}
	}
	for i := range r.Orders {
		if err := tx.PutSupplierOrder(r.Orders[i].SupplierOrder); err != nil {
			return err
		}
	}
	for _, h := range r.Held {
		if err := tx.PutHeldAnswers(h.Client, h.Before); err != nil {
			return err
		}
	}
	return nil
}

// unchanged refuses where something else has changed the same thing since.
func (r *Record) unchanged(tx *store.Tx) error {
	stock, err := tx.Stock()
	if err != nil {
		return err
	}
	now := map[programme.Goods][]programme.StockLine{}
	for i := range stock {
		k := stock[i].Goods
		now[k] = append(now[k], stock[i])
	}
	for _, c := range r.Shelf {
		if !slices.Equal(now[c.Thing], c.After) {
			return fmt.Errorf("the stock of %s has changed since; %w", text(c.Thing), StateAnew)
		}
	}
	for i := range r.Orders {
		o := &r.Orders[i]
		sum, err := orderStanding(tx, o.Number)
		if err != nil {
			return err
		}
		if o.After != "" && sum != o.After {
			return fmt.Errorf("something else has happened to order %d since; what came of it is taken back first, %w",
				o.Number, hint.Text{Command: "with 'kitmuster undo'", Desk: "on the page Goods in"})
		}
	}
	after := slices.Clone(r.Made)
	for i := range r.Proposals {
		after = append(after, madeProposal{r.Proposals[i].Number, r.Proposals[i].After})
	}
	for _, p := range after {
		sum, err := standing(tx, p.Number)
		if err != nil {
			return err
		}
		if sum != p.After {
			return fmt.Errorf("something else has happened to proposal %d since; %w tells what", p.Number,
				hint.Text{Command: fmt.Sprintf("'kitmuster proposal show %d'", p.Number), Desk: "its history"})
		}
	}
	return nil
}
