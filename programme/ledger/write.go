package ledger

import (
	"encoding/csv"
	"io"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Write writes movements as a ledger that Read reads as the same movements,
// but for what the program itself adds to them.
func Write(w io.Writer, list []programme.Movement) error {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"date", "movement", "staff_id", "garment", "colour", "size", "pieces", "reason", "ref", "washes"}); err != nil {
		return err
	}
	for i := range list {
		m := &list[i]
		washes := ""
		if m.Washes > 0 {
			washes = strconv.FormatFloat(m.Washes, 'f', -1, 64)
		}
		cells := []string{m.Date.String(), string(m.Kind), m.StaffID, m.SKU.Garment, m.SKU.Colour, m.SKU.Size, strconv.Itoa(m.Pieces), string(m.Reason), m.Ref, washes}
		for j := range cells {
			cells[j] = table.Guard(cells[j])
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
