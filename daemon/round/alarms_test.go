package round_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/programme"
)

// A delivery that wears out early is told in the owner's mail, in words, and once.
func TestABadDeliveryIsToldOnce(t *testing.T) {
	w := smallWorld(1)
	c := &w.Cases[0]
	w.Cases, w.Stock = w.Cases[:1], nil
	c.Client.RecordsStart = asOf.Add(-500)
	role := &c.Client.Roles[0]
	line := role.Kit[0]
	garment, ok := w.Shop.Garment(line.Garment)
	require.True(t, ok)
	sku := programme.SKU{Garment: line.Garment, Colour: line.Colour, Size: garment.Sizes[0].Code}
	c.Roster, c.Ledger = nil, nil
	for i := range 40 {
		who := programme.Person{StaffID: fmt.Sprintf("s%02d", i), Name: "Pat Example", Role: role.Code,
			Start: asOf.Add(-400), Sizes: map[string]string{garment.SizeFamily: sku.Size}}
		c.Roster = append(c.Roster, who)
		move := func(ago int, kind programme.MovementKind, pieces int, why programme.Reason) {
			c.Ledger = append(c.Ledger, programme.Movement{Date: asOf.Add(-ago), Kind: kind, StaffID: who.StaffID,
				SKU: sku, Pieces: pieces, Reason: why})
		}
		if i < 20 {
			move(200, programme.Issued, line.Each, programme.NoReason)
			continue
		}
		move(60, programme.Issued, line.Each, programme.NoReason)
		move(20, programme.Ended, max(1, line.Each-1), programme.Worn)
	}
	b := worldBooks(t, &w)
	tell := func(day programme.Date) string {
		res, err := round.Run(t.Context(), b, round.Options{AsOf: day, Now: day.Time()})
		require.NoError(t, err)
		return strings.Join(strings.Fields(res.Messages[0].Text), " ")
	}
	require.Regexp(t, garment.Name+` handed out from .+ to .+ wears out faster than the rest: \d+ ended by wear or print where \d+ were to be`, tell(asOf))
	require.NotContains(t, tell(asOf.Add(7)), "wears out faster", "once is enough")
}
