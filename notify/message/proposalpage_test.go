package message_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
)

// Whoever took fewer pieces than were suggested must not read that they last, and meet needs, as long as those.
func TestFewerPiecesAreNotSaidToLastAsLong(t *testing.T) {
	p := aReorder().Proposal
	text := func() string {
		shown := message.Show(aShop(), "Copper Hearth Bakery", bakery(), p, bakers(), false)
		return strings.Join(strings.Fields(page.PlainText(shown)), " ")
	}
	for i := range p.Lines {
		p.Lines[i].Wanted = p.Lines[i].Order
	}
	require.Contains(t, text(), "they are meant to last until")
	require.Contains(t, text(), "with this order")
	p.Lines[0].Wanted += 7
	require.NotContains(t, text(), "they are meant to last")
	require.Contains(t, text(), ". 40 were suggested, to last until")
	require.Contains(t, text(), "with the 40 pieces that were suggested")
	l := &p.Lines[0]
	l.Changed, l.Offered, l.AtTarget, l.Demand = true, l.Order+7, 1000, []float64{0, 0, 0, 0.5, 0, 0, 0, 0, 0, 0, 0, 0.5}
	l.Order, l.OnHand, l.OnOrder, l.Owed = 2, 0, 0, 0
	require.Less(t, p.Lasts(), p.CoverUntil)
	require.Contains(t, text(), "these are meant to last until about "+aShop().DateStyle.Date(p.Lasts())+".")
}
