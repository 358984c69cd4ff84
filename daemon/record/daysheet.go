package record

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/table"
)

// DaySheet enters what a day sheet says, as if each of its numbers had been entered by
// hand one after the other: all of it as one entry, which one undo takes back. A sheet
// that comes again, whole or with more in it, counts for what is new: its numbers are
// sums of the week.
func DaySheet(ctx context.Context, b *books.Books, code, file string, data []byte,
	opt handover.Options) (*handover.Report, error) {
	days, err := handover.ReadDays(ctx, b, code, file, data, opt)
	if err != nil {
		return nil, err
	}
	_, err = carry(ctx, b, Options{Client: code, On: days.Day, Try: opt.DryRun},
		func(m *move) error { return m.days(days) })
	switch {
	case errors.Is(err, errNothingNew):
		return days.Report, nil
	case err != nil:
		return nil, err
	}
	days.Stored = !opt.DryRun
	return days.Report, nil
}

// errNothingNew ends the transaction of a sheet that is known already.
var errNothingNew = errors.New("nothing in the sheet is new")

// sheetRow is one row of a day sheet while it is entered.
type sheetRow struct {
	*ledger.DayRow
	person *programme.Person
	week   programme.Date
}

func (m *move) days(d *handover.Days) error {
	// They are found before anything of the sheet is carried out: each ending is
	// looked up in what was held, whatever the order of the rows.
	known := m.ofSheet(d.Week)
	var bad table.Errors
	for i := range d.Rows {
		row := &d.Rows[i]
		wrong, err := m.dayRow(&sheetRow{DayRow: row, week: d.Week}, known, d)
		if err != nil {
			return err
		}
		bad = append(bad, wrong...)
	}
	if err := d.Settle(bad); err != nil {
		return err
	}
	if d.New == 0 {
		return errNothingNew
	}
	m.about = fmt.Sprintf("%s of the day sheet of the week from %s", programme.NumberOf(d.New, "entry"), m.day(d.Week))
	m.done.Text = m.about
	return nil
}

// daySheetRef begins the refs of the rows that day sheets bring.
const daySheetRef = "day-sheet-"

// key makes an entry known again when the sheet comes once more.
func (r *sheetRow) key(c *ledger.DayColumn) string {
	return fmt.Sprintf("%s%s/%s/%s/%s", daySheetRef, r.week, r.person.StaffID, r.SKU, c.Code)
}

// entered counts the pieces that a sheet's cell has brought so far.
type entered struct{ pieces, rows int }

// ofSheet sums up what the sheet of a week has brought so far, by the key of its cells.
func (m *move) ofSheet(week programme.Date) map[string]*entered {
	out := map[string]*entered{}
	begins := daySheetRef + week.String() + "/"
	for i := range m.moves {
		x := &m.moves[i]
		if !strings.HasPrefix(x.Ref, begins) {
			continue
		}
		key, _, _ := strings.Cut(x.Ref, "#")
		if out[key] == nil {
			out[key] = &entered{}
		}
		out[key].pieces += x.Pieces
		out[key].rows++
	}
	return out
}

// dayRow enters the numbers of one row. What is wrong with them comes back as errors
// of the file; err is of the machine.
func (m *move) dayRow(r *sheetRow, known map[string]*entered, d *handover.Days) (bad table.Errors, err error) {
	if bad, err = m.personOf(r, d); r.person == nil {
		return bad, err
	}
	for i := range ledger.DayColumns {
		c := &ledger.DayColumns[i]
		if r.Pieces[i] == 0 {
			continue
		}
		key := r.key(c)
		if known[key] == nil {
			known[key] = &entered{}
		}
		was := known[key]
		fresh := r.Pieces[i] - was.pieces
		switch {
		case fresh < 0:
			bad = append(bad, wrongCell(d, r.Line, c, r.Pieces[i],
				fmt.Sprintf("but this sheet came before with %d for %s, %s; numbers of a sheet grow until its week is over. If it was wrong, 'kitmuster undo %s' takes it back first",
					was.pieces, who(r.person), r.SKU, m.code)))
			continue
		case fresh == 0:
			d.Known++
			continue
		}
		from := len(m.rows)
		if err := m.dayEntry(r, c, fresh); err != nil {
			var not *dayError
			if !errors.As(err, &not) {
				return nil, err
			}
			bad = append(bad, wrongCell(d, r.Line, c, r.Pieces[i], "but "+not.Error()))
			continue
		}
		for j := from; j < len(m.rows); j++ {
			if was.rows++; was.rows == 1 {
				m.rows[j].Ref = key
			} else {
				m.rows[j].Ref = fmt.Sprintf("%s#%d", key, was.rows)
			}
		}
		m.moves = append(m.moves, m.rows[from:]...)
		d.New++
	}
	return bad, nil
}

