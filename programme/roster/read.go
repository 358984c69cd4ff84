// Package roster reads a client's list of staff and compares it with the staff
// already known: who joined, who left, whose role, site or size changed.
package roster

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a list is to be read.
type Options struct {
	// Headings maps headings of the file to ours. An entry "role:Line Cook II"
	// maps a role as the file writes it to a role of the programme; an empty
	// right side leaves such people out, since they wear no uniform.
	Headings map[string]string
	Dates    table.DateOrder
	Sheet    string
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

// Read reads a file. Rows without an error come back even when others have one,
// so that the caller may take the good ones; the error is of type table.Errors.
func Read(file string, data []byte, opt Options) (*List, error) {
	r := &reader{opt: &opt, roleMap: map[string]string{}, seen: map[string]int{}}
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
	roles   *table.Choices
	seen    map[string]int // staff number or name with start -> line
	dates   [][2]int
}

func (r *reader) tableOptions() table.Options {
	cols := columns()
	o := table.Options{Prefix: "size_", Dates: r.opt.Dates, Sheet: r.opt.Sheet, Latest: r.opt.Latest, Headings: map[string]string{}}
	for theirs, ours := range r.opt.Headings {
		if role, ok := strings.CutPrefix(theirs, "role:"); ok {
			r.roleMap[table.Plain(role)] = ours
			continue
		}
		o.Headings[theirs] = ours
	}
	for _, family := range sortedKeys(r.opt.Sizes) {
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
		r.roles = table.NewChoices()
		for i := range r.opt.Roles {
			r.roles.Add(r.opt.Roles[i].Code, r.opt.Roles[i].Name)
		}
	}
	if t.Has(colName) || t.Has(colFirst) && t.Has(colLast) {
		return nil
	}
	return &table.Error{File: t.File, Line: t.HeadingLine(), Want: `no heading says name (or first_name and last_name); name the column, or map yours with --map "Your heading=name"`}
}

func (r *reader) read(t *table.Table) (*List, error) {
	if err := t.Read(r.row, r.wrong); err != nil {
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
		return nil, table.Errors{{File: t.File, Want: "there is no row below the heading"}}
	}
	return r.list, nil
}

// row reads one line; its dates wait until all are seen.
func (r *reader) row(row *table.Row) {
	p := programme.Person{
		StaffID: strings.Clone(row.Text(colStaff)),
		Name:    personName(row),
		Site:    strings.Clone(table.Words(row.Text(colSite))),
	}
	if p.Name == "" {
		col := colName
		if !row.Has(colName) {
			col = colLast
		}
		r.wrong(row.Wrong(col, "the name is missing"))
	}
	role, leftOut := r.role(row)
	if leftOut {
		r.list.LeftOut++
		return
	}
	p.Role = role
	if row.Text(colStart) == "" {
		r.wrong(row.Wrong(colStart, "the start date is missing; write it as year-month-day, such as 2026-03-09"))
	}
	p.Sizes = r.sizes(row)
	r.list.Rows = append(r.list.Rows, Row{Line: row.Line, Person: p})
	r.dates = append(r.dates, [2]int{row.Date(colStart), row.Date(colEnd)})
}

func (r *reader) wrong(e *table.Error) { r.errs = append(r.errs, e) }

// role finds the programme's role; leftOut says that such people wear no uniform.
func (r *reader) role(row *table.Row) (code string, leftOut bool) {
	raw := table.Words(row.Text(colRole))
	if mapped, ok := r.roleMap[table.Plain(raw)]; ok && raw != "" {
		if mapped == "" {
			return "", true
		}
		raw = mapped
	}
	if r.roles == nil {
		if raw == "" {
			r.wrong(row.Wrong(colRole, "the role is missing"))
		}
		return strings.Clone(raw), false
	}
	code, ok := r.roles.Find(raw)
	if !ok {
		want := r.roles.Want("role", raw)
		if raw != "" {
			want = r.roles.Want("role in the programme", raw)
			want = fmt.Sprintf("%s (a role under another name is mapped with --map %q)", want, "role:"+raw+"=ROLE")
		}
		r.wrong(row.Wrong(colRole, want))
	}
	return code, false
}

// sizes reads the size columns; an empty cell says nothing.
func (r *reader) sizes(row *table.Row) map[string]string {
	sizes := map[string]string{}
	add := func(family, raw string, wrong func(want string) *table.Error) {
		if raw == "" || raw == "-" || strings.EqualFold(raw, "n/a") {
			return
		}
		code, want := r.size(family, raw)
		if want != "" {
			r.wrong(wrong(want))
			return
		}
		sizes[family] = code
	}
	for _, f := range row.Families() {
		add(f.Name, row.Family(f), func(want string) *table.Error { return row.WrongFamily(f, want) })
	}
	for i, family := range sortedKeys(r.opt.Sizes) {
		col := colEnd + 1 + i
		add(family, row.Text(col), func(want string) *table.Error { return row.Wrong(col, want) })
	}
	return sizes
}

func (r *reader) size(family, raw string) (code, want string) {
	if chart := r.opt.Sizes[family]; chart != nil {
		return chart.Find(raw)
	}
	code, ok := size.Canonical(raw)
	if !ok {
		return "", "which is not a size that has one meaning; write it as the garment's label does, such as M, 2XL or 34/32"
	}
	return strings.Clone(code), ""
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

// suffixes follow a name behind a comma without being a given name.
var suffixes = map[string]bool{"jr": true, "sr": true, "ii": true, "iii": true, "iv": true, "md": true, "phd": true, "rn": true, "esq": true, "mba": true, "cpa": true, "dds": true, "bsc": true, "msc": true}

// personName joins a name from its columns or turns "Last, First" round.
func personName(row *table.Row) string {
	if name := table.Words(row.Text(colName)); name != "" {
		return strings.Clone(turnName(name))
	}
	return table.Words(row.Text(colFirst) + " " + row.Text(colLast))
}

// turnName turns "Last, First" and "Last, First, Jr." round; a comma before a
// title or suffix alone turns nothing.
func turnName(name string) string {
	parts := strings.Split(name, ",")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	if len(parts) == 1 {
		return name
	}
	if suffixes[table.Plain(parts[1])] || parts[1] == "" || parts[0] == "" {
		return table.Words(strings.Join(parts, " "))
	}
	turned := parts[1] + " " + parts[0]
	return table.Words(turned + " " + strings.Join(parts[2:], " "))
}

// nameKey is what makes two writings of a name the same.
func nameKey(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '.' || r == '-' || r == '\'' || r == '’' {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}
