package round_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// A quarter in which no customer answers: for nothing but a moved day a form goes out after one, two and four
// weeks and not each Monday; whatever goes out in between has other pieces or another price. The owner reads
// every Monday since when each answer is missing and how late it is.
func TestAQuarterWithoutAnswers(t *testing.T) {
	ctx := context.Background()
	w := randomShop(3)
	slices.SortFunc(w.Cases, func(a, b simulate.Case) int { return len(a.Roster) - len(b.Roster) })
	w.Cases = w.Cases[:2]
	b := worldBooks(t, &w)
	moved, other, stood := 0, 0, 0
	for week := range 13 {
		day := w.AsOf.Add(7 * week)
		res, err := round.Run(ctx, b, round.Options{AsOf: day, Now: day.Time()})
		require.NoError(t, err)
		wrote := map[int64]bool{}
		for i := range res.Messages {
			if m := &res.Messages[i]; m.Kind == message.KindReorder {
				wrote[m.Proposal] = true
			}
		}
		owner := strings.Join(strings.Fields(res.Messages[0].Text), " ")
		for i := range res.Plan.Entries {
			e := &res.Plan.Entries[i]
			if e.Proposal == nil || e.Before == nil {
				continue
			}
			p := e.Proposal
			require.Equal(t, !e.Stands, wrote[p.Number], "proposal %d in week %d", p.Number, week)
			require.Contains(t, owner, "no answer since "+dayOf(b.Shop.DateStyle, p.Since()))
			switch {
			case e.Stands:
				stood++
				require.Less(t, day.Sub(p.AsOf), 28, "nobody is left without a word for more than four weeks")
				if by := p.ArrivesAfter(day, b.Shop.Closed); by > p.Arrives {
					require.Contains(t, owner, "a yes today brings it "+dayOf(b.Shop.DateStyle, by))
				}
			case len(e.Differs) == 1 && e.Differs[0].Kind == reorder.OtherArrival:
				moved++
				require.GreaterOrEqual(t, day.Sub(e.Before.AsOf), min(28, 7+e.Before.AsOf.Sub(p.Since())),
					"proposal %d in week %d", p.Number, week)
			default:
				other++
				require.True(t, slices.ContainsFunc(e.Differs,
					func(d reorder.Difference) bool { return d.Kind != reorder.OtherArrival }))
			}
		}
	}
	t.Logf("forms that stood: %d; other forms for the day alone: %d, for pieces or money: %d", stood, moved, other)
	require.Positive(t, moved)
	require.Greater(t, stood, moved)
}

// dayOf is a day as the owner's mail writes it, without its year.
func dayOf(s programme.DateStyle, d programme.Date) string {
	layout := "Mon 2 Jan"
	if s == programme.MonthFirst {
		layout = "Mon Jan 2"
	}
	return d.Time().Format(layout)
}
