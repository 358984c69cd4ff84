package handover

import (
	"context"
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// Ledger takes what happened to a client's pieces, or with Options.Orders a
// list of past orders. The error is *Refused when the file is at fault.
func Ledger(ctx context.Context, b *books.Books, code, file string, data []byte, opt Options) (*Report, error) {
	client, err := b.Client(ctx, code)
	if err != nil {
		return nil, err
	}
	people, err := b.Store.People(ctx, code)
	if err != nil {
		return nil, err
	}
	r := &Report{Kind: "ledger", Client: code, File: file}
	read := ledger.Options{Options: opt.table(client, opt.AsOf), Catalogue: ledger.NewCatalogue(b.Shop.Garments), Staff: people}
	if read.Staff == nil {
		read.Staff = []programme.Person{}
	}
	var moves []programme.Movement
	if opt.Orders {
		var before []programme.Movement
		if before, err = b.Store.Movements(ctx, code); err != nil {
			return nil, err
		}
		moves, err = r.orders(client, people, b.Shop.Garments, before, data, read, opt)
	} else {
		moves, err = r.movements(data, read, opt)
	}
	if err != nil {
		return nil, err
	}
	if r.Heap = largestHeap(client, people, moves); r.Heap != nil && !opt.Yes && !opt.DryRun {
		return nil, &TooMany{Heap: r.Heap}
	}
	err = b.Store.InTx(ctx, func(tx *store.Tx) error { return r.putMovements(tx, moves, opt) })
	if err != nil && !errors.Is(err, errUndo) {
		return nil, err
	}
	return r, nil
}

func (r *Report) movements(data []byte, read ledger.Options, opt Options) ([]programme.Movement, error) {
	list, err := ledger.Read(r.File, data, read)
	bad, err := rowErrors(err, list != nil)
	if err != nil {
		return nil, err
	}
	r.Notes = list.Notes
	if list.Skipped > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%d rows of the count form were left empty and are passed over", list.Skipped))
	}
	return list.Rows, r.settle(bad, list, opt)
}

func (r *Report) orders(client *programme.Client, people []programme.Person, garments []programme.Garment, before []programme.Movement, data []byte, read ledger.Options, opt Options) ([]programme.Movement, error) {
	list, err := ledger.ReadOrders(r.File, data, read)
	bad, err := rowErrors(err, list != nil)
	if err != nil {
		return nil, err
	}
	if err := r.settle(bad, list, opt); err != nil {
		return nil, err
	}
	r.Notes = list.Notes
	got := ledger.Assume(list.Rows, people, client, garments, before, opt.AsOf)
	r.Unplaced, r.UsedUp, r.Known = got.Unplaced, got.UsedUp, got.Known
	if len(got.Movements) > 0 {
		r.Notes = append(r.Notes, "past orders say when pieces were bought, not when any ended: who holds what is assumed, and nothing is learnt from it; count what is there before you order by it")
	}
	return got.Movements, nil
}

func (r *Report) putMovements(tx *store.Tx, moves []programme.Movement, opt Options) error {
	id, err := tx.AddImport(store.Import{Kind: r.Kind, Client: r.Client, File: r.File})
	if err != nil {
		return err
	}
	added, known, err := tx.AddMovements(r.Client, moves, id)
	if err != nil {
		return err
	}
	r.New, r.Known = added, r.Known+known
	if opt.DryRun || r.New == 0 {
		return errUndo
	}
	r.Stored = true
	return tx.SetImportCounts(id, r.New, r.Known)
}