// dayError is a fault of what a sheet says, not of the machine.
type dayError struct{ error }

func wrongCell(d *handover.Days, line int, c *ledger.DayColumn, n int, want string) *table.Error {
	return &table.Error{File: d.File, Line: line, Column: c.Heading, Value: fmt.Sprint(n), Want: want}
}

// personOf finds the person of a row, or hires somebody new.
func (m *move) personOf(r *sheetRow, d *handover.Days) (bad table.Errors, err error) {
	if r.StaffID != "" {
		r.person, err = FindPerson(m.people, r.StaffID)
		return nil, err
	}
	s := Starter{Name: r.Name, Role: r.Role, Site: r.Site, Start: d.Day, Sizes: map[string]string{}}
	g, _ := m.books.Shop.Garment(r.SKU.Garment)
	if handover.Charts(m.books.Shop)[g.SizeFamily] != nil {
		s.Sizes[g.SizeFamily] = r.SKU.Size
	}
	if p := m.cameBefore(r, &s); p != nil {
		r.person = p
		return nil, nil
	}
	if r.Another {
		s.StaffID = roster.NumberFor(&programme.Person{Name: s.Name, Start: s.Start})
	}
	p, err := m.newcomer(m.people, &s)
	if err != nil {
		return table.Errors{{File: d.File, Line: r.Line, Column: "Name", Value: r.Name, Want: "but " + err.Error()}},
			nil
	}
	if err := m.put(nil, &p); err != nil {
		return nil, err
	}
	d.Notes = append(d.Notes, fmt.Sprintf("%s is new on the roster, as %s from %s", who(&p), p.Role, m.day(p.Start)))
	r.person, err = FindPerson(m.people, p.StaffID)
	return nil, err
}

// cameBefore finds somebody new of an earlier row, or of the same sheet sent before. Who
// is said to be another person of a name started in the week of the sheet.
func (m *move) cameBefore(r *sheetRow, s *Starter) *programme.Person {
	if !r.Another {
		return m.onRoster(s)
	}
	for i := range m.people {
		p := &m.people[i]
		if match.Plain(p.Name) == match.Plain(s.Name) && p.Start >= r.week && p.Start <= r.week.Add(6) {
			return p
		}
	}
	return nil
}

// dayEntry enters one number of a row.
func (m *move) dayEntry(r *sheetRow, c *ledger.DayColumn, n int) error {
	if c.Back {
		return m.dayBack(r, n)
	}
	x := &Move{Kind: c.Kind, Garment: r.SKU.Garment, Colour: r.SKU.Colour, Size: r.SKU.Size, Pieces: n,
		Reason: c.Reason, On: m.opt.On}
	held, err := Held(m.books.Shop, m.client, m.people, m.moves, r.person.StaffID, m.opt.On)
	if err != nil {
		return err
	}
	row, err := m.row(x, r.person, held)
	if err != nil {
		return &dayError{err}
	}
	m.rows = append(m.rows, row)
	if c.Kind != programme.Issued {
		return nil
	}
	_, err = m.offShelf(programme.FinishedGoods(m.code, row.SKU), n, 0)
	return err
}

// dayBack takes pieces back that are fit to be worn on: of a leaver, or of somebody
// whom they fit no more.
func (m *move) dayBack(r *sheetRow, n int) error {
	m.input = nil // what is held has changed since it was last asked
	held, err := m.inHand(r.person, m.opt.On)
	if err != nil {
		return err
	}
	why, on := programme.SizeChange, m.opt.On
	if !r.person.End.IsZero() && r.person.End <= on {
		why, on = programme.LeftReason, r.person.End
	}
	came, _, err := m.came(&Return{Pieces: []Handed{{r.SKU.Garment, r.SKU.Colour, r.SKU.Size, n}}}, r.person, held)
	if err != nil {
		return &dayError{err}
	}
	return m.takeBack(r.person, &Kit{}, came, on, why)
}
