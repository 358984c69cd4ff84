// Package roster reads a client's list of staff and compares it with the staff
// already known: who joined, who left, whose role, site or size changed.
package roster

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a list is to be read.
type Options struct {
	// Headings maps headings of the file to ours. An entry "role:Line Cook II"
	// maps a role as the file writes it to a role of the programme; an empty
	// right side leaves such people out, since they wear no uniform.
	Headings map[string]string
	// Stated are those of Headings that were stated for this very file: one that
	// nothing in it matches is refused.
	Stated map[string]string
	Dates  table.DateOrder
	Sheet  string
	// Roles are the programme's; nil takes any text.
	Roles []programme.Role
	// Sizes are the charts by size family; nil takes any family and any size
	// that can be understood.
	Sizes map[string]*size.Chart
	// Latest is the last day on which somebody can be said to start or leave; no date = any.
	Latest programme.Date
}

// List is what a file says.
type List struct {
	Table *table.Table
	Rows  []Row
	// LeftOut counts people of roles that are mapped to nothing.
	LeftOut int
	// HasSite and HasEnd report whether the file speaks of sites and of leaving at all.
	HasSite, HasEnd bool
}

// Row is one person and the line that names them. A person without a staff
// number has an empty StaffID; empty cells leave fields empty.
type Row struct {
	Line   int
	Person programme.Person
}

// Read reads a file. Rows without an error come back even when others have one,
// so that the caller may take the good ones; the error is of type table.Errors.
func Read(file string, data []byte, opt Options) (*List, error) {
	r := &reader{opt: &opt, roleMap: map[string]string{}, mapped: map[string]bool{}, seen: map[string]int{}}
	t, err := table.Open(file, data, r.tableOptions())
	if err != nil {
		return nil, err
	}
	r.list = &List{Table: t, HasSite: t.Has(colSite), HasEnd: t.Has(colEnd)}
	if err := r.nameColumns(t); err != nil {
		return nil, table.Errors{err}
	}
	return r.read(t)
}

type reader struct {
	opt     *Options
	list    *List
	errs    table.Errors
	roleMap map[string]string // plain role of the file -> role code, "" = left out
	mapped  map[string]bool   // those that a row had
	roles   *match.Choices
	seen    map[string]int // staff number or name with start -> line
	dates   [][2]int
}

func (r *reader) read(t *table.Table) (*List, error) {
	if err := t.Read(r.row, r.wrong); err != nil {
		return nil, err
	}
	if err := r.unmapped(t); err != nil {
		return nil, err
	}
	r.settleDates(t)
	r.findDoubles(t)
	if len(r.errs) > 0 {
		r.errs.Sort()
		r.dropBad()
		return r.list, r.errs
	}
	if len(r.list.Rows) == 0 && r.list.LeftOut == 0 {
		return nil, table.Errors{{File: t.File, Want: "there is no row below the heading; write one for each person"}}
	}
	return r.list, nil
}

func (r *reader) wrong(e *table.Error) { r.errs = append(r.errs, e) }

// unmapped refuses a role that was mapped for this file and that no row has.
func (r *reader) unmapped(t *table.Table) error {
	for _, theirs := range slices.Sorted(maps.Keys(r.opt.Stated)) {
		if role, ok := strings.CutPrefix(theirs, "role:"); ok && !r.mapped[match.Plain(role)] {
			return table.Errors{{File: t.File, Want: fmt.Sprintf("--map %q matches nothing: no row has the role %q", theirs+"="+r.opt.Stated[theirs], role)}}
		}
	}
	return nil
}

// settleDates puts the dates in, now that their order is known.
func (r *reader) settleDates(t *table.Table) {
	for i := range r.list.Rows {
		row := &r.list.Rows[i]
		start, wantStart := t.Dates.Date(r.dates[i][0])
		end, wantEnd := t.Dates.Date(r.dates[i][1])
		row.Person.Start, row.Person.End = start, end
		if wantStart != "" {
			r.wrong(t.Wrong(row.Line, colStart, t.Dates.Text(r.dates[i][0]), wantStart))
		}
		if wantEnd != "" {
			r.wrong(t.Wrong(row.Line, colEnd, t.Dates.Text(r.dates[i][1]), wantEnd))
		}
		if !end.IsZero() && !start.IsZero() && end < start {
			r.wrong(t.Wrong(row.Line, colEnd, t.Dates.Text(r.dates[i][1]), "but that is before the start date "+start.String()))
		}
	}
}

// findDoubles refuses a person that is named twice.
func (r *reader) findDoubles(t *table.Table) {
	for i := range r.list.Rows {
		row := &r.list.Rows[i]
		p := &row.Person
		key, col, value := "number "+p.StaffID, colStaff, p.StaffID
		want := "but line %d has the same number; each person stands in the list once"
		if p.StaffID == "" {
			key, col, value = "name "+nameKey(p.Name)+p.Start.String(), colName, p.Name
			want = "but line %d has the same name and start date; give them staff numbers to tell them apart, or remove one"
		}
		if first, twice := r.seen[key]; twice {
			r.wrong(t.Wrong(row.Line, col, value, fmt.Sprintf(want, first)))
			continue
		}
		r.seen[key] = row.Line
	}
}

// dropBad takes the rows with an error out of the list.
func (r *reader) dropBad() {
	bad := r.errs.Lines()
	r.list.Rows = slices.DeleteFunc(r.list.Rows, func(row Row) bool { return bad[row.Line] })
}

// Mend writes the rows with errors to a file that can be corrected and imported again.
func (l *List) Mend(w io.Writer, errs table.Errors) error { return l.Table.Mend(w, errs) }
