package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// What somebody is to be given on a day to come where the kit changes in three weeks: the rest of a kit that is
// given in two parts, and what a later line has more than the one before. By hand for each case.
func TestWhatAChangingKitHasStillToGive(t *testing.T) {
	const asOf programme.Date = 20000
	red := programme.KitLine{Garment: "tee", Colour: "red", Each: 3, WearsAWeek: 3}
	black := func(each int, from programme.Date) programme.KitLine {
		l := red
		l.Colour, l.Each, l.From, l.InsteadOf = "black", each, from, red.Former()
		return l
	}
	twoFirst := red
	twoFirst.First, twoFirst.RestAfterWeeks = 2, 4
	green := func(each int) programme.KitLine {
		l := black(each, asOf+40)
		l.Colour, l.InsteadOf = "green", programme.Former{Garment: "tee", Colour: "black"}
		return l
	}
	stays := math.Exp(-2 * 21 / 365.2425)
	type given struct {
		colour string
		pieces int
		on     programme.Date
		there  float64
	}
	for name, c := range map[string]struct {
		kit  []programme.KitLine
		held int
		lead int
		end  programme.Date
		want []given
	}{
		"the rest":                            {kit: []programme.KitLine{twoFirst}, held: 2, want: []given{{"red", 1, asOf + 21, stays}}},
		"all there":                           {kit: []programme.KitLine{twoFirst}, held: 3},
		"gone by then":                        {kit: []programme.KitLine{twoFirst}, held: 2, end: asOf + 21},
		"gone the day after":                  {kit: []programme.KitLine{twoFirst}, held: 2, end: asOf + 22, want: []given{{"red", 1, asOf + 21, stays}}},
		"the rest is of the new":              {kit: []programme.KitLine{twoFirst, black(3, asOf+20)}, held: 2, want: []given{{"black", 1, asOf + 21, stays}}},
		"of the old the day before":           {kit: []programme.KitLine{twoFirst, black(3, asOf+22)}, held: 2, want: []given{{"red", 1, asOf + 21, stays}}},
		"a later order comes in time":         {kit: []programme.KitLine{twoFirst, black(3, asOf+20)}, held: 2, lead: 19},
		"the new has no more than is there":   {kit: []programme.KitLine{twoFirst, black(2, asOf+20)}, held: 2},
		"the new has more":                    {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 3, want: []given{{"black", 2, asOf + 20, 1}}},
		"more than its lead time ahead":       {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 3, lead: 19, want: []given{{"black", 2, asOf + 20, 1}}},
		"one more is there already":           {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 4, want: []given{{"black", 1, asOf + 20, 1}}},
		"two more are there already":          {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 5},
		"as many":                             {kit: []programme.KitLine{red, black(3, asOf+20)}, held: 3},
		"more and more":                       {kit: []programme.KitLine{red, black(4, asOf+20), green(6)}, held: 3, want: []given{{"black", 1, asOf + 20, 1}, {"green", 2, asOf + 40, 1}}},
		"more, and then fewer":                {kit: []programme.KitLine{red, black(5, asOf+20), green(4)}, held: 3, want: []given{{"black", 2, asOf + 20, 1}}},
		"fewer, and then more than ever":      {kit: []programme.KitLine{red, black(2, asOf+20), green(4)}, held: 3, want: []given{{"green", 1, asOf + 40, 1}}},
		"of whoever hands the kit back, none": {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 3, end: asOf},
	} {
		in := oneTee(t, func(_ *programme.Garment, client *programme.Client) { client.Roles[0].Kit = c.kit })
		in.LeadDays = c.lead
		in.Staffing.LeavingEarly = wear.Certain(2)
		in.Staff = []programme.Person{{StaffID: "a", Role: "floor", Start: asOf - 7, End: c.end, Sizes: map[string]string{"top": "M"}}}
		for range c.held {
			in.History.InService = append(in.History.InService, programme.Piece{StaffID: "a", SKU: programme.SKU{Garment: "tee", Colour: "red", Size: "M"}, Issued: asOf - 7})
		}
		s := newScene(in)
		require.Empty(t, s.short, name)
		require.Len(t, s.starters, len(c.want), name)
		for i, want := range c.want {
			got := s.starters[i]
			require.Equal(t, given{want.colour, want.pieces, want.on, got.there}, given{got.Colour, got.Pieces, got.on, got.there}, name)
			require.InDelta(t, want.there, got.there, 1e-9, name)
			require.Equal(t, s.lines[got.line], got.SKU, name)
			require.Equal(t, want.there == 1, got.Begins == want.on, "%s: with the change itself begins a need of all", name)
		}
	}
}
