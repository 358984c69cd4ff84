package handover

import (
	"context"
	"errors"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/stock"
)

// Stock takes a statement of what lies on the shelves and is on order. It
// replaces what was stated before of each kind it names, and for finished
// pieces of each client it names.
func Stock(ctx context.Context, b *books.Books, file string, data []byte, opt Options) (*Report, error) {
	clients, err := b.Store.Clients(ctx)
	if err != nil {
		return nil, err
	}
	read := stock.Options{Options: opt.table(nil, opt.AsOf), Catalogue: ledger.NewCatalogue(b.Shop.Garments),
		Artworks: match.ChoicesOf(b.Shop.Transfers(),
			func(x *programme.Artwork) (string, string) { return x.Code, x.Name }),
		Clients: match.ChoicesOf(clients, func(x *store.ClientRow) (string, string) { return x.Code, "" })}
	r := &Report{Kind: "stock", File: file}
	list, err := stock.Read(file, data, read)
	bad, err := rowErrors(err, list != nil)
	if err != nil {
		return nil, err
	}
	r.Notes = list.Notes
	if err := r.settle(bad, list, opt); err != nil {
		return nil, err
	}
	err = b.Store.InTx(ctx, func(tx *store.Tx) error { return r.putStock(tx, list, opt) })
	if err != nil && !errors.Is(err, errUndo) {
		return nil, err
	}
	return r, nil
}

func (r *Report) putStock(tx *store.Tx, list *stock.List, opt Options) error {
	before, err := tx.Stock()
	if err != nil {
		return err
	}
	lines := keepWear(before, list.Rows)
	known := make(map[programme.StockLine]bool, len(before))
	for _, l := range before {
		known[l] = true
	}
	for _, l := range lines {
		if known[l] {
			r.Known++
		}
	}
	r.New = len(lines) - r.Known
	if list.Mended() {
		lines = beside(before, lines)
	}
	if err := tx.ReplaceStock(lines); err != nil {
		return err
	}
	after, err := tx.Stock()
	if err != nil {
		return err
	}
	changed := len(before) != len(after)
	for _, l := range after {
		changed = changed || !known[l]
	}
	if opt.DryRun || !changed {
		return errUndo
	}
	r.Stored = true
	_, err = tx.AddImport(store.Import{Kind: r.Kind, File: r.File, New: r.New, Known: r.Known})
	return err
}

// keepWear keeps what is known of the wear of finished pieces where a statement
// only says how many there are: as many of them as lay there before were worn.
func keepWear(before, stated []programme.StockLine) []programme.StockLine {
	worn, told := map[programme.Goods][]programme.StockLine{}, map[programme.Goods]bool{}
	for _, l := range before {
		if l.Washes > 0 {
			worn[l.Goods] = append(worn[l.Goods], l)
		}
	}
	for _, l := range stated {
		told[l.Goods] = told[l.Goods] || l.Washes > 0
	}
	out := make([]programme.StockLine, 0, len(stated))
	for _, l := range stated {
		if l.Kind == programme.Finished && l.Expected.IsZero() && !told[l.Goods] {
			for _, w := range worn[l.Goods] {
				if w.Pieces = min(w.Pieces, l.Pieces); w.Pieces > 0 {
					w.AsOf = l.AsOf
					l.Pieces -= w.Pieces
					out = append(out, w)
				}
			}
		}
		out = append(out, l)
	}
	return out
}

// beside puts mended rows beside what was stated with the file they were wrong
// in, in place of what was stated of the same thing.
func beside(before, mended []programme.StockLine) []programme.StockLine {
	type group struct {
		kind   programme.StockKind
		client string
	}
	groups, keys := map[group]bool{}, map[programme.StockLine]bool{}
	for _, l := range mended {
		groups[group{l.Kind, l.Client}] = true
		keys[thing(l)] = true
	}
	all := mended
	for _, l := range before {
		if groups[group{l.Kind, l.Client}] && !keys[thing(l)] {
			all = append(all, l)
		}
	}
	return all
}

// thing returns a stock line without how much there is of it and since when.
func thing(l programme.StockLine) programme.StockLine {
	l.Pieces, l.AsOf = 0, 0
	return l
}
