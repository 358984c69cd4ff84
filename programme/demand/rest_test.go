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
		"the rest": {kit: []programme.KitLine{twoFirst}, held: 2,
			want: []given{{"red", 1, asOf + 21, stays}}},
		"all there":    {kit: []programme.KitLine{twoFirst}, held: 3},
		"gone by then": {kit: []programme.KitLine{twoFirst}, held: 2, end: asOf + 21},
		"gone the day after": {kit: []programme.KitLine{twoFirst}, held: 2, end: asOf + 22,
			want: []given{{"red", 1, asOf + 21, stays}}},
		"the rest is of the new": {kit: []programme.KitLine{twoFirst, black(3, asOf+20)}, held: 2,
			want: []given{{"black", 1, asOf + 21, stays}}},
		"of the old the day before": {kit: []programme.KitLine{twoFirst, black(3, asOf+22)}, held: 2,
			want: []given{{"red", 1, asOf + 21, stays}}},
		"a later order comes in time": {kit: []programme.KitLine{twoFirst, black(3, asOf+20)},
			held: 2, lead: 19},
		"the new has no more than is there": {kit: []programme.KitLine{twoFirst, black(2, asOf+20)}, held: 2},
		"the new has more": {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 3,
			want: []given{{"black", 2, asOf + 20, 1}}},
		"more than its lead time ahead": {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 3, lead: 19,
			want: []given{{"black", 2, asOf + 20, 1}}},
		"one more is there already": {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 4,
			want: []given{{"black", 1, asOf + 20, 1}}},
		"two more are there already": {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 5},
		"as many":                    {kit: []programme.KitLine{red, black(3, asOf+20)}, held: 3},
		"more and more": {kit: []programme.KitLine{red, black(4, asOf+20), green(6)}, held: 3,
			want: []given{{"black", 1, asOf + 20, 1}, {"green", 2, asOf + 40, 1}}},
		"more, and then fewer": {kit: []programme.KitLine{red, black(5, asOf+20), green(4)}, held: 3,
			want: []given{{"black", 2, asOf + 20, 1}}},
		"fewer, and then more than ever": {kit: []programme.KitLine{red, black(2, asOf+20), green(4)}, held: 3,
			want: []given{{"green", 1, asOf + 40, 1}}},
		"of whoever hands the kit back, none": {kit: []programme.KitLine{red, black(5, asOf+20)}, held: 3, end: asOf},
	} {
		in := oneTee(t, func(_ *programme.Garment, client *programme.Client) { client.Roles[0].Kit = c.kit })
		in.LeadDays = c.lead
		in.Staffing.LeavingEarly = wear.Certain(2)
		in.Staff = []programme.Person{{StaffID: "a", Role: "floor", Start: asOf - 7, End: c.end,
			Sizes: map[string]string{"top": "M"}}}
		for range c.held {
			in.History.InService = append(in.History.InService,
				programme.Piece{StaffID: "a", SKU: programme.SKU{Garment: "tee", Colour: "red", Size: "M"},
					Issued: asOf - 7})
		}
		s := newScene(in)
		require.Empty(t, s.short, name)
		require.Len(t, s.starters, len(c.want), name)
		for i, want := range c.want {
			got := s.starters[i]
			require.Equal(t, given{want.colour, want.pieces, want.on, got.there},
				given{got.Colour, got.Pieces, got.on, got.there}, name)
			require.InDelta(t, want.there, got.there, 1e-9, name)
			require.Equal(t, s.lines[got.line], got.SKU, name)
			require.Equal(t, want.there == 1, got.Begins == want.on, "%s: with the change itself begins a need of all",
				name)
		}
	}
}

// What somebody holds of the kit of a former role is worn on and replaced by nothing, and sizes that nobody
// is taken to have make no line.
func TestPiecesOfAFormerRoleAreWornOn(t *testing.T) {
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
		c.Roles = append(c.Roles, programme.Role{Code: "bar",
			Kit: []programme.KitLine{{Garment: "tee", Colour: "black", Each: 1, WearsAWeek: 2}}})
	})
	in.Staff = []programme.Person{{StaffID: "a", Role: "bar", Start: in.AsOf - 90,
		Sizes: map[string]string{"top": "M"}}, {StaffID: "b", Role: "bar", Start: in.AsOf - 90,
		Sizes: map[string]string{"top": "M"}}}
	in.History.InService = []programme.Piece{
		{StaffID: "a", SKU: programme.SKU{Garment: "tee", Size: "M"}},
		{StaffID: "a", SKU: programme.SKU{Garment: "tee", Size: "M"}},
		{StaffID: "a", SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}},
		{StaffID: "b", SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}},
	}
	s := newScene(in)
	held := map[string][]int{}
	for i := range s.holders {
		h := &s.holders[i]
		held[h.person.StaffID+h.sku.Colour] = []int{len(h.pieces), h.surplus}
	}
	require.Equal(t, map[string][]int{"a": {2, 2}, "ablack": {1, 0}, "bblack": {1, 0}}, held)
	require.Empty(t, s.short)

	require.Len(t, s.lines, 4, "two colours in two sizes")
	in.Staffing.Sizes = map[string][]programme.SizeShare{"top": {{Size: "M", Share: 5}, {Size: "L"}}}
	require.Equal(t, []programme.SKU{{Garment: "tee", Size: "M"}, {Garment: "tee", Colour: "black", Size: "M"}},
		newScene(in).lines)
}

