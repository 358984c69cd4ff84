package table

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// DateOrder is the order in which a list writes the parts of its dates.
type DateOrder string

// Orders of day, month and year. InferDates takes the one order that every
// date of the list agrees with.
const (
	InferDates DateOrder = ""
	DayFirst   DateOrder = "day-first"
	MonthFirst DateOrder = "month-first"
	YearFirst  DateOrder = "year-first"
)

// ParseDateOrder reads the name of an order.
func ParseDateOrder(s string) (DateOrder, error) {
	switch o := DateOrder(strings.ToLower(s)); o {
	case InferDates, DayFirst, MonthFirst, YearFirst:
		return o, nil
	case "iso":
		return YearFirst, nil
	}
	return "", fmt.Errorf("%q is no order of dates; write day-first, month-first or year-first", s)
}

// dates are all the dates of a file, in every column of dates together, for
// which one order is settled: none is read before all were seen.
type dates struct {
	file     string
	stated   DateOrder
	latest   programme.Date
	excel    bool
	date1904 bool

	index map[string]int // in list
	list  []dateText
	order DateOrder
}

// dateText is one way of writing a date that occurs in the file.
type dateText struct {
	raw   string
	parts dateParts
	lines []int // the first few
	count int
	date  programme.Date
	want  string // what is wrong with it
}

// namedLines is the number of lines that a refusal names.
const namedLines = 8

// add takes down that a date stands on a line; an empty text is no date.
func (d *dates) add(raw string, line int) {
	if raw == "" {
		return
	}
	i, ok := d.index[raw]
	if !ok {
		if d.index == nil {
			d.index = map[string]int{}
		}
		raw = strings.Clone(raw)
		i = len(d.list)
		d.list = append(d.list, dateText{raw: raw, parts: d.split(raw)})
		d.index[raw] = i
	}
	t := &d.list[i]
	t.count++
	if len(t.lines) < namedLines && (len(t.lines) == 0 || t.lines[len(t.lines)-1] != line) {
		t.lines = append(t.lines, line)
	}
}

// date reads a date that was added, once the order is settled; want says what is
// wrong with it, if anything is. One that may lie ahead can come after the latest.
func (d *dates) date(raw string, ahead bool) (date programme.Date, want string) {
	i, ok := d.index[raw]
	if !ok {
		return 0, ""
	}
	date, want = d.list[i].date, d.list[i].want
	if want == "" && !ahead && !d.latest.IsZero() && date > d.latest {
		return 0, fmt.Sprintf("but that is after %s; check the year and the order of day and month", d.latest)
	}
	return date, want
}

// settle finds the order that all dates agree with and reads them by it. It
// refuses the file when two orders fit and give different dates, or when rows
// disagree, and names the rows.
func (d *dates) settle() *Error {
	order, bad := d.infer()
	if bad != nil {
		return bad
	}
	d.order = order
	for i := range d.list {
		t := &d.list[i]
		t.date, t.want = d.read(&t.parts)
	}
	return nil
}

// infer chooses among the orders; dates with the month in letters or the year
// in front in four digits need none. Dates with dots are not ambiguous: whoever
// writes dots writes day.month.year (Unicode CLDR 48.2, cldr-dates-full: each of
// its numeric patterns with dots and the year behind has the day in front; DIN
// 5008 says the same, from memory). A list of them that is month first by its
// numbers is refused, since that may as well be a slip.
func (d *dates) infer() (DateOrder, *Error) {
	if d.stated != InferDates {
		return d.stated, nil
	}
	if bad := d.halfConverted(); bad != nil {
		return "", bad
	}
	var fitting []DateOrder
	for _, o := range []DateOrder{DayFirst, MonthFirst, YearFirst} {
		if d.all(func(p *dateParts) bool { return p.fits(o) }) {
			fitting = append(fitting, o)
		}
	}
	if !d.all(func(*dateParts) bool { return false }) && len(fitting) == 0 {
		return "", d.disagreement()
	}
	if len(fitting) == 0 {
		return InferDates, nil
	}
	if fitting[0] != DayFirst {
		if bad := d.dotted(fitting[0]); bad != nil {
			return "", bad
		}
	}
	for _, o := range fitting[1:] {
		if bad := d.ambiguous(fitting[0], o); bad != nil {
			return "", bad
		}
	}
	return fitting[0], nil
}

// all reports whether is holds for every date whose reading depends on the order and that
// exists in at least one order.
func (d *dates) all(is func(*dateParts) bool) bool {
	for i := range d.list {
		p := &d.list[i].parts
		if p.kind == numbers && p.fitsAny() && !is(p) {
			return false
		}
	}
	return true
}

// dotted names the dates with dots that an order, which is not day first, reads differently.
func (d *dates) dotted(o DateOrder) *Error {
	differ := d.where(func(p *dateParts) bool { return p.dots && p.in(o) != p.in(DayFirst) })
	if differ.total == 0 {
		return nil
	}
	other := d.where(func(p *dateParts) bool { return !p.fits(DayFirst) })
	return &Error{File: d.file, Want: fmt.Sprintf("dates with dots such as %q (%s) have the day first, but %q (%s) can only be %s; mend it, or say --dates %s if all are written so",
		differ.first.raw, lineList(differ.lines, differ.total), other.first.raw, lineList(other.lines, other.total),
		o.adverb(), o)}
}

// ambiguous names the dates that two orders read differently. Day first, those
// with dots are not among them.
func (d *dates) ambiguous(a, b DateOrder) *Error {
	differ := d.where(func(p *dateParts) bool { return p.in(a) != p.in(b) && (!p.dots || a != DayFirst) })
	if differ.total == 0 {
		return nil
	}
	p := &differ.first.parts
	return &Error{File: d.file, Want: fmt.Sprintf("the dates can be read in two ways: %q (%s) is %s %s or %s %s; say which with --dates %s or --dates %s",
		differ.first.raw, lineList(differ.lines, differ.total), p.in(a).words(), a.adverb(), p.in(b).words(),
		b.adverb(), a, b)}
}

