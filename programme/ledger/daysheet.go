package ledger

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// DayColumn is a column of a day sheet: what happened to so many pieces.
type DayColumn struct {
	// Code makes an entry of the column known again.
	Code, Heading string
	Kind          programme.MovementKind
	// Reason of an ending. Pieces handed back have NoReason: theirs is that of a
	// leaver or of another size, as the roster says.
	Reason programme.Reason
	// Back says that the pieces came back fit to be worn on.
	Back bool
}

// DayColumns are the columns to write numbers in, in the order of the sheet. Of one
// row, endings come before what was handed out in their place.
var DayColumns = []DayColumn{
	{"worn", "Worn out", programme.Ended, programme.Worn, false},
	{"print", "Print gone", programme.Ended, programme.Print, false},
	{"torn", "Torn", programme.Ended, programme.Damaged, false},
	{"lost", "Lost", programme.Ended, programme.Lost, false},
	{"back", "Back", programme.Ended, programme.NoReason, true},
	{"out", "Handed out", programme.Issued, programme.NoReason, false},
}

// DayAlso are other headings that usually mean a column of a day sheet, by its code.
var dayAlso = map[string][]string{
	"worn": {"worn", "worn through"}, "print": {"print", "print off", "print cracked"},
	"torn": {"damaged", "torn or stained"},
	"lost": {"missing"}, "back": {"handed back", "returned", "came back"}, "out": {"issued", "given out", "new"},
}

// DayRow is a person and garment of a day sheet, with a number in one column or more.
type DayRow struct {
	Line int
	// StaffID of somebody on the roster; empty = Name starts as Role at Site, which
	// may be empty, and is to be put on the roster.
	StaffID          string
	Name, Role, Site string
	// Another says that somebody new only has the name of somebody known.
	Another bool
	SKU     programme.SKU
	// Pieces are those of DayColumns; 0 = nothing happened.
	Pieces []int
}

// DaySheet is a day sheet that came back.
type DaySheet struct {
	*table.List[DayRow]
	// Week is the first day of the week that the sheet is of; Dated is false where
	// none stands on it and the week of Options.Latest is taken. Day is the day of its
	// entries: the last of the week that has come.
	Week, Day programme.Date
	Dated     bool
}

// WeekFrom stands before the first day of a day sheet's week.
const WeekFrom = "Week from"

// dayFirst is the first of DayColumns among the columns of the sheet.
const dayFirst = formPieces

// mostInAWeek is more pieces of one garment than anybody gets or ruins in a week.
const mostInAWeek = 50

// newWord in the column of numbers says that somebody is new, whoever has a like name.
const newWord = "new"

// dayReader reads a day sheet as the count form is read: it finds people, garments,
// colours and sizes alike.
type dayReader struct {
	*formReader
	role, site int // columns
}

// ReadDaySheet reads a day sheet. People are found as on a count form. A name that
// nobody has, with a role, is somebody who starts. An empty cell says that nothing
// happened: List.Skipped counts rows without a number. The error is of type table.Errors;
// with a sheet it is about single rows, which the sheet then lacks.
func ReadDaySheet(file string, data []byte, client *programme.Client, opt Options) (*DaySheet, error) {
	r := &dayReader{formReader: newFormReader(client, &opt)}
	list, err := table.OpenList(file, data, opt.Options, r.form())
	if err != nil {
		return nil, err
	}
	if !hasDayColumn(list) {
		return nil, table.Errors{{File: file, Want: "none of the columns of a day sheet is there: " + dayHeadings()}}
	}
	sheet := &DaySheet{}
	lines, excel := list.Above()
	if sheet.Week, sheet.Dated, err = dayAbove(file, WeekFrom, lines, excel, opt.Latest); err != nil {
		return nil, err
	}
	sheet.Week = Monday(sheet.Week)
	sheet.Day = min(sheet.Week.Add(6), opt.Latest)
	r.day = sheet.Day
	if sheet.List, err = list.Read(); sheet.List == nil {
		return nil, err
	}
	if err == nil && len(sheet.Rows) == 0 {
		return nil, table.Errors{{File: file,
			Want: "no row of this day sheet has a number; write what happened into the columns " + dayHeadings()}}
	}
	return sheet, err
}