// How hard the days ahead wear somebody's pieces is the mean over the days on which they are there.
func TestHardDaysCountWhereSomebodyIsThere(t *testing.T) {
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
		c.Work.WearByMonth = [12]float64{1, 1, 1, 1, 1, 1, 2, 2, 1, 0.5, 1, 1}
	})
	in.AsOf = programme.NewDate(2026, 7, 20)
	f := &forecast{scene: &scene{in: in}}
	mean := func(from, days int) float64 {
		return in.Book.Wearing(in.AsOf.Add(from), in.AsOf.Add(days)) / float64(days-from)
	}
	there, away := &holder{}, &holder{absence: wear.Absence{{From: in.AsOf + 1, Until: in.AsOf + 30}}}
	const days = 100
	require.InDelta(t, mean(0, days), f.hardnessOf(there, days), 1e-12)
	require.InDelta(t, mean(30, days), f.hardnessOf(away, days), 1e-12)
	require.Greater(t, f.hardnessOf(there, days), 1.1*f.hardnessOf(away, days))
	require.InDelta(t, mean(0, 20), f.hardnessOf(away, 20), 1e-12, "not there at all")
	require.InDelta(t, 1, f.hardness(0), 0)
}

// Changes of size are learnt from who has changed, over the years of all people and the families of sizes of which
// everybody wears one; the ledger shows those that are done with, one a day, person and family.
func TestChangesOfSizeAreCounted(t *testing.T) {
	const asOf programme.Date = 20000
	sizes := func(codes ...string) (out []programme.GarmentSize) {
		for _, c := range codes {
			out = append(out, programme.GarmentSize{Code: c})
		}
		return out
	}
	shop := &programme.Shop{Garments: []programme.Garment{
		{Code: "tee", SizeFamily: "top", Sizes: sizes("S", "M")},
		{Code: "polo", SizeFamily: "top", Sizes: sizes("S", "M")},
		{Code: "tee-w", SizeFamily: "top-w", Sizes: sizes("8", "10")},
		{Code: "jeans", SizeFamily: "legs", Sizes: sizes("30", "32")},
		{Code: "cap", SizeFamily: "one", Sizes: sizes("one")},
	}}
	client := &programme.Client{RecordsStart: asOf - 400, Roles: []programme.Role{{Code: "a", Kit: []programme.KitLine{
		{Garment: "tee", Each: 2}, {Garment: "tee-w", Each: 2, CutOf: programme.Former{Garment: "tee"}},
		{Garment: "jeans", Each: 1}, {Garment: "cap", Each: 1},
	}}}}
	staff := programme.Roster{{StaffID: "a", Role: "a", Sizes: map[string]string{"top": "S", "legs": "30"}},
		{StaffID: "b", Role: "a", Sizes: map[string]string{"top": "S"}}}
	staff[0].Resize("top", "M", false)
	require.Equal(t, 2, sizedFamilies(shop, client))
	require.Equal(t, wear.Gamma{Count: 0.05*8 + 1, Exposure: 8 + 2*5}, learnResizing(shop, client, staff, 5))

	row := func(id, garment string, on programme.Date) programme.Movement {
		return programme.Movement{StaffID: id, SKU: programme.SKU{Garment: garment}, Date: on, Kind: programme.Ended,
			Reason: programme.SizeChange}
	}
	worn, issued := row("b", "tee", asOf-9), row("b", "tee", asOf-9)
	worn.Reason, issued.Kind = programme.Worn, programme.Issued
	for name, c := range map[string]struct {
		ledger []programme.Movement
		want   int
	}{
		"none":                        {nil, 0},
		"one":                         {[]programme.Movement{row("b", "tee", asOf-9)}, 1},
		"two garments of a family":    {[]programme.Movement{row("b", "tee", asOf-9), row("b", "polo", asOf-9)}, 1},
		"two families":                {[]programme.Movement{row("b", "tee", asOf-9), row("b", "jeans", asOf-9)}, 2},
		"on two days":                 {[]programme.Movement{row("b", "tee", asOf-9), row("b", "tee", asOf-8)}, 2},
		"of two people":               {[]programme.Movement{row("b", "tee", asOf-9), row("c", "tee", asOf-9)}, 2},
		"today, and tomorrow":         {[]programme.Movement{row("b", "tee", asOf), row("b", "tee", asOf+1)}, 1},
		"as records begin, or before": {[]programme.Movement{row("b", "tee", asOf-400), row("b", "tee", asOf-401)}, 1},
		"for other reasons":           {[]programme.Movement{worn, issued}, 0},
		"known from the roster":       {[]programme.Movement{row("a", "tee", asOf-9), row("a", "jeans", asOf-9)}, 1},
		"of what the shop has not":    {[]programme.Movement{row("b", "hat", asOf-9)}, 0},
	} {
		require.Equal(t, c.want, exchanges(shop, client, staff, c.ledger, asOf), name)
	}
}

