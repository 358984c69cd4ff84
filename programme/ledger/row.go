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

// row reads one line. The number of its date waits in the field Date until all
// dates are seen.
func (r *reader) row(row *table.Row) {
	before := len(r.errs)
	if row.Text(colPieces) == "" && match.Plain(row.Text(colMovement)) == string(programme.Counted) {
		r.list.Uncounted++ // a count form says: leave empty what you did not count
		return
	}
	m := programme.Movement{Date: programme.Date(row.Date(colDate))}
	if m.Date == 0 {
		r.wrong(row.Wrong(colDate, "the date is missing; write it as year-month-day, such as 2026-03-09"))
	}
	m.Kind = r.kind(row)
	m.StaffID = r.person(row)
	m.SKU = r.sku(row)
	m.Pieces = r.pieces(row, m.Kind)
	m.Reason = r.reason(row, m.Kind)
	m.Washes = r.washes(row, &m)
	m.Assumed, m.OldKept = r.yes(row, colAssumed), r.yes(row, colOldKept)
	m.Ref = r.ref(row)
	if len(r.errs) > before {
		return
	}
	r.list.Movements = append(r.list.Movements, m)
	r.list.Lines = append(r.list.Lines, int32(row.Line))
}

var kinds = match.NewChoices(string(programme.Issued), string(programme.Ended), string(programme.Counted))

func (r *reader) kind(row *table.Row) programme.MovementKind {
	raw := row.Text(colMovement)
	code, ok := kinds.Find(raw)
	if !ok {
		r.wrong(row.Wrong(colMovement, kinds.Want("movement", raw)))
	}
	return programme.MovementKind(code)
}

func (r *reader) person(row *table.Row) string {
	raw := row.Text(colStaff)
	if raw == "" {
		r.wrong(row.Wrong(colStaff, "the staff number is missing"))
		return ""
	}
	if r.known != nil && !r.known[raw] {
		want := "but nobody in the roster has this number; import the roster first, or correct the number"
		if code, ok := r.staff.Find(raw); ok {
			want = "but the roster writes this " + code
		}
		r.wrong(row.Wrong(colStaff, want))
	}
	return r.word(raw)
}

func (r *reader) sku(row *table.Row) programme.SKU {
	g, c, s := row.Text(colGarment), row.Text(colColour), row.Text(colSize)
	if r.opt.Catalogue == nil {
		return programme.SKU{Garment: r.word(g), Colour: r.word(c), Size: r.word(s)}
	}
	sku, bad := r.opt.Catalogue.Find(g, c, s)
	if bad != nil {
		r.wrong(row.Wrong([]int{colGarment, colColour, colSize}[bad.Part], bad.Want))
	}
	return sku
}

// maxPieces is more than anybody is handed of one garment in one go.
const maxPieces = 1000

func (r *reader) pieces(row *table.Row, kind programme.MovementKind) int {
	raw := row.Text(colPieces)
	least := 1
	if kind == programme.Counted {
		least = 0
	}
	n, want := Pieces(raw, least, maxPieces)
	if want != "" {
		r.wrong(row.Wrong(colPieces, want))
	}
	return n
}

// Pieces reads a whole number of pieces; want ends the sentence that says what
// is wrong with it.
func Pieces(raw string, least, most int) (n int, want string) {
	whole, frac, _ := strings.Cut(raw, ".")
	n, err := strconv.Atoi(strings.TrimPrefix(whole, "+"))
	switch {
	case raw == "":
		return 0, "the number of pieces is missing"
	case err != nil || strings.Trim(frac, "0") != "":
		return 0, "which is not a whole number of pieces"
	case n < least:
		return 0, fmt.Sprintf("but there must be at least %d", least)
	case n > most:
		return 0, fmt.Sprintf("which is more than %d pieces in one row; check the number", most)
	}
	return n, ""
}

var reasons = match.NewChoices(programme.WrittenReasons()...)

// reason reads why pieces ended; empty is a cause that nobody wrote down.
func (r *reader) reason(row *table.Row, kind programme.MovementKind) programme.Reason {
	raw := row.Text(colReason)
	if raw == "" {
		return programme.NoReason
	}
	if kind != programme.Ended {
		if kind != "" {
			r.wrong(row.Wrong(colReason, "but only pieces that ended have a reason; leave it empty"))
		}
		return programme.NoReason
	}
	code, ok := reasons.Find(raw)
	if !ok {
		r.wrong(row.Wrong(colReason, reasons.Want("reason", raw)))
	}
	return programme.Reason(code)
}

// maxWashes is more than any garment lasts.
const maxWashes = 2000

func (r *reader) washes(row *table.Row, m *programme.Movement) float64 {
	raw := row.Text(colWashes)
	if raw == "" {
		return 0
	}
	v, err := strconv.ParseFloat(raw, 64)
	switch {
	case err != nil || math.IsNaN(v) || v < 0 || v > maxWashes:
		r.wrong(row.Wrong(colWashes, fmt.Sprintf("which is not a number of washes between 0 and %d", maxWashes)))
		return 0
	case v > 0 && m.Kind != programme.Issued && m.Kind != "" && !m.Reason.StillGood():
		r.wrong(row.Wrong(colWashes, "but only pieces that are issued, or that went back to the shelf, are told their washes; leave it empty"))
		return 0
	}
	return v
}

// yes reads a column that says yes or stays empty.
func (r *reader) yes(row *table.Row, col int) bool {
	raw := row.Text(col)
	switch match.Plain(raw) {
	case "yes", "y", "x", "true", "1":
		return true
	case "", "no", "n", "false", "0":
		return false
	}
	r.wrong(row.Wrong(col, "write yes, or leave it empty"))
	return false
}

// ref refuses a reference that stands twice: the second row would be taken for the first.
func (r *reader) ref(row *table.Row) string {
	raw := row.Text(colRef)
	if raw == "" {
		return ""
	}
	if first, twice := r.refs[raw]; twice {
		r.wrong(row.Wrong(colRef, fmt.Sprintf("but line %d has the same ref, which makes a row known again; give each row its own", first)))
		return ""
	}
	if r.refs == nil { // a list that has refs has one in nearly every row
		r.refs = make(map[string]int32, cap(r.list.Movements))
	}
	raw = strings.Clone(raw)
	r.refs[raw] = int32(row.Line)
	return raw
}
