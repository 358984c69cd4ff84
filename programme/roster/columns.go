package roster

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Columns of a roster, in the order of the form; those of sizes follow.
const (
	colStaff = iota
	colName
	colFirst
	colLast
	colRole
	colSite
	colStart
	colEnd
	colPrint
)

func (r *reader) form() *table.Form[Row] {
	f := &table.Form[Row]{
		Columns: []table.Column[Row]{
			colStaff: {Name: "staff_id", Also: []string{"staff", "staff no", "staff number", "employee id",
				"employee no", "employee number", "emp id", "emp no", "emp #", "employee", "badge", "badge number",
				"payroll number", "payroll no", "payroll id", "personnel number", "personnel no", "pers no",
				"pers number", "works number", "clock no", "emp number", "ref", "id", "no", "number", "worker id",
				"clock number", "file number"},
				Read: readStaff, Write: func(x *Row) string { return x.Person.StaffID }},
			colName: {Name: "name", Also: []string{"employee name", "full name", "staff name", "worker", "person",
				"wearer", "team member", "names", "surname first name", "last name first name", "surname forename",
				"name surname first name", "name last first", "first name surname", "first name last name",
				"first and last name"},
				Read: readName, Write: func(x *Row) string { return x.Person.Name }},
			colFirst: {Name: "first_name", Also: []string{"first", "given name", "forename", "christian name"}},
			colLast:  {Name: "last_name", Also: []string{"last", "surname", "family name"}},
			colRole: {Name: "role", Required: len(r.opt.Roles) != 1,
				Also: []string{"job", "job title", "title", "position", "occupation", "function", "post", "job role",
					"department", "dept", "section", "team"}, Words: table.OrLeftOut,
				Read: r.role, Write: func(x *Row) string { return x.Person.Role }},
			colSite: {Name: "site", Also: []string{"location", "branch", "store", "workplace",
				"work location", "depot"}, Words: table.OrEmpty,
				Read:  func(c table.Cell, x *Row) { x.Person.Site = clean.Line(c.Word()) },
				Write: func(x *Row) string { return x.Person.Site }},
			colStart: {Name: "start_date", Required: true, Also: []string{"start", "started", "hire date", "hired",
				"date hired", "date of hire", "joined", "joining date", "date joined", "employed since",
				"start of employment", "hire"},
				Missing: "the start date is missing; write it as year-month-day, such as 2026-03-09",
				Date:    func(x *Row) *programme.Date { return &x.Person.Start }},
			colEnd: {Name: "end_date", Also: []string{"end", "ended", "left", "leaving date", "leave date", "date left",
				"termination date", "term date", "terminated", "last day", "exit date", "separation date"},
				Date: func(x *Row) *programme.Date { return &x.Person.End }, Read: afterStart},
			colPrint: {Name: "print_name", Sparse: true, Also: []string{"name on garment", "name to print", "print",
				"printed name", "badge name", "name badge", "embroidery", "preferred name", "known as"},
				Read: readPrintName, Write: func(x *Row) string { return x.Person.PrintName }},
		},
		Begins: []int{colStaff, colName, colFirst, colLast},
		Title:  r.isRole,
		Row:    r.twice,
		Empty:  "there is no row below the heading; write one for each person",
	}
	for _, family := range slices.Sorted(maps.Keys(r.opt.Sizes)) {
		f.Columns = append(f.Columns, table.Column[Row]{Name: "size_" + family,
			Also: slices.Concat(sizeWords[family], cutWords(family)), Words: table.OrEmpty,
			Read:  func(c table.Cell, x *Row) { r.size(c, family, x) },
			Write: func(x *Row) string { return x.Person.Sizes[family] }})
	}
	if r.cutAt = len(f.Columns); len(r.cuts) > 0 {
		f.Columns = append(f.Columns, table.Column[Row]{Name: "cut",
			Also: []string{"fit", "gender", "sex", "m/f", "ladies/mens", "mens/ladies"}, Words: table.OrEmpty, Read: readCut})
	}
	if r.opt.Sizes == nil {
		f.Open = table.Open[Row]{Prefix: "size_", Hints: sizeWords, Read: r.size}
	}
	return f
}

