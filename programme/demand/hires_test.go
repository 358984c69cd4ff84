package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// drawnHires are two roles with lines that all starters are given or a part of them, some with a
// rest that only those are given who have been there for long enough.
func drawnHires(rng *rand.Rand, together Groups) *hires {
	h := &hires{
		shop: &programme.Shop{Garments: []programme.Garment{{Code: "tee", SizeFamily: "top",
			Sizes: []programme.GarmentSize{{Code: "S"}, {Code: "L"}}}, {Code: "cap", SizeFamily: "top",
			Sizes: []programme.GarmentSize{{Code: "S"}, {Code: "L"}}}}},
		outfits: &outfits{roles: []programme.Role{{Code: "a"}, {Code: "b"}}},
		staff: &Staffing{
			RoleShare: map[string]float64{"a": 0.7, "b": 0.3}, JoinTogether: together, sizesKnown: true,
			Sizes: map[string][]programme.SizeShare{"top": {{Size: "S", Share: 3}, {Size: "L", Share: 9},
				{Size: "XL", Share: 5}}},
			RoleSizes: map[string]map[string][]programme.SizeShare{"a": {"top": {{Size: "S", Share: 1},
				{Size: "L", Share: 4}}}, "b": {"top": {{Size: "S", Share: 3}, {Size: "L", Share: 2}}}},
		},
		rates: []quadrature.Node{{At: 0.6, Weight: 0.75}, {At: 1.9, Weight: 0.25}},
	}
	ends := map[string]float64{"tee": 0.15, "cap": 0.4}
	h.ends = func(garment, _ string) float64 { return ends[garment] }
	for range h.outfits.roles {
		var lines []issued
		for range 1 + rng.IntN(3) {
			l := &programme.KitLine{Garment: []string{"tee", "cap"}[rng.IntN(2)], Each: 1 + rng.IntN(4)}
			x := issued{l, []float64{1, 0.5}[rng.IntN(2)], 0}
			x.whole = x.part
			if l.Each > 1 && rng.IntN(2) == 0 {
				l.First, x.whole = 1, x.part*[]float64{0, 0.3, 0.8}[rng.IntN(3)]
			}
			lines = append(lines, x)
		}
		h.lines = append(h.lines, lines)
	}
	return h
}

// arrivals is the distribution of the pieces of lines that starters take who come one by one or in
// groups, each of a role and, with its share, of the size asked for; each has been there for
// long enough for the rests that come due before a point that is even between 0 and 1. Starters who are
// given other parts of the kit are others.
func (h *hires) arrivals(rate float64, share map[string]float64, is func(*programme.KitLine) bool) pmf {
	all := certainly(0)
	for _, part := range []float64{0.5, 1} {
		one, some := map[int]float64{}, false
		for i, r := range h.outfits.roles {
			takes := share[r.Code] * h.staff.RoleShare[r.Code]
			one[0] += h.staff.RoleShare[r.Code] - takes
			const points = 10 // every chance of a rest is a whole number of tenths
			for u := range points {
				pieces := 0
				for _, l := range h.lines[i] {
					if l.part == part && is(l.KitLine) {
						some = true
						pieces += l.AtFirst()
						if (float64(u)+0.5)/points < l.whole/l.part {
							pieces += l.Each - l.AtFirst()
						}
					}
				}
				one[pieces] += takes / points
			}
		}
		if !some {
			continue
		}
		f := pmf{0, make([]float64, 20)}
		for n, p := range one {
			f.p[n] += p
		}
		groups := h.staff.JoinTogether
		if len(groups) == 0 {
			groups = Groups{{At: 1, Weight: 1}}
		}
		var of mixture
		for _, g := range groups {
			people, sum := certainly(0), mixture{}
			size, power := mixture{}, f.trimmed()
			for chance := 1 / g.At; chance > 1e-12; chance *= 1 - 1/g.At {
				size.add(chance, power)
				power = power.plus(f)
			}
			for n := range 25 {
				sum.add(distuv.Poisson{Lambda: rate * part / g.At}.Prob(float64(n)), people)
				people = people.plus(size.pmf())
			}
			of.add(g.Weight, sum.pmf())
		}
		all = all.plus(of.pmf())
	}
	return all
}

func requireClose(t *testing.T, want, got pmf, off float64) {
	t.Helper()
	have := map[int]float64{}
	got.each(func(n int, p float64) { have[n] += p })
	want.each(func(n int, p float64) { have[n] -= p })
	for n, p := range have {
		require.InDelta(t, 0, p, off, "P(%d)", n)
	}
}

