package ledger

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Columns of a count form, in the order of the form. What stands for a garment is
// read with the number, when the person is known.
const (
	formNumber = iota
	formName
	formGarment
	formColour
	formSize
	formPieces
)

// Counted is a count form that came back.
type Counted struct {
	*List
	// Day is the one day of the whole form; Dated is false where none stood there
	// and Options.Latest is taken.
	Day   programme.Date
	Dated bool
}

// ReadForm reads a count form as it comes back from whoever filled it in; ok is
// false when the file is none. People are found by number or name, what is left
// open of a garment is taken from the kit and sizes of the person, and an empty
// number is not a count: List.Skipped has how many there are. Options.Staff and
// Options.Catalogue must be there; errors name the person. Its dates need no
// order: there is one day, read so that it is not after Options.Latest.
func ReadForm(file string, data []byte, client *programme.Client, opt Options) (form *Counted, ok bool, err error) {
	r := newFormReader(client, &opt)
	list, err := table.OpenList(file, data, opt.Options, r.form())
	if err != nil {
		return nil, false, nil //nolint:nilerr // what is no count form may be a ledger, whose reader says what is wrong
	}
	form = &Counted{}
	lines, excel := list.Above()
	if form.Day, form.Dated, err = dayAbove(file, CountedOn, lines, excel, opt.Latest); err != nil {
		return nil, true, err
	}
	r.day = form.Day
	if form.List, err = list.Read(); form.List == nil {
		return nil, true, err
	}
	if err == nil && len(form.Rows) == 0 {
		return nil, true, table.Errors{{File: file,
			Want: "no row of this count form is filled in; write the numbers into the column Presentable"}}
	}
	return form, true, err
}

// CountedOn stands before the day of a form, and AnyDay behind the empty cell for it.
const (
	CountedOn = "Counted on"
	AnyDay    = "the day on which you look (write it in any way)"
)

// dayAbove finds the day above the heading: in a cell behind the label, such as
// "Counted on", or in the same one.
func dayAbove(file, label string, lines [][]string, excel bool, latest programme.Date) (programme.Date, bool, error) {
	for _, cells := range lines {
		for i, c := range cells {
			if !strings.HasPrefix(match.Plain(c), match.Plain(label)) {
				continue
			}
			raw := ""
			behind := slices.DeleteFunc(cells[i+1:], func(s string) bool { return s == AnyDay })
			if len(behind) > 0 {
				raw = behind[0]
			} else if len(c) > len(label) {
				raw = strings.Trim(c[len(label):], " :")
			}
			if raw == "" {
				return latest, false, nil
			}
			day, ok := table.ReadDay(raw, excel, latest)
			if !ok {
				return 0, false, table.Errors{{File: file, Column: c, Value: raw,
					Want: fmt.Sprintf("which is not a day up to %s; write it as year-month-day, such as 2026-03-09",
						latest)}}
			}
			return day, true, nil
		}
	}
	return latest, false, nil
}

type formReader struct {
	*reader
	opt    *Options
	client *programme.Client
	day    programme.Date
	rows   map[holding]int   // lines
	person *programme.Person // of the row being read; nil = not found
}

func newFormReader(client *programme.Client, opt *Options) *formReader {
	return &formReader{reader: newReader(*opt), opt: opt, client: client, rows: map[holding]int{}}
}

// formColumns are the columns by which people and garments are found on every form
// that somebody fills in, up to formPieces.
func formColumns[R any]() []table.Column[R] {
	return []table.Column[R]{
		formNumber:  {Name: "no", Also: []string{"number", "staff no", "staff_id"}},
		formName:    {Name: "name", Required: true, Also: []string{"person", "who", "wearer", "employee"}},
		formGarment: {Name: "garment", Required: true, Also: []string{"item", "product", "article"}},
		formColour:  {Name: "colour", Also: []string{"color", "shade"}},
		formSize:    {Name: "size", Also: []string{"sizes"}},
	}
}

func (r *formReader) form() *table.Form[programme.Movement] {
	type row = programme.Movement
	columns := formColumns[row]()
	columns[formNumber].Read = r.who
	columns[formGarment].Read = func(c table.Cell, m *row) { m.SKU = r.garment(c) }
	columns = append(columns,
		table.Column[row]{Name: "presentable", Required: true, Also: []string{"presentable now", "still presentable",
			"presentable pieces"}, Read: r.pieces},
		// to read by
		table.Column[row]{Name: "role"}, table.Column[row]{Name: "site"}, table.Column[row]{Name: "on record"})
	return &table.Form[row]{
		Columns: columns,
		Skip:    func(row *table.Row) bool { return row.Text(formPieces) == "" },
		Row:     r.once,
		Empty:   "there is no row below the heading",
	}
}

// noneWords are ways to write that nothing is left; a dash is plain nothing.
var noneWords = map[string]bool{"none": true, "no": true, "nil": true, "nothing": true, "zero": true,
	"null": true, "": true}