// sizeWords are other headings of sizes; like all other words they are asked about.
var sizeWords = map[string][]string{
	"top": {"shirt size", "shirt", "t-shirt", "t-shirt size", "tee size", "polo size", "polo", "polo shirt size",
		"jacket", "top", "tops", "jacket size", "upper size", "size"},
	"bottom": {"trouser size", "trouser", "trousers size", "trousers", "waist size", "pants", "pant size", "pants size",
		"bottom", "bottoms", "waist", "waist/inseam", "lower size"},
	"head": {"hat size", "hat", "cap size", "cap", "head", "head size"},
	"foot": {"shoe size", "shoe", "boot size", "boots", "foot"},
	"hand": {"glove size", "gloves", "glove"},
}

// isRole reports whether a text is a role of the programme.
func (r *reader) isRole(s string) bool {
	if r.roles == nil {
		return false
	}
	_, ok := r.roles.Find(s)
	return ok
}

func readStaff(c table.Cell, x *Row) {
	x.Line, x.Person.StaffID, x.Person.Sizes = c.Line, strings.Clone(c.Text()), map[string]string{}
}

// readName reads the name from one column or from two.
func readName(c table.Cell, x *Row) {
	x.Person.Name = personName(c.Row)
	if x.Person.Name == "" {
		nameCell(c.Row).Wrong("the name is missing")
	}
}

// readPrintName reads the name for garments; a dash is none.
func readPrintName(c table.Cell, x *Row) {
	x.Person.PrintName = clean.Line(c.Text())
	if n := utf8.RuneCountInString(x.Person.PrintName); n > mostLetters {
		c.Wrong(fmt.Sprintf("but no print takes %d letters; write the name as it is to stand on the garments", n))
	}
}

// mostLetters is far above any name that is legible on a garment.
const mostLetters = 60

func nameCell(row *table.Row) table.Cell {
	if row.Has(colName) {
		return row.Cell(colName)
	}
	return row.Cell(colLast)
}

func (r *reader) role(c table.Cell, x *Row) {
	raw := clean.Line(c.Word())
	x.Person.Role = raw
	switch {
	case raw == "" && len(r.opt.Roles) == 1: // nobody writes down what is the same for all
		x.Person.Role = r.opt.Roles[0].Code
	case raw == "" && r.roles != nil:
		c.Wrong(r.roles.Want("role", raw))
	case r.roles != nil:
		x.Person.Role = c.Choose(r.roles, "role in the programme")
	case raw == "":
		c.Wrong("the role is missing")
	}
}

func afterStart(c table.Cell, x *Row) {
	if p := &x.Person; !p.End.IsZero() && !p.Start.IsZero() && p.End < p.Start {
		c.Wrong("but that is before the start date " + p.Start.String())
	}
}

// size reads a cell of a size family; an empty one says nothing.
func (r *reader) size(c table.Cell, family string, x *Row) {
	raw := c.Text()
	if raw == "" || raw == "-" || strings.EqualFold(raw, "n/a") {
		return
	}
	if r.sizeOfCut(c, raw, family, x) {
		return
	}
	if chart := r.opt.Sizes[family]; chart != nil {
		code, want := chart.Find(raw)
		if cut, rest := size.PartCut(raw); want != "" && cut != "" {
			code, want = r.withoutCuts(family, cut, rest, want)
		}
		if want != "" {
			c.Unknown(want, "")
		}
		x.Person.Sizes[family] = code
		return
	}
	code, ok := size.Canonical(raw)
	if !ok {
		c.Wrong("which is not a size that has one meaning; write it as the garment's label does, such as M, 2XL or 34/32")
	}
	x.Person.Sizes[family] = strings.Clone(code)
}

// twice refuses a person that is named twice, and passes over a line that says the same
// as an earlier one.
func (r *reader) twice(row *table.Row, x *Row) {
	p := &x.Person
	key, cell, want := "number "+p.StaffID, row.Cell(colStaff),
		"but line %d has the same number; each person stands in the list once"
	if p.StaffID == "" {
		key, cell = "name "+nameKey(p.Name)+p.Start.String(), nameCell(row)
		want = "but line %d has the same name and start date; give them staff numbers to tell them apart, or remove one"
	}
	first, twice := r.seen[key]
	switch says := row.Digest(); {
	case !twice:
		r.seen[key] = named{row.Line, says}
	case says == first.says:
		row.Repeats(first.line)
	default:
		cell.Wrong(fmt.Sprintf(want, first.line))
	}
}
