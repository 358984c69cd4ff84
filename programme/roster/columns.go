package roster

import (
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Columns of a roster, in the order of columns.
const (
	colStaff = iota
	colName
	colFirst
	colLast
	colRole
	colSite
	colStart
	colEnd
)

func columns() []table.Column {
	return []table.Column{
		colStaff: {Name: "staff_id", Also: []string{"staff", "staff no", "staff number", "employee id", "employee no", "employee number", "emp id", "emp no", "emp #", "employee", "badge", "badge number", "payroll number", "payroll id", "personnel number", "id", "no", "number", "worker id", "clock number", "file number"}},
		colName:  {Name: "name", Also: []string{"employee name", "full name", "staff name", "worker", "person", "wearer", "team member"}},
		colFirst: {Name: "first_name", Also: []string{"first", "given name", "forename", "christian name"}},
		colLast:  {Name: "last_name", Also: []string{"last", "surname", "family name"}},
		colRole:  {Name: "role", Required: true, Also: []string{"job", "job title", "title", "position", "occupation", "function", "post", "job role"}},
		colSite:  {Name: "site", Also: []string{"location", "branch", "store", "workplace", "work location", "depot"}},
		colStart: {Name: "start_date", Required: true, Date: true, Also: []string{"start", "started", "hire date", "hired", "date hired", "date of hire", "joined", "joining date", "date joined", "employed since", "start of employment", "hire"}},
		colEnd:   {Name: "end_date", Date: true, Also: []string{"end", "ended", "left", "leaving date", "leave date", "date left", "termination date", "term date", "terminated", "last day", "exit date", "separation date"}},
	}
}

// sizeWords are other headings of sizes; like all other words they are asked about.
var sizeWords = map[string][]string{
	"top":    {"shirt size", "shirt", "t-shirt", "t-shirt size", "tee size", "polo size", "top", "tops", "jacket size", "upper size", "size"},
	"bottom": {"trouser size", "trousers", "pants", "pant size", "pants size", "bottom", "bottoms", "waist", "waist/inseam", "lower size"},
	"head":   {"hat size", "hat", "cap size", "cap", "head", "head size"},
	"foot":   {"shoe size", "shoe", "boot size", "boots", "foot"},
	"hand":   {"glove size", "gloves", "glove"},
}

func (r *reader) tableOptions() table.Options {
	cols := columns()
	o := table.Options{Prefix: "size_", Dates: r.opt.Dates, Sheet: r.opt.Sheet, Latest: r.opt.Latest, Stated: r.opt.Stated, Headings: map[string]string{}}
	for theirs, ours := range r.opt.Headings {
		if role, ok := strings.CutPrefix(theirs, "role:"); ok {
			r.roleMap[match.Plain(role)] = ours
			continue
		}
		o.Headings[theirs] = ours
	}
	for _, family := range slices.Sorted(maps.Keys(r.opt.Sizes)) {
		o.Families = append(o.Families, family)
		cols = append(cols, table.Column{Name: "size_" + family, Also: sizeWords[family]})
	}
	if r.opt.Sizes == nil {
		o.Hints = sizeWords
	}
	o.Columns = cols
	return o
}

// nameColumns asks for a name in one column or in two.
func (r *reader) nameColumns(t *table.Table) *table.Error {
	if r.opt.Roles != nil {
		r.roles = match.ChoicesOf(r.opt.Roles, func(x *programme.Role) (string, string) { return x.Code, x.Name })
	}
	if t.Has(colName) || t.Has(colFirst) && t.Has(colLast) {
		return nil
	}
	return &table.Error{File: t.File, Line: t.HeadingLine(), Want: `no heading says name (or first_name and last_name); name the column, or map yours with --map "Your heading=name"`}
}
