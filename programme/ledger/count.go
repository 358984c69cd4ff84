package ledger

import (
	"fmt"
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
	r := &formReader{reader: newReader(opt), opt: &opt, client: client, rows: map[holding]int{}, person: nil}
	list, err := table.OpenList(file, data, opt.Options, r.form())
	if err != nil {
		return nil, false, nil //nolint:nilerr // what is no count form may be a ledger, whose reader says what is wrong
	}
	form = &Counted{}
	lines, excel := list.Above()
	if form.Day, form.Dated, err = dayOf(file, lines, excel, opt.Latest); err != nil {
		return nil, true, err
	}
	r.day = form.Day
	if form.List, err = list.Read(); form.List == nil {
		return nil, true, err
	}
	if err == nil && len(form.Rows) == 0 {
		return nil, true, table.Errors{{File: file, Want: "no row of this count form is filled in; write the numbers into the column Presentable"}}
	}
	return form, true, err
}

// countedOn stands before the day of a form.
const countedOn = "Counted on"

// dayOf finds the day above the heading: in the cell behind "Counted on", or in
// the same one.
func dayOf(file string, lines [][]string, excel bool, latest programme.Date) (programme.Date, bool, error) {
	for _, cells := range lines {
		for i, c := range cells {
			if !strings.HasPrefix(match.Plain(c), match.Plain(countedOn)) {
				continue
			}
			raw := ""
			if i+1 < len(cells) {
				raw = cells[i+1]
			} else if len(c) > len(countedOn) {
				raw = strings.Trim(c[len(countedOn):], " :")
			}
			if raw == "" {
				return latest, false, nil
			}
			day, ok := table.ReadDay(raw, excel, latest)
			if !ok {
				return 0, false, table.Errors{{File: file, Column: c, Value: raw, Want: fmt.Sprintf("which is not a day up to %s; write it as year-month-day, such as 2026-03-09", latest)}}
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
	person *programme.Person // of the row being read
}

func (r *formReader) form() *table.Form[programme.Movement] {
	type row = programme.Movement
	return &table.Form[row]{
		Columns: []table.Column[row]{
			formNumber:                          {Name: "no", Also: []string{"number", "staff no", "staff_id"}, Read: r.who},
			formName:                            {Name: "name", Required: true, Also: []string{"person", "who", "wearer", "employee"}},
			formGarment:                         {Name: "garment", Required: true, Also: []string{"item", "product", "article"}, Read: r.garment},
			formColour:                          {Name: "colour", Also: []string{"color", "shade"}},
			formSize:                            {Name: "size", Also: []string{"sizes"}},
			formPieces:                          {Name: "presentable", Required: true, Also: []string{"presentable now", "still presentable", "presentable pieces"}, Read: r.pieces},
			{Name: "role"}, {Name: "on record"}, // to read by
		},
		Skip:  func(row *table.Row) bool { return row.Text(formPieces) == "" },
		Row:   r.once,
		Empty: "there is no row below the heading",
	}
}

// noneWords are ways to write that nothing is left; a dash is plain nothing.
var noneWords = map[string]bool{"none": true, "no": true, "nil": true, "nothing": true, "zero": true, "null": true, "": true}

func (r *formReader) pieces(c table.Cell, m *programme.Movement) {
	if noneWords[match.Plain(c.Text())] {
		return
	}
	number, _, _ := strings.Cut(c.Text(), " ") // 4 pcs
	n, ok := whole(number)
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

// who finds the person of a row: by number, or by name where it is the only one.
func (r *formReader) who(c table.Cell, m *programme.Movement) {
	number, name := c.Text(), c.Cell(formName)
	m.Date, m.Kind, r.person = r.day, programme.Counted, nil
	var named []*programme.Person
	for i := range r.opt.Staff {
		p := &r.opt.Staff[i]
		if number != "" && p.StaffID == number {
			r.person, m.StaffID = p, p.StaffID
			return
		}
		if name.Text() != "" && match.Plain(p.Name) == match.Plain(name.Text()) && p.ActiveOn(r.day) {
			named = append(named, p)
		}
	}
	switch {
	case len(named) == 1:
		r.person, m.StaffID = named[0], named[0].StaffID
	case len(named) > 1:
		name.Wrong(fmt.Sprintf("but %d people have this name; write the number of the one meant into the last column", len(named)))
	case name.Text() == "" && number == "":
		name.Wrong("the name is missing")
	case name.Text() == "":
		c.Wrong(r.unknown(number))
	default:
		name.Wrong(r.unknown(name.Text()))
	}
}

func (r *formReader) unknown(value string) string {
	if code, ok := r.staff.Find(value); ok {
		return "but the roster writes this " + code
	}
	names := make([]string, 0, len(r.opt.Staff))
	for i := range r.opt.Staff {
		names = append(names, r.opt.Staff[i].Name)
	}
	if near, ok := match.Near(value, names); ok {
		return fmt.Sprintf("but nobody on the roster is called so; if %s is meant, correct it", near)
	}
	return "but nobody on the roster is called so; correct the name, or add them to the roster first"
}

// garment finds what was counted; colour and size that are left out are those of
// the person's kit and sizes.
func (r *formReader) garment(c table.Cell, m *programme.Movement) {
	if r.person == nil {
		return // said already
	}
	name, colour, size := c.Text(), c.Row.Text(formColour), c.Row.Text(formSize)
	if code, ok := r.catalogue.Garment(name); ok {
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
	m.SKU = sku
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
	if row.Bad() {
		return
	}
	at := holding{m.StaffID, m.SKU}
	if line := r.rows[at]; line > 0 {
		who := r.person.Name
		if who == "" {
			who = r.person.StaffID
		}
		row.Cell(formName).Wrong(fmt.Sprintf("but %s of %s stands on line %d already; keep one of them", strings.ReplaceAll(m.SKU.String(), "/", " "), who, line))
		return
	}
	r.rows[at] = row.Line
}

func whole(s string) (int, bool) {
	n, err := strconv.Atoi(strings.TrimSuffix(s, ".0"))
	return n, err == nil
}
