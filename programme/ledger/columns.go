package ledger

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Columns of a ledger, in the order of the form.
const (
	colDate = iota
	colMovement
	colStaff
	colGarment
	colColour
	colSize
	colPieces
	colReason
	colRef
	colWashes
	colAssumed
	colOldKept
)

func (r *reader) form() *table.Form[programme.Movement] {
	type row = programme.Movement
	return &table.Form[row]{
		Columns: []table.Column[row]{
			colDate: {Name: "date", Required: true, Also: []string{"day", "when", "issue date", "date issued",
				"order date", "posted"},
				Missing: "the date is missing; write it as year-month-day, such as 2026-03-09",
				Date:    func(m *row) *programme.Date { return &m.Date }},
			colMovement: {Name: "movement", Required: !r.orders, Also: []string{"type", "kind", "action", "event",
				"transaction", "what"}, Words: table.OrLeftOut,
				Read: r.kind, Write: func(m *row) string { return string(m.Kind) }},
			colStaff: {Name: "staff_id", Required: !r.orders, Also: []string{"staff", "staff no", "staff number",
				"employee", "employee id", "employee no", "emp no", "emp id", "wearer", "person", "badge"},
				Read: r.person, Write: func(m *row) string { return m.StaffID }},
			colGarment: {Name: "garment", Required: true, Also: []string{"item", "product", "article", "style",
				"description", "code"}, Words: table.OrLeftOut,
				Read:  func(c table.Cell, m *row) { m.SKU = r.catalogue.Read(c.Row, colGarment, colColour, colSize) },
				Write: func(m *row) string { return m.SKU.Garment }},
			colColour: {Name: "colour", Also: []string{"color", "shade"}, Words: table.OrEmpty,
				Write: func(m *row) string { return m.SKU.Colour }},
			colSize: {Name: "size", Also: []string{"sizes"}, Words: table.OrEmpty,
				Write: func(m *row) string { return m.SKU.Size }},
			colPieces: {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "count", "number", "units",
				"pcs", "amount"},
				Read: r.pieces, Write: func(m *row) string { return strconv.Itoa(m.Pieces) }},
			colReason: {Name: "reason", Also: []string{"why", "cause", "reason code"}, Words: table.OrEmpty,
				Read:  readReason,
				Write: func(m *row) string { return string(m.Reason) }},
			colRef: {Name: "ref", Also: []string{"reference", "id", "document", "order", "order no", "po", "invoice"},
				Read: r.ref, Write: func(m *row) string { return m.Ref }},
			colWashes: {Name: "washes", Also: []string{"washes before", "wash count"}, Read: readWashes,
				Write: writeWashes},
			colAssumed: {Name: "assumed", Read: func(c table.Cell, m *row) { m.Assumed = readYes(c) },
				Write: func(m *row) string { return yes(m.Assumed) }},
			colOldKept: {Name: "old_kept", Read: func(c table.Cell, m *row) { m.OldKept = readYes(c) },
				Write: func(m *row) string { return yes(m.OldKept) }},
		},
		// A count form says: leave empty what you did not count.
		Skip: func(row *table.Row) bool {
			return row.Text(colPieces) == "" && match.Plain(row.Text(colMovement)) == string(programme.Counted)
		},
		Empty: "there is no row below the heading; write one for each movement of pieces",
	}
}

var kinds = hinted([]string{string(programme.Issued), string(programme.Ended), string(programme.Counted)}, kindHints)

func (r *reader) kind(c table.Cell, m *programme.Movement) {
	if r.orders {
		return
	}
	m.Kind = programme.MovementKind(c.Choose(kinds, "movement"))
}

func (r *reader) person(c table.Cell, m *programme.Movement) {
	raw := c.Text()
	switch {
	case raw == "" && !r.orders:
		c.Wrong("the staff number is missing")
	case raw != "" && r.known != nil && !r.known[raw]:
		want := "but nobody in the roster has this number; import the roster first, or correct the number"
		if code, ok := r.staff.Find(raw); ok {
			want = "but the roster writes this " + code
		}
		c.Wrong(want)
	}
	m.StaffID = c.Word()
}

// Greatest numbers of pieces in one row: more than anybody is handed of one garment
// in one go, and more than one order of one size brings.
const (
	maxPieces  = 1000
	maxOrdered = 100000
)

func (r *reader) pieces(c table.Cell, m *programme.Movement) {
	switch {
	case r.orders:
		m.Pieces = ReadPieces(c, 1, maxOrdered)
	case m.Kind == programme.Counted:
		m.Pieces = ReadPieces(c, 0, maxPieces)
	default:
		m.Pieces = ReadPieces(c, 1, maxPieces)
	}
}

// ReadPieces reads a whole number of pieces.
func ReadPieces(c table.Cell, least, most int) int {
	n, ok := c.Whole()
	switch {
	case c.Text() == "":
		c.Wrong("the number of pieces is missing")
	case !ok:
		c.Wrong("which is not a whole number of pieces")
	case n < least:
		c.Wrong(fmt.Sprintf("but there must be at least %d", least))
	case n > most:
		c.Wrong(fmt.Sprintf("which is more than %d pieces in one row; check the number", most))
	}
	return n
}

var reasons = hinted(programme.WrittenReasons(), reasonHints)

// readReason reads why pieces ended; empty is a cause that nobody wrote down.
func readReason(c table.Cell, m *programme.Movement) {
	raw := c.Text()
	switch {
	case raw == "":
	case m.Kind == "": // what is wrong with the movement is said already
		c.Choose(reasons, "reason")
	case m.Kind != programme.Ended:
		c.Wrong("but only pieces that ended have a reason; leave it empty")
	default:
		m.Reason = programme.Reason(c.Choose(reasons, "reason"))
	}
}

// maxWashes is more than any garment lasts.
const maxWashes = 2000

func readWashes(c table.Cell, m *programme.Movement) {
	raw := c.Text()
	if raw == "" {
		return
	}
	v, err := strconv.ParseFloat(raw, 64)
	switch {
	case err != nil || math.IsNaN(v) || v < 0 || v > maxWashes:
		c.Wrong(fmt.Sprintf("which is not a number of washes between 0 and %d", maxWashes))
	case v > 0 && m.Kind != programme.Issued && m.Kind != "" && !m.Reason.StillGood():
		c.Wrong("but only pieces that are issued, or that went back to the shelf, are told their washes; leave it empty")
	}
	m.Washes = v
}

func writeWashes(m *programme.Movement) string {
	if m.Washes <= 0 {
		return ""
	}
	return strconv.FormatFloat(m.Washes, 'f', -1, 64)
}

// readYes reads a cell that says yes or stays empty.
func readYes(c table.Cell) bool {
	switch match.Plain(c.Text()) {
	case "yes", "y", "x", "true", "1":
		return true
	case "", "no", "n", "false", "0":
		return false
	}
	c.Wrong("write yes, or leave it empty")
	return false
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

// ref refuses a reference that stands twice in a ledger: the second row would be
// taken for the first. The lines of one order share its number.
func (r *reader) ref(c table.Cell, m *programme.Movement) {
	switch raw := c.Text(); {
	case raw == "":
	case r.orders:
		m.Ref = c.Word()
	case r.refs[raw] > 0:
		c.Wrong(fmt.Sprintf("but line %d has the same ref, which makes a row known again; give each row its own",
			r.refs[raw]))
	default:
		m.Ref = strings.Clone(raw)
		r.refs[m.Ref] = c.Line
	}
}