func (r *formReader) pieces(c table.Cell, m *programme.Movement) {
	if noneWords[match.Plain(c.Text())] {
		return
	}
	n, ok := pieces(c.Text())
	if !ok || n < 0 || n > maxPieces {
		c.Wrong(r.about(c.Row) + "which is not a number of pieces that somebody may hold; write a number, none, or nothing where nobody looked")
	}
	m.Pieces = n
}

// about names the person and garment of a row, for whoever has to mend it.
func (r *formReader) about(row *table.Row) string {
	who := row.Text(formName)
	if who == "" {
		who = row.Text(formNumber)
	}
	if who == "" {
		return ""
	}
	return fmt.Sprintf("for %s, %s, ", who, row.Text(formGarment))
}

// who finds the person of a row.
func (r *formReader) who(c table.Cell, m *programme.Movement) {
	m.Date, m.Kind = r.day, programme.Counted
	person, wrong := r.find(c)
	if wrong != nil {
		wrong.say()
		return
	}
	m.StaffID = person.StaffID
}

// notFound says why nobody was found for a row.
type notFound struct {
	cell   table.Cell
	want   string
	nobody bool // a name that nobody has
	near   bool // but one like it
}

func (n *notFound) say() { n.cell.Wrong(n.want) }

// find finds the person of a row: by number, or by name where it is the only one.
func (r *formReader) find(c table.Cell) (*programme.Person, *notFound) {
	number, name := c.Text(), c.Cell(formName)
	r.person = nil
	var named []*programme.Person
	for i := range r.opt.Staff {
		p := &r.opt.Staff[i]
		if number != "" && p.StaffID == number {
			r.person = p
			return p, nil
		}
		if name.Text() != "" && match.Plain(p.Name) == match.Plain(name.Text()) && p.ActiveOn(r.day) {
			named = append(named, p)
		}
	}
	switch {
	case len(named) == 1:
		r.person = named[0]
		return named[0], nil
	case len(named) > 1:
		return nil, &notFound{cell: name, want: fmt.Sprintf("but %d people have this name; write the number of the one meant into the last column", len(named))}
	case name.Text() == "" && number == "":
		return nil, &notFound{cell: name, want: "the name is missing"}
	case name.Text() == "":
		want, _ := r.unknown(number)
		return nil, &notFound{cell: c, want: want}
	}
	want, near := r.unknown(name.Text())
	return nil, &notFound{name, want, true, near}
}

func (r *formReader) unknown(value string) (want string, near bool) {
	if code, ok := r.staff.Find(value); ok {
		return "but the roster writes this " + code, true
	}
	names := make([]string, 0, len(r.opt.Staff))
	for i := range r.opt.Staff {
		names = append(names, r.opt.Staff[i].Name)
	}
	if like, ok := match.Near(value, names); ok {
		return fmt.Sprintf("but nobody on the roster is called so; if %s is meant, correct it", like), true
	}
	return "but nobody on the roster is called so; correct the name, or add them to the roster first", false
}

// garment finds what was counted; colour and size that are left out are those of
// the person's kit and sizes.
func (r *formReader) garment(c table.Cell) programme.SKU {
	if r.person == nil {
		return programme.SKU{} // said already
	}
	name, colour, size := c.Text(), c.Row.Text(formColour), c.Row.Text(formSize)
	if code, ok := r.catalogue.garment(name); ok {
		if colour == "" {
			colour = r.kitColour(code)
		}
		if size == "" {
			size = r.person.Sizes[r.catalogue.Family(code)]
		}
	}
	sku, bad := r.catalogue.Find(name, colour, size)
	if bad != nil {
		c.Row.Cell([]int{formGarment, formColour, formSize}[bad.Part]).Wrong(r.about(c.Row) + bad.Want)
	}
	return sku
}

// kitColour returns the colour in which the person's role wears a garment, if there is one.
func (r *formReader) kitColour(garment string) string {
	role, ok := r.client.Role(r.person.Role)
	if !ok {
		return ""
	}
	found := ""
	for i := range role.Kit {
		if k := &role.Kit[i]; k.Garment == garment {
			if found != "" && found != k.Colour {
				return ""
			}
			found = k.Colour
		}
	}
	return found
}

// once refuses a second row about the same pieces.
func (r *formReader) once(row *table.Row, m *programme.Movement) {
	if !row.Bad() {
		r.first(row, holding{m.StaffID, m.SKU})
	}
}

func (r *formReader) first(row *table.Row, at holding) {
	if line := r.rows[at]; line > 0 {
		who := r.person.Name
		if who == "" {
			who = r.person.StaffID
		}
		row.Cell(formName).Wrong(fmt.Sprintf("but %s of %s stands on line %d already; keep one of them",
			strings.ReplaceAll(at.sku.String(), "/", " "), who, line))
		return
	}
	r.rows[at] = row.Line
}

// pieces reads a number of pieces, with or without a word behind it: 4, 4.0, 4 pcs.
func pieces(cell string) (int, bool) {
	number, _, _ := strings.Cut(cell, " ")
	n, err := strconv.Atoi(strings.TrimSuffix(number, ".0"))
	return n, err == nil
}
