package table

import (
	"encoding/csv"
	"io"
	"iter"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// Write writes a CSV that Open reads as the same cells. Cells that a
// spreadsheet would run as formulas are guarded.
func Write(w io.Writer, heading []string, rows iter.Seq[[]string]) error {
	out := csv.NewWriter(w)
	if err := out.Write(heading); err != nil {
		return err
	}
	for cells := range rows {
		guarded := make([]string, len(cells))
		for i, c := range cells {
			guarded[i] = clean.Guard(c)
		}
		if err := out.Write(guarded); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
