package message_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestEveryNumberIsExplained(t *testing.T) {
	shop := aShop()
	p := bakeryProposal()
	text := page.PlainText(message.Explain(shop, bakery(), p, bakers()))
	goldentest.Equal(t, "explain.txt", []byte(text))
	for i := range p.Lines {
		l := &p.Lines[i]
		require.Equal(t, l.Wanted, l.AtTarget-(l.OnHand+l.OnOrder-l.Owed), "the printed sum holds for %s", l.SKU)
		require.Equal(t, l.Order+l.StayBlank, l.BlanksOnShelf+l.Buy, "the printed sum holds for %s", l.SKU)
	}
	require.NotContains(t, text, "but the proposal says")

	p.Price++
	require.Contains(t, page.PlainText(message.Explain(shop, bakery(), p, nil)), "but the proposal says $516.01",
		"a sum that does not hold is told")
}

func TestClosedDaysAreExplained(t *testing.T) {
	shop, p := aShop(), bakeryProposal()
	shop.Closed = programme.ClosedDays{{First: p.AsOf + 3, Last: p.AsOf + 9}}
	p.LeadDays = reorder.LeadOfClient(shop, bakery()).DaysFrom(p.AsOf, 7)
	// By hand: a yes on Monday 2 March has its sheets on Saturday 14, is pressed by Wednesday 18, and handed over on
	// Thursday 19: 17 days, where the longest of an ordinary week is 12.
	text := strings.Join(strings.Fields(page.PlainText(message.Explain(shop, bakery(), p, bakers()))), " ")
	require.Contains(t, text, "weekends and the closed days of shop.yaml do not count as working days")
	require.Contains(t, text, "Closed days make it up to 5 days longer for a yes at this time")
}

func TestThePlansStandBesideTheProposal(t *testing.T) {
	p := bakeryProposal()
	shown := func() string { return page.PlainText(message.Explain(aShop(), bakery(), p, bakers())) }
	require.NotContains(t, shown(), "Less or more", "one plan alone is no choice")
	p.Curve = []reorder.Choice{
		{Kind: reorder.MustBe, Pieces: 12, Unnamed: 1, Cost: 9000, Price: 21000, NextOrder: monday.Add(28),
			CostYear: 41000},
		{Kind: reorder.Suggested, Pieces: 33, Unnamed: 6, Starters: 4, Cost: 24000, Price: 52000,
			NextOrder: monday.Add(70), CostYear: 33000},
	}
	for _, want := range []string{"Less or more", "what must be", "12", "1 spare", "$210.00", "cost $90.00", "$410.00",
		"33", "4 for starters", "2 spare", "$330.00"} {
		require.Contains(t, shown(), want)
	}
}
