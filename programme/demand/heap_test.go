package demand_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// heaps are the rows of a ledger that hand out, or say ended, too many pieces, as
// those do whose column of pieces holds something else.
type heaps struct {
	people, issued, ended, pieces int
	kept                          bool // old pieces are kept: a hand-over is no ending
}

func (h heaps) client() (shop programme.Shop, c simulate.Case, asOf programme.Date) {
	asOf = programme.NewDate(2026, 6, 1)
	shop, cases := simulate.NewScale(simulate.Size{Clients: 1, Staff: 20, Pieces: 200, Weeks: 104}, asOf, 1)
	for one := range cases {
		c = one
	}
	kit := c.Client.Roles[0].Kit[0]
	g, _ := shop.Garment(kit.Garment)
	var staff []programme.Person
	for _, p := range c.Roster {
		if p.End.IsZero() {
			staff = append(staff, p)
		}
	}
	rows := h.issued + h.ended
	for i := range rows {
		p := staff[i%h.people]
		m := programme.Movement{
			Date: asOf.Add(-500 + i*499/rows), Kind: programme.Issued, StaffID: p.StaffID, Pieces: h.pieces,
			OldKept: h.kept, Ref: fmt.Sprint("heap ", i),
			SKU: programme.SKU{Garment: kit.Garment, Colour: kit.Colour, Size: p.Sizes[g.SizeFamily]},
		}
		if i >= h.issued {
			m.Kind, m.Reason, m.OldKept = programme.Ended, programme.Worn, false
		}
		c.Ledger = append(c.Ledger, m)
	}
	return shop, c, asOf
}

// What would take hours, or more memory than
// there is, is refused by counts.
func TestWhatWouldTakeHoursIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		heaps
		want string
	}{
		"pieces without end": {heaps{people: 1, issued: 600, pieces: 1_000_000_000},
			"600000000010 of them of tee oatmeal to CL001 in 606 rows"},
		"21,000 pieces of one kind to each": {heaps{people: 15, issued: 600, pieces: 850, kept: true},
			"would take hours"},
		"more than a shop": {heaps{people: 15, issued: 600, pieces: 8_500},
			"in 49 rows, and a forecast from that would take hours"},
		"endings that may be of hundreds of pieces": {heaps{people: 1, issued: 300, ended: 300, pieces: 100,
			kept: true}, "in 306 rows, and a forecast from that would take hours"},
	} {
		shop, client, asOf := c.client()
		_, err := demand.Prepare(&shop, &client.Client, client.Roster, client.Ledger, nil, nil, asOf)
		var much *demand.TooMuch
		require.ErrorAs(t, err, &much, name)
		require.ErrorContains(t, err, c.want, name)
	}
}

// BenchmarkHeap is the forecast of a client whose ledger says up to ninety thousand
// pieces, in the hands of twenty people or one, all there or replaced by each other; and one
// where as many parts of endings are shared as may be.
func BenchmarkHeap(b *testing.B) {
	for _, h := range []heaps{
		{people: 15, issued: 600, pieces: 10}, {people: 15, issued: 600, pieces: 150},
		{people: 15, issued: 600, pieces: 30, kept: true},
		{people: 1, issued: 600, pieces: 40, kept: true}, {people: 1, issued: 300, ended: 300, pieces: 10, kept: true},
	} {
		b.Run(fmt.Sprintf("%+v", h), func(b *testing.B) {
			shop, c, asOf := h.client()
			b.ReportAllocs()
			for b.Loop() {
				in, err := demand.Prepare(&shop, &c.Client, c.Roster, c.Ledger, nil, nil, asOf)
				require.NoError(b, err)
				in.Forecast(28, 98)
			}
		})
	}
}
