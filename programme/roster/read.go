// Package roster reads a client's list of staff and compares it with the staff
// already known: who joined, who left, whose role, site or size changed.
package roster

import (
	"io"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a list is to be read.
type Options struct {
	// Options.Headings may have entries "role:Line Cook II", which map a role as the
	// file writes it to a role of the programme; an empty right side leaves such people
	// out, since they wear no uniform. Latest is the last day on which somebody can be
	// said to start or leave.
	table.Options
	// Roles are the programme's; nil takes any text.
	Roles []programme.Role
	// Sizes are the charts by size family; nil takes any family and any size
	// that can be understood.
	Sizes map[string]*size.Chart
}

// List is the result of reading a file.
type List = table.List[Row]

// Row is one person and the line that names them. A person without a staff
// number has an empty StaffID; empty cells leave fields empty.
type Row struct {
	Line   int
	Person programme.Person
}

// Read reads a file. Rows without an error come back even when others have one,
// so that the caller may take the good ones; the error is of type table.Errors.
func Read(file string, data []byte, opt Options) (*List, error) {
	r := newReader(opt)
	list, err := table.OpenList(file, data, r.opt.Options, r.form())
	if err != nil {
		return nil, err
	}
	r.own = map[string]bool{}
	for i, family := range slices.Sorted(maps.Keys(r.opt.Sizes)) {
		r.own[family] = list.Has(colPrint + 1 + i)
	}
	if !list.Has(colName) && (!list.Has(colFirst) || !list.Has(colLast)) {
		return nil, table.Errors{{File: file, Line: list.HeadingLine(),
			Want: `no heading says name (or first_name and last_name); name the column, or map yours with --map "Your heading=name"`}}
	}
	return list.Read()
}

// Write writes people as a roster that Read reads as the same people: one
// column for each size family that anybody has.
func Write(w io.Writer, people []programme.Person) error {
	families := map[string]*size.Chart{}
	rows := make([]Row, len(people))
	for i := range people {
		rows[i].Person = people[i]
		for f := range people[i].Sizes {
			families[f] = nil
		}
	}
	return newReader(Options{Sizes: families}).form().Write(w, rows)
}

type reader struct {
	opt   Options
	roles *match.Choices
	seen  map[string]named // by staff number, or name with start
	cuts  cutFamilies
	cutAt int             // the column that says which cut somebody wears, where there are cuts
	own   map[string]bool // families with a column of their own in the file
}

// named is the line that names somebody, and a digest of what it says.
type named struct {
	line int
	says uint64
}

func newReader(opt Options) *reader {
	r := &reader{opt: opt, seen: map[string]named{}}
	r.cuts = cutFamiliesOf(opt.Sizes)
	if opt.Roles != nil {
		r.roles = match.ChoicesOf(opt.Roles, func(x *programme.Role) (string, string) { return x.Code, x.Name })
	}
	return r
}