// First endings of what somebody holds, week by week: those of pieces beyond the kit are shared out over all,
// and what ends before a season is needed as it begins, where the person is still there.
func TestFirstEndingsOfWhatSomebodyHolds(t *testing.T) {
	const asOf programme.Date = 20000
	const rate = 0.07 // a week
	tee := programme.SKU{Garment: "tee"}
	learnt := certainLife(wear.Weibull{Shape: 1, Scale: 1e12}, wear.Weibull{Shape: 1, Scale: 1e12}, rate*weeksPerYear)
	stays := []float64{0.95, 0.9, 0.85, 0.8, 0.75}
	ends := func(w int) float64 { return math.Exp(-rate*float64(w)) - math.Exp(-rate*float64(w+1)) }
	for _, c := range []struct {
		surplus int
		due     programme.Date
		waits   int
	}{{0, 0, 0}, {1, 0, 0}, {3, 0, 0}, {1, asOf + 14, 1}, {0, asOf + 15, 2}, {1, asOf + 15, 2}, {0, asOf + 40, 5}} {
		f := &forecast{
			scene: &scene{in: &Input{AsOf: asOf}, lines: []programme.SKU{tee}, at: map[programme.SKU]int{tee: 0}},
			days:  33, stays: map[bool][]float64{false: stays},
			predictors: map[wear.Class]*predictor{{}: newPredictor(learnt, 5, &room{})},
			weekly:     [][]byCause{make([]byCause, 5)},
		}
		h := &holder{sku: tee, use: &wear.Use{Class: &wear.Terms{}}, rot: Rotation{Pace: 1},
			pieces: make([]*programme.Piece, 3), ages: []float64{0, 4, 9}, unseen: make([]unseen, 3),
			surplus: c.surplus, due: c.due}
		first, total := make([]float64, 5), byCause{}
		pEnd := f.expectHolder(h, first, &total)
		want, chance := make([]float64, 5), 0.0
		for w := range 5 {
			if needed := max(w, c.waits); needed < 5 {
				want[needed] += float64(3-c.surplus) * stays[w] * ends(w)
				chance += stays[w] * ends(w) * []float64{1, 1, 1, 1, 5. / 7}[needed]
			}
		}
		for w := range want {
			require.InDelta(t, want[w], first[w], 1e-9, "%+v, week %d", c, w)
			require.InDelta(t, want[w], f.weekly[0][w][programme.CauseMishap], 1e-9, "%+v, week %d", c, w)
		}
		for _, p := range pEnd {
			require.InDelta(t, chance, p, 1e-9, "%+v", c)
		}
		require.InDelta(t, 3*-math.Expm1(-rate*5), total.sum(), 1e-9)
		h.outgrown = true
		require.Equal(t, []float64{0, 0, 0}, f.expectHolder(h, first, &total), "they are exchanged")
	}
}

// A role with something in two cuts is worn in both, even before anybody is there.
func TestBothCutsMayCome(t *testing.T) {
	shop := &programme.Shop{Garments: []programme.Garment{
		{Code: "tee", SizeFamily: "top", Sizes: []programme.GarmentSize{{Code: "S"}, {Code: "M"}}},
		{Code: "tee-w", SizeFamily: "top-w", Sizes: []programme.GarmentSize{{Code: "8"}, {Code: "10"}}},
		{Code: "cap", SizeFamily: "one", Sizes: []programme.GarmentSize{{Code: "one"}}},
	}}
	client := &programme.Client{Roles: []programme.Role{{Code: "a", Kit: []programme.KitLine{
		{Garment: "cap", Each: 1}, {Garment: "tee", Each: 2},
		{Garment: "tee-w", Each: 2, CutOf: programme.Former{Garment: "tee"}},
	}}}}
	given := func(staff ...programme.Person) (out [][]string) {
		worn := outfitsOf(shop, client, staff)
		for _, r := range worn.roles {
			require.Equal(t, "a", worn.of[r.Code])
			var of []string
			for l := range linesOf(worn.places[r.Code]) {
				of = append(of, l.Garment)
			}
			out = append(out, of)
		}
		return out
	}
	both := [][]string{{"cap", "tee"}, {"cap", "tee-w"}}
	require.Equal(t, both, given())
	require.Equal(t, both, given(programme.Person{Role: "a", Sizes: map[string]string{"top": "S"}},
		programme.Person{Role: "a", Sizes: map[string]string{"top-w": "8"}}))
}
