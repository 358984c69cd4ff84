package handover

import (
	"context"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/table"
)

// KindDays is the Report.Kind of day sheets.
const KindDays = "day sheet"

// Days is a day sheet that was read and is not entered yet.
type Days struct {
	*Report
	*ledger.DaySheet

	bad table.Errors
	opt Options
}

// ReadDays reads a client's day sheet. The error is *Refused when it cannot be read at
// all; what is wrong with single rows comes out of Settle.
func ReadDays(ctx context.Context, b *books.Books, code, file string, data []byte, opt Options) (*Days, error) {
	client, err := b.Client(ctx, code)
	if err != nil {
		return nil, err
	}
	people, err := b.Store.People(ctx, code)
	if err != nil {
		return nil, err
	}
	if people == nil {
		people = []programme.Person{}
	}
	r := &Report{Kind: KindDays, Client: code, File: file}
	read := ledger.Options{Options: opt.table(client, opt.AsOf), Catalogue: ledger.NewCatalogue(b.Shop.Garments),
		Staff: people}
	sheet, err := ledger.ReadDaySheet(file, data, client, read)
	bad, err := rowErrors(err, sheet != nil)
	if err != nil {
		return nil, err
	}
	r.Notes = append(r.Notes, sheet.Notes...)
	if !sheet.Dated {
		r.Notes = append(r.Notes,
			fmt.Sprintf("no day stands behind %q, so it is taken as the sheet of the week from %s",
				ledger.WeekFrom, b.Shop.DateStyle.Date(sheet.Week)))
	}
	return &Days{r, sheet, bad, opt}, nil
}

// Settle refuses the sheet where anything is wrong with it, in what was read or in what
// entering it found, or with Options.AcceptGood makes the file to mend.
func (d *Days) Settle(found table.Errors) error {
	return d.settle(append(append(table.Errors(nil), d.bad...), found...), d.List, d.opt)
}
