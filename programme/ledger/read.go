// Package ledger reads what happened to pieces: issued, ended, counted. It also
// turns a shop's past orders into a ledger that is marked as assumed.
package ledger

import (
	"io"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a ledger is to be read.
type Options struct {
	Headings  map[string]string
	Stated    map[string]string // see table.Options
	Dates     table.DateOrder
	Sheet     string
	Catalogue *Catalogue
	// Staff are the client's people, leavers included; nil takes any number.
	Staff []programme.Person
	// Latest is the last day on which something can have happened; no date = any.
	Latest programme.Date
}

// List is what a file says.
type List struct {
	Table     *table.Table
	Movements []programme.Movement
	// Lines are the lines of the movements.
	Lines []int32
	// Uncounted are rows of a count form that nobody filled in.
	Uncounted int
}

// Read reads a ledger. Rows without an error come back even when others have
// one; the error is of type table.Errors. washes is an optional column: how
// many washes the pieces had behind them when issued.
func Read(file string, data []byte, opt Options) (*List, error) {
	t, err := table.Open(file, data, table.Options{Columns: columns(), Headings: opt.Headings, Stated: opt.Stated, Dates: opt.Dates, Sheet: opt.Sheet, Latest: opt.Latest})
	if err != nil {
		return nil, err
	}
	r := newReader(t, &opt)
	r.list.Movements = make([]programme.Movement, 0, t.AtMost())
	r.list.Lines = make([]int32, 0, t.AtMost())
	if err := t.Read(r.row, r.wrong); err != nil {
		return nil, err
	}
	r.settle()
	if len(r.errs) > 0 {
		r.errs.Sort()
		r.list.drop(r.errs.Lines())
		return r.list, r.errs
	}
	switch {
	case len(r.list.Movements) == 0 && r.list.Uncounted > 0:
		return nil, table.Errors{{File: file, Want: "no row of this count form is filled in; write the numbers into the column pieces"}}
	case len(r.list.Movements) == 0:
		return nil, table.Errors{{File: file, Want: "there is no row below the heading; write one for each movement of pieces"}}
	}
	return r.list, nil
}

// reader turns rows into movements. Texts that come again and again are kept
// once, so that a million rows do not hold on to a million lines.
type reader struct {
	t     *table.Table
	opt   *Options
	list  *List
	errs  table.Errors
	words map[string]string
	staff *match.Choices
	known map[string]bool
	refs  map[string]int32
}

func newReader(t *table.Table, opt *Options) *reader {
	r := &reader{t: t, opt: opt, list: &List{Table: t}, words: map[string]string{}}
	if opt.Staff != nil {
		r.known = make(map[string]bool, len(opt.Staff))
		r.staff = match.ChoicesOf(opt.Staff, func(p *programme.Person) (string, string) { return p.StaffID, p.Name })
		for i := range opt.Staff {
			r.known[opt.Staff[i].StaffID] = true
		}
	}
	return r
}

func (r *reader) wrong(e *table.Error) { r.errs = append(r.errs, e) }

func (r *reader) word(s string) string {
	if w, ok := r.words[s]; ok {
		return w
	}
	s = strings.Clone(s)
	r.words[s] = s
	return s
}

// settle puts in the dates, now that their order is known.
func (r *reader) settle() {
	for i := range r.list.Movements {
		m := &r.list.Movements[i]
		id := int(m.Date)
		date, want := r.t.Dates.Date(id)
		if want != "" {
			r.wrong(r.t.Wrong(int(r.list.Lines[i]), colDate, r.t.Dates.Text(id), want))
		}
		m.Date = date
	}
}

// drop takes out the rows of lines that have an error.
func (l *List) drop(bad map[int]bool) {
	kept := 0
	for i := range l.Movements {
		if !bad[int(l.Lines[i])] {
			l.Movements[kept], l.Lines[kept] = l.Movements[i], l.Lines[i]
			kept++
		}
	}
	l.Movements, l.Lines = l.Movements[:kept], l.Lines[:kept]
}

// Mend writes the rows with errors to a file that can be corrected and imported again.
func (l *List) Mend(w io.Writer, errs table.Errors) error { return l.Table.Mend(w, errs) }
