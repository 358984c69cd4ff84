package ledger

import (
	"io"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Write writes movements as a ledger that Read reads as the same movements,
// but for what the program itself adds to them.
func Write(w io.Writer, list []programme.Movement) error {
	heading := []string{"date", "movement", "staff_id", "garment", "colour", "size", "pieces", "reason", "ref", "washes", "assumed", "old_kept"}
	return table.Write(w, heading, func(yield func([]string) bool) {
		for i := range list {
			if !yield(cells(&list[i])) {
				return
			}
		}
	})
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func cells(m *programme.Movement) []string {
	washes := ""
	if m.Washes > 0 {
		washes = strconv.FormatFloat(m.Washes, 'f', -1, 64)
	}
	return []string{m.Date.String(), string(m.Kind), m.StaffID, m.SKU.Garment, m.SKU.Colour, m.SKU.Size, strconv.Itoa(m.Pieces), string(m.Reason), m.Ref, washes, yes(m.Assumed), yes(m.OldKept)}
}
