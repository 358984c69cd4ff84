package store

import (
	"cmp"
	"context"
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// Stock returns every stock line: what is on the shelf and what was on order
// when the stock was last stated. Orders of proposals come on top.
func (s *Store) Stock(ctx context.Context) ([]programme.StockLine, error) {
	return s.View(ctx).Stock()
}

const selectStock = `SELECT as_of, kind, client, code, colour, size, pieces, expected, made, washes FROM stock `

// Stock is Store.Stock as a transaction sees it.
func (v View) Stock() ([]programme.StockLine, error) {
	words := interner{}
	return rowsOf(v, "read stock", func(row scanner) (programme.StockLine, error) {
		l, err := scanStock(row)
		for _, s := range []*string{&l.Client, &l.Code, &l.Colour, &l.Size} {
			*s = words.same(*s)
		}
		return l, err
	}, selectStock+`ORDER BY kind, client, code, colour, size, expected, made, washes`)
}

func scanStock(row scanner) (l programme.StockLine, err error) {
	err = row.Scan(day{&l.AsOf}, &l.Kind, &l.Client, &l.Code, &l.Colour, &l.Size, &l.Pieces, day{&l.Expected},
		day{&l.Made}, &l.Washes)
	return l, err
}

// ReplaceStock takes a stock statement: for each kind that it names (and each
// client, for finished pieces) it replaces all that was stated before, so what
// is missing from the statement is no longer there.
func (tx *Tx) ReplaceStock(lines []programme.StockLine) error {
	dropped := map[programme.Goods]bool{}
	for i := range lines {
		g := programme.Goods{Kind: lines[i].Kind, Client: lines[i].Client}
		if dropped[g] {
			continue
		}
		dropped[g] = true
		if err := tx.do("replace stock", `DELETE FROM stock WHERE kind = ? AND client = ?`, g.Kind,
			g.Client); err != nil {
			return err
		}
	}
	return tx.AddStock(lines)
}

// isGoods is the condition that a line of stock counts the goods given as arguments.
const isGoods = ` kind = ? AND client = ? AND code = ? AND colour = ? AND size = ? `

func goodsArgs(g programme.Goods) []any {
	return []any{g.Kind, g.Client, g.Code, g.Colour, g.Size}
}

// ReplaceStockOf replaces all lines of some goods, here or on order, and leaves
// the stock of everything else.
func (tx *Tx) ReplaceStockOf(goods programme.Goods, lines []programme.StockLine) error {
	if err := tx.do(fmt.Sprintf("replace stock of %s", goods), `DELETE FROM stock WHERE`+isGoods,
		goodsArgs(goods)...); err != nil {
		return err
	}
	return tx.AddStock(lines)
}

// AddStock puts pieces beside what is there: equal lines are added up.
func (tx *Tx) AddStock(lines []programme.StockLine) error {
	for i := range lines {
		l := &lines[i]
		err := tx.do("store stock of "+l.Code,
			`INSERT INTO stock (kind, client, code, colour, size, expected, made, washes, as_of, pieces)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
			ON CONFLICT (kind, client, code, colour, size, expected, made, washes)
			DO UPDATE SET pieces = pieces + excluded.pieces, as_of = max(as_of, excluded.as_of)`,
			l.Kind, l.Client, l.Code, l.Colour, l.Size, l.Expected.String(), l.Made.String(), l.Washes,
			l.AsOf.String(), l.Pieces)
		if err != nil {
			return err
		}
	}
	return nil
}

// TakeStock takes up to pieces from the shelf, oldest transfers first, and
// returns how many were there to take. What is on order is left alone.
func (tx *Tx) TakeStock(goods programme.Goods, pieces int) (int, error) {
	lines, err := tx.takeLines(goods, pieces, "made, washes", nil)
	taken := 0
	for i := range lines {
		taken += lines[i].Pieces
	}
	return taken, err
}

// TakeGood takes as TakeStock does, leaves what was made before a day, and
// returns what it took: oldest transfers first.
func (tx *Tx) TakeGood(goods programme.Goods, pieces int, madeFrom programme.Date) ([]programme.StockLine, error) {
	return tx.takeLines(goods, pieces, "made, washes",
		func(l programme.StockLine) bool { return cmp.Or(l.Made, l.AsOf) >= madeFrom })
}

// TakeWorn takes up to pieces of finished goods from the shelf for a wearer and
// returns the lines that it took: those that somebody wore before and that fit
// allows come first, the most worn before others, so that new ones keep their worth.
func (tx *Tx) TakeWorn(goods programme.Goods, pieces int,
	fit func(programme.StockLine) bool) ([]programme.StockLine, error) {
	return tx.takeLines(goods, pieces, "washes DESC", fit)
}

func (tx *Tx) takeLines(goods programme.Goods, pieces int, order string,
	fit func(programme.StockLine) bool) ([]programme.StockLine, error) {
	lines, err := rowsOf(tx.View, fmt.Sprintf("take stock of %s", goods), scanStock,
		selectStock+`WHERE`+isGoods+`AND expected = '' AND pieces > 0 ORDER BY `+order, goodsArgs(goods)...)
	if err != nil {
		return nil, err
	}
	var taken []programme.StockLine
	for i := range lines {
		l := lines[i]
		if fit != nil && !fit(l) {
			continue
		}
		if l.Pieces = min(l.Pieces, pieces); l.Pieces <= 0 {
			break
		}
		pieces -= l.Pieces
		taken = append(taken, l)
		if err := tx.takeFrom(l); err != nil {
			return nil, err
		}
	}
	return taken, nil
}

// takeFrom takes pieces off one line. Of worn ones no empty line stays: nobody
// states a shelf by its wear.
func (tx *Tx) takeFrom(l programme.StockLine) error {
	what := fmt.Sprintf("take stock of %s", l.Goods)
	args := append([]any{l.Pieces, l.Made.String(), l.Washes}, goodsArgs(l.Goods)...)
	err := tx.do(what,
		`UPDATE stock SET pieces = pieces - ? WHERE expected = '' AND made = ? AND washes = ? AND`+isGoods, args...)
	if err == nil && l.Washes > 0 {
		err = tx.do(what, `DELETE FROM stock WHERE pieces = 0 AND washes > 0 AND`+isGoods, goodsArgs(l.Goods)...)
	}
	return err
}