// What starters take of a line, a garment and all, by going through how many come and what each takes.
func TestWhatStartersTakeIsAddedUpPersonByPerson(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 5))
	for i := range 24 {
		var together Groups
		if i%3 == 0 {
			together = Groups{{At: 1, Weight: 0.4}, {At: 2.5, Weight: 0.6}}
		}
		h := drawnHires(rng, together)
		tee := func(l *programme.KitLine) bool { return l.Garment == "tee" }
		any := func(*programme.KitLine) bool { return true }
		for _, is := range []func(*programme.KitLine) bool{tee, any} {
			var m mixture
			for _, r := range h.rates {
				m.add(r.Weight, h.arrivals(r.At, map[string]float64{"a": 1, "b": 1}, is))
			}
			sum, pieces := 0.0, 0.0
			for r, role := range h.outfits.roles { // expected of one starter
				for _, l := range h.lines[r] {
					if is(l.KitLine) {
						n := h.staff.RoleShare[role.Code] * (l.part*float64(l.AtFirst()) +
							l.whole*float64(l.Each-l.AtFirst()))
						sum, pieces = sum+n*h.ends(l.Garment, ""), pieces+n
					}
				}
			}
			requireClose(t, m.pmf().withEndings(sum/max(pieces, 1e-9)), h.all(is), 3e-7)
		}
		// Of the small size a quarter of those who are of either; in their roles a fifth and three fifths.
		var m mixture
		for _, r := range h.rates {
			m.add(r.Weight, h.arrivals(r.At, map[string]float64{"a": 0.2, "b": 0.6}, tee))
		}
		requireClose(t, m.pmf().withEndings(0.15), h.sized(programme.SKU{Garment: "tee", Size: "S"}), 3e-7)
	}
	require.Equal(t, certainly(0), drawnHires(rng, nil).sized(programme.SKU{Garment: "coat", Size: "S"}))
}

// What is not known of a size's share among starters has the mean and the variance of gonum's Beta distribution.
func TestWhatIsNotKnownOfASizesShare(t *testing.T) {
	h := drawnHires(rand.New(rand.NewPCG(1, 1)), nil)
	h.staff.sizesKnown = false
	mean, square := 0.0, 0.0
	for _, n := range h.shares(&h.shop.Garments[0], "S") {
		mean, square = mean+n.Weight*n.At, square+n.Weight*n.At*n.At
	}
	beta := distuv.Beta{Alpha: 3, Beta: 9}
	require.InDelta(t, beta.Mean(), mean, 1e-12)
	require.InDelta(t, beta.Variance(), square-mean*mean, 1e-12)
	h.staff.Sizes["top"] = []programme.SizeShare{{Size: "S", Share: 4}}
	require.Equal(t, []quadrature.Node{{At: 1, Weight: 1}}, h.shares(&h.shop.Garments[0], "S"), "no other")
}

// Starters who are known already are part of those who are expected.
func TestKnownStartersArePartOfTheIntake(t *testing.T) {
	in := &Input{AsOf: 1000, Shop: &programme.Shop{}, Client: &programme.Client{}}
	in.Staffing.Joining = wear.Gamma{Count: 9, Exposure: 1.5}
	in.Staffing.Months = wear.NewSeason([12]float64{})
	expected := 6 * 200 / 365.2425
	for known, want := range map[int]float64{0: expected, 2: expected - 2, 3: expected - 3, 4: 0} {
		mean := 0.0
		for _, n := range newHires(in, &outfits{}, 200, known).rates {
			mean += n.Weight * n.At
		}
		require.InDelta(t, want, mean, 1e-9, "%d known", known)
	}
	require.Zero(t, newHires(in, &outfits{}, 0, 0).rates[0].At, "no time, no starters")

	// The rest of a line follows four weeks later: for those of the days before, where they stay.
	in.Staffing.Leaving, in.Staffing.LeavingEarly = wear.Certain(0.5), wear.Certain(2)
	l := &programme.KitLine{Each: 3, First: 1, RestAfterWeeks: 4}
	there := math.Exp(-2 * 28 / 365.2425)
	for days, want := range map[int]float64{20: 0, 28: 0, 29: there / 29, 70: there * 42 / 70} {
		require.InDelta(t, want, in.there(l, days), 1e-9, "%d days", days)
	}
	require.Zero(t, in.there(l, 0), "no time, no starters")
	require.InDelta(t, 1, in.there(&programme.KitLine{Each: 3}, 20), 0)
}

