// Package handover takes the files that people hand over into a shop's books:
// it reads them, compares them with what is known and stores what is new, all
// of a file or nothing of it.
package handover

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a file is to be taken.
type Options struct {
	// Headings come before the mapping of the client's programme.
	Headings map[string]string
	Dates    table.DateOrder
	Sheet    string
	// AsOf is the day of the hand-over.
	AsOf programme.Date
	// Full says that a roster names everybody; Yes lets more than a quarter leave.
	Full, Yes bool
	// Orders says that a ledger is a list of past orders.
	Orders bool
	// DryRun stores nothing; AcceptGood stores the rows without an error.
	DryRun, AcceptGood bool
}

// Report is the result of taking in a file.
type Report struct {
	Kind   string // roster, ledger, stock
	Client string
	File   string
	// Notes tell what was concluded from the file.
	Notes []string
	// Diff lists the changes that a roster makes.
	Diff *roster.Diff
	// Unsized are people in a roster of whose kit a size is not known; Notes name them.
	Unsized []programme.NoSizes
	// New and Known count the rows of a ledger or stock.
	New, Known int
	// Heap is more pieces in one person's hands than anybody wears; nil = none.
	Heap *Heap
	// Unplaced are ordered pieces that nobody of that day could have been given.
	Unplaced []ledger.Unplaced
	// UsedUp are ordered pieces that nobody is assumed to hold any more.
	UsedUp int
	// Bad are the rows not taken and Mend the file to correct them in; only
	// with Options.AcceptGood.
	Bad  table.Errors
	Mend []byte
	// Stored is false for a dry run and for a file that changes nothing.
	Stored bool
}

// Refused says that a file was not taken and that nothing has changed.
type Refused struct {
	Errors table.Errors
	// Mendable says that AcceptGood would take the other rows.
	Mendable bool
}

// Error puts the sentences first and what follows from them last.
func (r *Refused) Error() string {
	text := r.Errors.Error()
	if len(r.Errors) > 1 && r.Errors[0].Line > 0 {
		text = fmt.Sprintf("%d things are wrong with this file:\n%s", len(r.Errors), text)
	}
	text += lineOrSpace(len(r.Errors)) + "Nothing was imported."
	if r.Mendable {
		text += " With --accept-good the other rows are taken and these are written to a file to mend."
	}
	return text
}

func lineOrSpace(n int) string {
	if n > 1 {
		return "\n"
	}
	return " "
}

// Unwrap returns the errors of the rows.
func (r *Refused) Unwrap() error { return r.Errors }

// TooMany says that a list would do what wrong lists do: make more than a
// quarter of the staff leave, add people who are known under other numbers, or
// heap up pieces in somebody's hands.
type TooMany struct {
	Heap      *Heap
	Leave, Of int
	Twins     int
	Diff      *roster.Diff
}

func (t *TooMany) Error() string {
	if t.Heap != nil {
		return t.Heap.text()
	}
	if t.Twins > 0 {
		return fmt.Sprintf("%d of the people that this list adds have the name and start date of somebody known under another number, so they would count twice. Nothing was imported. Correct the numbers, or import it again with --yes if they are other people", t.Twins)
	}
	return fmt.Sprintf("by this list %d of %d people would leave at once, more than a quarter, as happens when a list is not complete. Nothing was imported. If they have left, import it again with --yes; look first with --dry-run", t.Leave, t.Of)
}

// tooMany returns why a diff needs a yes, or nil.
func tooMany(d *roster.Diff) error {
	switch {
	case len(d.Twins) > 0:
		return &TooMany{Twins: len(d.Twins), Diff: d}
	case d.TooManyLeave():
		return &TooMany{Leave: len(d.Left), Of: d.Active, Diff: d}
	}
	return nil
}

// NeedsYes reports whether what the file brings needs Options.Yes.
func (r *Report) NeedsYes() bool { return r.Heap != nil || r.Diff != nil && tooMany(r.Diff) != nil }

// errUndo makes a dry run's transaction change nothing.
var errUndo = errors.New("dry run")

// rowErrors parts what a reader found into errors to refuse the file for and
// errors of rows that may be left out. read is false where no rows came back at
// all, such as for a heading at fault.
func rowErrors(err error, read bool) (table.Errors, error) {
	if err == nil {
		return nil, nil
	}
	var errs table.Errors
	if !errors.As(err, &errs) {
		return nil, err
	}
	if !read || errs.Lines()[0] {
		return nil, &Refused{Errors: errs}
	}
	return errs, nil
}

// mender is a list that can write its bad rows.
type mender interface {
	Mend(w io.Writer, errs table.Errors) error
}

// settle refuses a file with bad rows, or notes them and makes the file to mend.
func (r *Report) settle(bad table.Errors, list mender, opt Options) error {
	if len(bad) == 0 {
		return nil
	}
	bad.Sort()
	if !opt.AcceptGood {
		return &Refused{Errors: bad, Mendable: list != nil}
	}
	var b bytes.Buffer
	if err := list.Mend(&b, bad); err != nil {
		return fmt.Errorf("write the rows to mend: %w", err)
	}
	r.Bad, r.Mend = bad, b.Bytes()
	return nil
}

// table says what is said of the list by hand and in the client's programme, if it is one of a
// client's; nothing in it is later than the latest day.
func (o *Options) table(client *programme.Client, latest programme.Date) table.Options {
	return table.Options{Headings: headings(client, o.Headings), Stated: o.Headings, Dates: o.Dates, Sheet: o.Sheet,
		Latest: latest}
}

// headings joins a programme's mapping with the one stated for this file.
func headings(client *programme.Client, stated map[string]string) map[string]string {
	all := map[string]string{}
	if client != nil {
		maps.Copy(all, client.Headings)
	}
	for theirs, ours := range stated {
		for known := range all {
			if match.Plain(known) == match.Plain(theirs) {
				delete(all, known)
			}
		}
		all[theirs] = ours
	}
	return all
}