// halfConverted refuses a workbook in which some dates are dates and others are
// text: a spreadsheet that expects the other order turns 3/4 into a wrong date
// and leaves 23/4 as text, so neither can be trusted.
func (d *dates) halfConverted() *Error {
	if !d.excel {
		return nil
	}
	text := d.where(func(*dateParts) bool { return true })
	var serial *dateText
	for i := range d.list {
		if d.list[i].parts.serial {
			serial = &d.list[i]
			break
		}
	}
	if serial == nil || text.total == 0 {
		return nil
	}
	return &Error{File: d.file, Want: fmt.Sprintf("%q (%s) is text where other cells (line %d) hold real dates, as happens when a spreadsheet misreads the order of day and month and spoils some of them; make them all text, such as 2026-03-09, from the original list",
		text.first.raw, lineList(text.lines, text.total), serial.lines[0])}
}

// disagreement names rows of both sides.
func (d *dates) disagreement() *Error {
	day := d.where(func(p *dateParts) bool { return p.fits(DayFirst) && !p.fits(MonthFirst) })
	month := d.where(func(p *dateParts) bool { return p.fits(MonthFirst) && !p.fits(DayFirst) })
	if day.total == 0 || month.total == 0 {
		return &Error{File: d.file,
			Want: "the dates are not all written in one order; write them as year-month-day, such as 2026-03-09"}
	}
	return &Error{File: d.file, Want: fmt.Sprintf("the dates are not all written in one order: %q (%s) has the day first, %q (%s) the month; write them all as year-month-day, such as 2026-03-09",
		day.first.raw, lineList(day.lines, day.total), month.first.raw, lineList(month.lines, month.total))}
}

// found counts the dates of one kind, with their first lines in order for a message.
type found struct {
	first *dateText
	lines []int
	total int
}

func (d *dates) where(is func(*dateParts) bool) found {
	var f found
	for i := range d.list {
		t := &d.list[i]
		if t.parts.kind != numbers || !t.parts.fitsAny() || !is(&t.parts) {
			continue
		}
		if f.first == nil {
			f.first = t
		}
		f.total += t.count
		f.lines = append(f.lines, t.lines...)
	}
	slices.Sort(f.lines)
	f.lines = slices.Compact(f.lines)
	if len(f.lines) < namedLines { // these are all: two dates of a line are one line
		f.total = len(f.lines)
	}
	f.lines = f.lines[:min(len(f.lines), namedLines)]
	return f
}

func (o DateOrder) adverb() string { return strings.ReplaceAll(string(o), "-", " ") }

// earliest is the first day the program knows; see programme.Date.
var earliest = programme.NewDate(1980, time.January, 1)

var lastYear = programme.NewDate(2099, time.December, 31)

// read turns parts into a date by the settled order.
func (d *dates) read(p *dateParts) (programme.Date, string) {
	c, want := d.civil(p)
	if want != "" {
		return 0, want
	}
	if c.month < 1 || c.month > 12 {
		return 0, fmt.Sprintf("but there is no month %d; write it as year-month-day, such as 2026-03-09", c.month)
	}
	days := programme.NewDate(c.year, time.Month(c.month)+1, 0).Time().Day()
	if c.day < 1 || c.day > days {
		return 0, fmt.Sprintf("but %s %d has %d days", time.Month(c.month), c.year, days)
	}
	date := programme.NewDate(c.year, time.Month(c.month), c.day)
	switch {
	case date < earliest:
		return 0, "but dates before 1980 are not kept; write 1980-01-01 for anything earlier"
	case date > lastYear:
		return 0, "but that is too far ahead; check the year"
	}
	return date, ""
}

func (d *dates) civil(p *dateParts) (civil, string) {
	switch p.kind {
	case numbers:
		if d.order == InferDates || !p.fits(d.order) {
			return civil{}, notADate(d.order)
		}
		return p.in(d.order), ""
	case settled:
		return p.civil, ""
	default:
		return civil{}, notADate(InferDates)
	}
}

func notADate(o DateOrder) string {
	if o == InferDates {
		return "which is not a date; write it as year-month-day, such as 2026-03-09"
	}
	return "which is not a date written " + o.adverb() +
		" as the others are; write it as year-month-day, such as 2026-03-09"
}

// sameYearDays is the greatest age of a date without a year.
const sameYearDays = 183

// ReadDay reads one date by itself, however it is written: of its readings that
// are not after latest, the last; one with dots has the day first where that can be.
// A date without a year is one of the half year before latest. excel says that a
// bare number is a day number.
func ReadDay(raw string, excel bool, latest programme.Date) (day programme.Date, ok bool) {
	if day, ok = readDay(raw, excel, latest); ok || latest.IsZero() {
		return day, ok
	}
	for back := range 2 {
		got, read := readDay(fmt.Sprintf("%s %d", raw, latest.Time().Year()-back), excel, latest)
		if read && got > day && latest.Sub(got) <= sameYearDays {
			day, ok = got, true
		}
	}
	return day, ok
}

func readDay(raw string, excel bool, latest programme.Date) (day programme.Date, ok bool) {
	for _, o := range []DateOrder{DayFirst, MonthFirst, YearFirst} {
		d := dates{order: o, latest: latest, excel: excel}
		p := d.split(raw)
		if p.dots && o != DayFirst && p.fits(DayFirst) {
			continue
		}
		if got, want := d.read(&p); want == "" && got > day && (latest.IsZero() || got <= latest) {
			day, ok = got, true
		}
	}
	return day, ok
}
