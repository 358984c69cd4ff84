package daemon

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// taker hands dropped files over to the books as the import commands do.
type taker struct {
	books *books.Books
	today func() programme.Date
}

// Take takes one file, all of it or nothing. A list that would make more than a
// quarter of the staff leave is refused: that needs a person's yes.
func (t taker) Take(ctx context.Context, n dropfolder.Name, file string, data []byte) (string, error) {
	client, err := t.client(ctx, n)
	if err != nil {
		return "", err
	}
	opt := handover.Options{AsOf: t.today(), Full: n.Full}
	var r *handover.Report
	switch n.Kind {
	case dropfolder.Roster:
		r, err = handover.Roster(ctx, t.books, client, file, data, opt)
	case dropfolder.Ledger, dropfolder.Counts:
		r, err = handover.Ledger(ctx, t.books, client, file, data, opt)
	case dropfolder.Days:
		r, err = record.DaySheet(ctx, t.books, client, file, data, opt)
	case dropfolder.Stock:
		r, err = handover.Stock(ctx, t.books, file, data, opt)
	}
	if err != nil {
		return "", refusalOrTrouble(err, byHand(n, client))
	}
	return t.report(r), nil
}

// client finds the code that a file's name means, whatever its case.
func (t taker) client(ctx context.Context, n dropfolder.Name) (string, error) {
	if n.Kind == dropfolder.Stock {
		return "", nil
	}
	rows, err := t.books.Store.Clients(ctx)
	if err != nil {
		return "", err
	}
	codes := make([]string, len(rows))
	for i, row := range rows {
		codes[i] = row.Code
	}
	if at := n.Among(codes); at >= 0 {
		return codes[at], nil
	}
	return "", &dropfolder.Refusal{Err: fmt.Errorf("there is no client %q; the clients are: %s", n.Client,
		strings.Join(codes, ", "))}
}

// byHand returns the command that hands a file over with a person looking on.
func byHand(n dropfolder.Name, client string) string {
	words := []string{"kitmuster"}
	switch n.Kind {
	case dropfolder.Roster:
		words = append(words, "roster import", client, "FILE")
		if n.Full {
			words = append(words, "--full")
		}
	case dropfolder.Ledger, dropfolder.Counts:
		words = append(words, "ledger import", client, "FILE")
	case dropfolder.Days:
		words = append(words, "day-sheet import", client, "FILE")
	case dropfolder.Stock:
		words = append(words, "stock import FILE")
	}
	return strings.Join(words, " ")
}

// refusalOrTrouble tells a fault of the file from one of the machine, after
// which the file is tried again. A dropped file has no flags, so a refusal that
// one would lift names the whole command.
func refusalOrTrouble(err error, byHand string) error {
	var refused *handover.Refused
	var many *handover.TooMany
	var rows table.Errors
	var one *table.Error
	switch {
	case errors.As(err, &many):
		return &dropfolder.Refusal{Err: err, Aim: "The command for that", Command: byHand + " --yes"}
	case errors.As(err, &refused) && refused.Mendable:
		return &dropfolder.Refusal{Err: &handover.Refused{Errors: refused.Errors},
			Aim: "To take the other rows all the same", Command: byHand + " --accept-good"}
	case errors.As(err, &refused), errors.As(err, &rows), errors.As(err, &one), errors.Is(err, store.ErrNoClient):
		return &dropfolder.Refusal{Err: err}
	}
	return err
}

// report returns what a person reads of a file that was taken. It names no staff:
// it goes into the owner's mail as well.
func (t taker) report(r *handover.Report) string {
	var b strings.Builder
	for _, n := range r.Notes {
		fmt.Fprintf(&b, "%s%s\n", dropfolder.NoteMark, n)
	}
	switch {
	case !r.Stored:
		b.WriteString("Nothing in it was new; nothing was changed.")
	case r.Diff != nil:
		d := r.Diff
		fmt.Fprintf(&b, "%d joined, %d left, %d came back, %d with another role, %d with another site, %d with another size, %d corrected, %d unchanged.",
			len(d.Joined), len(d.Left), len(d.Back), len(d.Role), len(d.Site), len(d.Size), len(d.Other), d.Unchanged)
	case r.Kind == handover.KindDays:
		fmt.Fprintf(&b, "%d entries new, %d known already.", r.New, r.Known)
	default:
		fmt.Fprintf(&b, "%d rows new, %d known already.", r.New, r.Known)
	}
	if len(r.Unplaced) > 0 {
		fmt.Fprintf(&b, " %d ordered garments could be given to nobody of that day.", len(r.Unplaced))
	}
	return b.String()
}

// lowDisk is the free space below which the owner is told.
const lowDisk = 200 << 20
