package record

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
)

// Arrival is goods that have come in.
type Arrival struct {
	programme.Goods
	Pieces int
	On     programme.Date
	Washes int // that finished pieces have behind them
}

// Receive puts arrived goods on the shelf; what was stated as on order becomes
// less by as much, the earliest expected first.
func Receive(ctx context.Context, b *books.Books, a Arrival) (Done, error) {
	if a.Kind == programme.Finished && a.Client == "" {
		return Done{}, fmt.Errorf("finished pieces carry a client's mark; say whose they are%w", hint.Text{Command: " with --client"})
	}
	if a.Kind != programme.Finished && a.Client != "" {
		return Done{}, fmt.Errorf("a %s belongs to no client; leave %w", a.Kind,
			hint.Text{Command: "--client out", Desk: "Whose at Nobody's"})
	}
	if a.Washes > 0 && a.Kind != programme.Finished {
		return Done{}, fmt.Errorf("a %s was never worn; %w", a.Kind,
			hint.Text{Command: "leave --washes out", Desk: "it has no washes"})
	}
	return enter(ctx, b, a.Client, func(e *entry) error { return e.receive(&a) })
}

// shelfChange is the change that an entry makes to the stock of one thing.
type shelfChange struct {
	Thing         programme.Goods
	Before, After []programme.StockLine
}

func (e *entry) receive(a *Arrival) error {
	goods, err := e.goods(a)
	if err != nil {
		return err
	}
	before, err := linesOf(e.tx, goods)
	if err != nil {
		return err
	}
	after, expected := arrive(before, goods, a.Pieces, a.Washes, a.On)
	if err := e.tx.ReplaceStockOf(goods, after); err != nil {
		return err
	}
	e.undo.Shelf = &shelfChange{Thing: goods, Before: before, After: after}
	e.done.Text = fmt.Sprintf("received %d × %s on %s", a.Pieces, e.called(goods), e.day(a.On))
	if expected > 0 {
		e.note("%s of them were stated as on order and no longer are", programme.NumberOf(expected, "piece"))
	}
	e.about = e.done.Text
	return nil
}

// called names goods as people of the shop say them.
func (e *entry) called(g programme.Goods) string {
	name := g.Code
	if g.Kind != programme.Transfer {
		name = answer.Name(e.books.Shop, g.SKU())
	} else if art, ok := e.books.Shop.Artwork(g.Code); ok {
		name = art.Called()
	}
	return fmt.Sprintf("%s (%s)", name, g.Kind)
}

// goods checks what arrived against the catalogue.
func (e *entry) goods(a *Arrival) (programme.Goods, error) {
	g := programme.Goods{Kind: a.Kind, Client: a.Client}
	if a.Kind == programme.Transfer {
		arts := match.ChoicesOf(e.books.Shop.Transfers(),
			func(x *programme.Artwork) (string, string) { return x.Code, x.Name })
		code, ok := arts.Find(a.Code)
		if !ok {
			return g, fmt.Errorf("read %q, %s", a.Code, arts.Want("artwork in the shop's catalogue", a.Code))
		}
		g.Code = code
		return g, nil
	}
	sku, wrong := ledger.NewCatalogue(e.books.Shop.Garments).Find(a.Code, a.Colour, a.Size)
	if wrong != nil {
		value := []string{a.Code, a.Colour, a.Size}[wrong.Part]
		if value == "" {
			return g, fmt.Errorf("%s; give it as GARMENT/COLOUR/SIZE", wrong.Want)
		}
		return g, fmt.Errorf("read %q, %s", value, wrong.Want)
	}
	g.Code, g.Colour, g.Size = sku.Garment, sku.Colour, sku.Size
	return g, nil
}

// arrive moves n pieces from what is on order to the shelf and returns how many
// of them had been expected.
func arrive(lines []programme.StockLine, goods programme.Goods, n, washes int,
	on programme.Date) (after []programme.StockLine, expected int) {
	sorted := slices.Clone(lines)
	slices.SortStableFunc(sorted, func(a, b programme.StockLine) int { return cmp.Compare(a.Expected, b.Expected) })
	shelf := programme.StockLine{AsOf: on, Goods: goods, Pieces: n, Washes: washes}
	if goods.Kind == programme.Transfer {
		shelf.Made = on // shelf life runs from the day they came
	}
	for _, l := range sorted {
		switch {
		case !l.Expected.IsZero() && washes == 0: // what was ordered is new
			came := min(l.Pieces, n-expected)
			expected += came
			if l.Pieces -= came; l.Pieces > 0 {
				after = append(after, l)
			}
		case l.Expected.IsZero() && l.Made == shelf.Made && l.Washes == washes:
			shelf.Pieces += l.Pieces
		default:
			after = append(after, l)
		}
	}
	return append(after, shelf), expected
}

// linesOf returns the stock lines of some goods.
func linesOf(tx *store.Tx, goods programme.Goods) ([]programme.StockLine, error) {
	all, err := tx.Stock()
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(l programme.StockLine) bool { return l.Goods != goods }), nil
}
