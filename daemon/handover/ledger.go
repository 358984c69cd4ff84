package handover

import (
	"context"
	"errors"
	"fmt"
	"slices"

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
	read := ledger.Options{Options: opt.table(client, opt.AsOf), Catalogue: ledger.NewCatalogue(b.Shop.Garments),
		Staff: people}
	if read.Staff == nil {
		read.Staff = []programme.Person{}
	}
	before, err := b.Store.Movements(ctx, code)
	if err != nil {
		return nil, err
	}
	var moves []programme.Movement
	if opt.Orders {
		moves, err = r.orders(client, people, b.Shop.Garments, before, data, read, opt)
	} else {
		moves, err = r.movements(client, b.Shop.DateStyle, before, data, read, opt)
	}
	if err != nil {
		return nil, err
	}
	if r.Heap = largestHeap(client, people, moves); r.Heap != nil && !opt.Yes && !opt.DryRun {
		return nil, &TooMany{Heap: r.Heap}
	}
	r.noteOtherCounts(b.Shop, before, moves)
	err = b.Store.InTx(ctx, func(tx *store.Tx) error { return r.putMovements(tx, moves, opt) })
	if err != nil && !errors.Is(err, errUndo) {
		return nil, err
	}
	return r, nil
}

// movements reads a ledger or, where the file is none, a count form that came back.
func (r *Report) movements(client *programme.Client, dates programme.DateStyle, before []programme.Movement,
	data []byte, read ledger.Options, opt Options) ([]programme.Movement, error) {
	list, err := ledger.Read(r.File, data, read)
	if list == nil {
		if form, ok, wrong := ledger.ReadForm(r.File, data, client, read); ok {
			return r.form(form, dates, before, wrong, opt)
		}
	}
	bad, err := rowErrors(err, list != nil)
	if err != nil {
		return nil, err
	}
	r.Notes = list.Notes
	if list.Skipped > 0 {
		r.Notes = append(r.Notes, kept(list.Skipped))
	}
	return list.Rows, r.settle(bad, list, opt)
}

// sameCount is the number of days within which two counts are of the same form.
const sameCount = 21

// noteOtherCounts notes how many counts give another number than one that is in the ledger from about
// the same day: a form that came twice, or that two people filled in.
func (r *Report) noteOtherCounts(shop *programme.Shop, before, moves []programme.Movement) {
	if slices.ContainsFunc(moves, func(m programme.Movement) bool { return !isCount(m) }) {
		return // a ledger of many days, and no form
	}
	last, known := map[holding]*programme.Movement{}, map[said]bool{}
	for i := range before {
		if m := &before[i]; isCount(*m) {
			at := holding{m.StaffID, m.SKU}
			last[at], known[said{at, m.Date, m.Pieces}] = m, true
		}
	}
	var others []string
	for i := range moves {
		m := &moves[i]
		at := holding{m.StaffID, m.SKU}
		old := last[at]
		if old == nil || old.Pieces == m.Pieces || known[said{at, m.Date, m.Pieces}] ||
			max(old.Date-m.Date, m.Date-old.Date) > sameCount {
			continue
		}
		others = append(others, fmt.Sprintf("no. %s, %s: %d here, %d on %s", m.StaffID, m.SKU, m.Pieces, old.Pieces,
			shop.DateStyle.Date(old.Date)))
	}
	if len(others) > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("other numbers than in a count before (%s); the later day holds and, of one day, what came last: where that is not the true one, enter it with 'kitmuster count'",
			others[0]+andOthers(len(others)-1)))
	}
}

// holding is the pieces of one kind that a person holds, and said what a count found of them on a day.
type (
	holding struct {
		staff string
		sku   programme.SKU
	}
	said struct {
		holding
		on     programme.Date
		pieces int
	}
)

// countedBefore finds the day on which a form without a day was taken in before: the newest of the last
// sameCount days on which every number of it was counted.
func countedBefore(form *ledger.Counted, before []programme.Movement) (programme.Date, bool) {
	known := map[said]bool{}
	for _, m := range before {
		if isCount(m) {
			known[said{holding{m.StaffID, m.SKU}, m.Date, m.Pieces}] = true
		}
	}
	for day := form.Day; day >= form.Day.Add(-sameCount) && len(form.Rows) > 0; day = day.Add(-1) {
		if !slices.ContainsFunc(form.Rows, func(m programme.Movement) bool {
			return !known[said{holding{m.StaffID, m.SKU}, day, m.Pieces}]
		}) {
			return day, true
		}
	}
	return 0, false
}

func isCount(m programme.Movement) bool { return m.Kind == programme.Counted }

func andOthers(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", and %s more", programme.NumberOf(n, "row"))
}

// kept explains rows of a count form that nobody filled in.
func kept(n int) string {
	were := "were"
	if n == 1 {
		were = "was"
	}
	return fmt.Sprintf("%s of the count form %s left empty: there the number on record is kept",
		programme.NumberOf(n, "row"), were)
}

func (r *Report) form(form *ledger.Counted, dates programme.DateStyle, before []programme.Movement, wrong error,
	opt Options) ([]programme.Movement, error) {
	bad, err := rowErrors(wrong, form != nil)
	if err != nil {
		return nil, err
	}
	r.Notes = append(r.Notes, form.Notes...)
	day := dates.Date(form.Day)
	if again, ok := countedBefore(form, before); form.Dated {
		r.Notes = append(r.Notes, "counted on "+day)
	} else if ok {
		for i := range form.Rows {
			form.Rows[i].Date = again
		}
		r.Notes = append(r.Notes, fmt.Sprintf("no day stands on the form, and its numbers are known as counted on %s",
			dates.Date(again)))
	} else {
		r.Notes = append(r.Notes, fmt.Sprintf("no day stands on the form, so it is taken as counted on %s", day))
	}
	if form.Skipped > 0 {
		r.Notes = append(r.Notes, kept(form.Skipped))
	}
	return form.Rows, r.settle(bad, form.List, opt)
}

func (r *Report) orders(client *programme.Client, people []programme.Person, garments []programme.Garment,
	before []programme.Movement, data []byte, read ledger.Options, opt Options) ([]programme.Movement, error) {
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
