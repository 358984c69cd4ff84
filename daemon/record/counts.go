package record

import (
	"context"
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
)

// Count is the number of presentable pieces of one thing that a person holds.
type Count struct {
	StaffID string
	programme.SKU
	Pieces int
}

// EnterCounts enters a count of several people as one entry, which one undo takes back. A garment that
// the books did not know of is one that nobody wrote down: it counts from now on, and a note says so.
func EnterCounts(ctx context.Context, b *books.Books, client string, on programme.Date, list []Count) (Done, error) {
	if len(list) == 0 {
		return Done{}, errors.New("no number is filled in; a row left empty is not counted, and 0 is a count too")
	}
	return enter(ctx, b, client, func(e *entry) error {
		for i := range list {
			c := &list[i]
			m := Move{Client: client, Person: c.StaffID, Kind: programme.Counted, Garment: c.Garment, Colour: c.Colour,
				Size: c.Size, Pieces: c.Pieces, On: on}
			if err := e.move(&m); err != nil {
				return err
			}
		}
		if len(list) > 1 {
			e.about = fmt.Sprintf("counted %s on %s", programme.NumberOf(len(list), "row"), e.day(on))
			e.done.Text = e.about
		}
		return nil
	})
}