func hasDayColumn(list *table.List[DayRow]) bool {
	for i := range DayColumns {
		if list.Has(dayFirst + i) {
			return true
		}
	}
	return false
}

// Monday returns the first day of the week of a day.
func Monday(d programme.Date) programme.Date {
	return d.Add(-((int(d.Time().Weekday()) + 6) % 7))
}

func dayHeadings() string {
	return programme.Listing(DayColumns, func(c DayColumn) string { return c.Heading })
}

func (r *dayReader) form() *table.Form[DayRow] {
	type row = DayRow
	columns := formColumns[row]()
	columns[formNumber].Read = r.who
	columns[formGarment].Read = func(c table.Cell, d *row) { d.SKU = r.garment(c) }
	for i, c := range DayColumns {
		columns = append(columns, table.Column[row]{Name: strings.ToLower(c.Heading), Also: dayAlso[c.Code],
			Read: func(cell table.Cell, d *row) { r.number(cell, d, i) }})
	}
	r.role, r.site = len(columns), len(columns)+1
	columns = append(columns, table.Column[row]{Name: "role"}, table.Column[row]{Name: "site"},
		table.Column[row]{Name: "on record"})
	return &table.Form[row]{
		Columns: columns,
		Skip: func(row *table.Row) bool {
			for i := range DayColumns {
				if n := match.Plain(row.Text(dayFirst + i)); n != "" && n != "0" {
					return false
				}
			}
			return true
		},
		Row:   r.once,
		Empty: "there is no row below the heading",
	}
}

// who finds the person of a row, or takes the name for somebody who starts.
func (r *dayReader) who(c table.Cell, d *DayRow) {
	d.Line, d.Pieces = c.Line, make([]int, len(DayColumns))
	number, name, role := c.Text(), strings.Join(strings.Fields(c.Row.Text(formName)), " "), c.Row.Text(r.role)
	isNew := match.Plain(number) == newWord
	if !isNew {
		person, wrong := r.find(c)
		if wrong == nil {
			d.StaffID = person.StaffID
			return
		}
		if number != "" || !wrong.nobody || wrong.near || role == "" {
			wrong.say()
			return
		}
	}
	switch code, ok := r.roles().Find(role); {
	case name == "":
		c.Cell(formName).Wrong("the name of somebody new is missing")
	case !ok:
		c.Cell(r.role).Wrong(r.about(c.Row) + r.roles().Want("role in the programme", role))
	default:
		d.Another = isNew
		d.Name, d.Role, d.Site = strings.Clone(name), code, strings.Clone(c.Row.Text(r.site))
		r.person = &programme.Person{Name: d.Name, Role: code}
	}
}

func (r *dayReader) roles() *match.Choices {
	return match.ChoicesOf(r.client.Roles, func(x *programme.Role) (string, string) { return x.Code, x.Name })
}

// number reads one of the columns to write in.
func (r *dayReader) number(c table.Cell, d *DayRow, i int) {
	if c.Text() == "" || noneWords[match.Plain(c.Text())] {
		return
	}
	n, ok := pieces(c.Text())
	switch {
	case !ok || n < 0:
		c.Wrong(r.about(c.Row) + "which is not a number of pieces; write a number, or nothing where nothing happened")
	case n > mostInAWeek:
		c.Wrong(r.about(c.Row) + fmt.Sprintf("which is more than %d pieces in one week; check the number", mostInAWeek))
	default:
		d.Pieces[i] = n
	}
}

// once refuses a second row about the same pieces, and somebody new who brings something back.
func (r *dayReader) once(row *table.Row, d *DayRow) {
	if row.Bad() {
		return
	}
	if d.StaffID == "" {
		for i, c := range DayColumns {
			if c.Kind != programme.Issued && d.Pieces[i] > 0 {
				row.Cell(dayFirst + i).Wrong(r.about(row) +
					"but nobody of this name is on the roster, so nothing of theirs can have ended; correct the name, or write their number into the last column")
				return
			}
		}
	}
	r.first(row, holding{d.StaffID + "\x00" + match.Plain(d.Name), d.SKU})
}