// Each pace that may be somebody's comes with each moment of leaving, by the product of their chances.
func TestPacesBesideMomentsOfLeaving(t *testing.T) {
	stay := retention{[]quadrature.Node{{At: 12, Weight: 0.5}, {At: 3, Weight: 0.3}, {At: 9, Weight: 0.2}}}
	both := stay.times([]quadrature.Node{{At: 0.5, Weight: 0.25}, {At: 2, Weight: 0.75}})
	require.Len(t, both.moments, 6)
	for i, m := range both.moments {
		of := stay.moments[i%3]
		require.Equal(t, quadrature.Node{At: of.At, Weight: []float64{0.25, 0.75}[i/3] * of.Weight}, m)
	}
	require.Equal(t, stay, stay.times(nil))
	require.Equal(t, []quadrature.Node{{At: 0, Weight: 1}}, until(-3).moments)
}

// What is due last is taken by those who have all the rest.
func TestPortionsOfAKit(t *testing.T) {
	line := func(each, first int, part, whole float64) issued {
		return issued{&programme.KitLine{Each: each, First: first}, part, whole}
	}
	got := portions([]issued{line(3, 0, 0.5, 0.5), line(5, 2, 0.5, 0.1), line(4, 1, 0.5, 0.4), line(2, 1, 0.5, 0.4)})
	want := []portion{{7, 0.2}, {11, 0.6}, {14, 0.2}}
	require.Len(t, got, len(want))
	for i, p := range got {
		require.Equal(t, want[i].pieces, p.pieces)
		require.InDelta(t, want[i].share, p.share, 1e-12)
	}
}

// Who starts on which day is given which line, day by day: the one in force then, where it is worn
// within the days looked at and an order of today is for it; the rest of it where it follows
// by then and the starter stays.
func TestLinesThatStartersAreGiven(t *testing.T) {
	today := programme.NewDate(2026, 8, 3)
	in := &Input{AsOf: today}
	in.Staffing = Staffing{Months: wear.NewSeason([12]float64{}), Leaving: wear.Certain(0.5),
		LeavingEarly: wear.Certain(2)}
	old := programme.KitLine{Garment: "apron", Colour: "red", Each: 3, Until: today + 30}
	next := programme.KitLine{Garment: "apron", Colour: "black", Each: 3, First: 2, RestAfterWeeks: 4, From: today + 31,
		InsteadOf: old.Former()}
	lines := programme.Succession{old, next}
	stays := math.Exp(-2 * 28 / 365.2425)
	requireGiven := func(want []issued, got []issued, name ...any) {
		t.Helper()
		require.Len(t, got, len(want), name...)
		for i := range want {
			require.Equal(t, want[i].Colour, got[i].Colour, name...)
			require.InDelta(t, want[i].part, got[i].part, 1e-9, name...)
			require.InDelta(t, want[i].whole, got[i].whole, 1e-9, name...)
		}
	}
	requireGiven([]issued{{&old, 30. / 70, 30. / 70}, {&next, 40. / 70, stays * 12 / 70}}, in.issuedOf(lines, 70),
		"up to the forty-second day the rest comes due")
	requireGiven([]issued{{&old, 1, 1}}, in.issuedOf(lines, 30))
	in.LeadDays = 31
	requireGiven([]issued{{&next, 1, stays * 42 / 70}}, in.issuedOf(lines, 70),
		"an order of today comes when the new one is worn")
	in.LeadDays = 30
	requireGiven([]issued{{&old, 30. / 70, 30. / 70}}, in.issuedOf(lines, 70),
		"a later order comes in time for the new one")

	in.LeadDays = 0
	winter := programme.Succession{{Garment: "jacket", Colour: "blue", Each: 1, Months: programme.Months{}}}
	for _, m := range []int{11, 12, 1, 2} {
		winter[0].Months[m-1] = true
	}
	until := programme.NewDate(2026, 11, 1).Sub(today)
	require.Empty(t, in.issuedOf(winter, until-1), "nobody before the season")
	requireGiven([]issued{{&winter[0], 1, 1}}, in.issuedOf(winter, until), "all on its first day")

	// A kit's line that is always there goes without days; both roads agree.
	always := programme.Succession{{Garment: "tee", Colour: "white", Each: 3, First: 1, RestAfterWeeks: 4}}
	short := issuedLines(in, &outfits{roles: []programme.Role{{Code: "a"}},
		places: map[string][]place{"a": {{lines: always}}}}, 70)
	requireGiven(in.issuedOf(always, 70), short[0])
	require.InDelta(t, stays*42/70, short[0][0].whole, 1e-9)
}
