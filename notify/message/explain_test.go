package message_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme/goldentest"
)

func TestEveryNumberIsExplained(t *testing.T) {
	shop := aShop()
	p := bakeryProposal()
	text := message.Explain(shop, bakery(), p, bakers())
	goldentest.Equal(t, "explain.txt", []byte(text))
	for i := range p.Lines {
		l := &p.Lines[i]
		require.Equal(t, l.Wanted, l.AtTarget-(l.OnHand+l.OnOrder-l.Owed), "the printed sum holds for %s", l.SKU)
		require.Equal(t, l.Order+l.StayBlank, l.BlanksOnShelf+l.Buy, "the printed sum holds for %s", l.SKU)
	}
	require.NotContains(t, text, "but the proposal says")

	p.Price++
	require.Contains(t, message.Explain(shop, bakery(), p, nil), "but the proposal says $516.01", "a sum that does not hold is told")
}
