package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// A line is the sum of what wears out, what starters take who may come and who are known, and what is exchanged; its
// causes share the first as the weeks within the days say, and add up to its mean.
func TestALineIsPutTogether(t *testing.T) {
	f := &forecast{scene: &scene{in: &Input{AsOf: 1000}, lines: []programme.SKU{{Garment: "tee"}}, owed: []int{4}}}
	f.weekly = [][]byCause{{{programme.CauseWorn: 0.2, programme.CauseMishap: 0.1},
		{programme.CauseWorn: 0.5, programme.CausePrint: 0.7}}}
	worn, hired, starters, resized := pmf{0, []float64{0.25, 0.5, 0.25}}, pmf{0, []float64{0.5, 0, 0.5}},
		pmf{3, []float64{0.8, 0.2}}, pmf{0, []float64{0.9, 0.1}}
	for _, kit := range []float64{0, 2, 5} {
		l := f.line(0, worn, hired, starters, resized, kit, 10)
		require.Equal(t, 4, l.Owed)
		require.InDelta(t, 1+1+3.2+0.1, l.Mean, 1e-12)
		part := 3.0 / 7 // of the second week
		all := 0.3 + 1.2*part
		require.InDelta(t, (0.2+0.5*part)/all, l.ByCause.Worn, 1e-12)
		require.InDelta(t, 0.7*part/all, l.ByCause.Print, 1e-12)
		require.InDelta(t, 0.1/all, l.ByCause.Mishap, 1e-12)
		require.InDelta(t, kit, l.ByCause.Kit, 0)
		require.InDelta(t, 0.1, l.ByCause.Resize, 1e-12)
		require.InDelta(t, 1+max(0, 3.2-kit), l.ByCause.Hires, 1e-12)
	}
	f.weekly = [][]byCause{{{}, {}}}
	require.InDelta(t, 0, f.line(0, certainly(0), hired, starters, resized, 0, 10).ByCause.Endings.Sum(), 0)
}

// The garments are the sums of their lines in all colours and sizes, each with its own starters and exchanges.
func TestGarmentsAreTheSumsOfTheirLines(t *testing.T) {
	f := &forecast{scene: &scene{lines: []programme.SKU{{Garment: "cap"}, {Garment: "tee", Size: "M"},
		{Garment: "tee", Size: "S"}, {Garment: "vest"}}}}
	cap, tee := &programme.KitLine{Garment: "cap", Each: 1}, &programme.KitLine{Garment: "tee", Each: 3}
	h := &hires{
		outfits: &outfits{roles: []programme.Role{{Code: "a"}}},
		staff:   &Staffing{RoleShare: map[string]float64{"a": 1}}, rates: []quadrature.Node{{At: 0.5, Weight: 1}},
		lines: [][]issued{{{cap, 1, 1}, {tee, 1, 1}}}, ends: func(string, string) float64 { return 0 },
	}
	resized := &resizes{rates: []quadrature.Node{{At: 0.2, Weight: 1}}, byKind: map[string]takers{"tee": {3: 2}}}
	got := f.garments(map[string]pmf{"tee": {0, []float64{0.5, 0.5}}, "vest": certainly(2)}, h,
		[]pmf{certainly(1), certainly(2), {0, []float64{0.75, 0.25}}, certainly(0)}, resized)
	require.Len(t, got, 3)
	for i, want := range []struct {
		garment string
		mean    float64
	}{{"cap", 0.5 + 1}, {"tee", 0.5 + 0.5*3 + 2.25 + 2*3*0.2}, {"vest", 2}} {
		require.Equal(t, want.garment, got[i].Garment)
		require.InDelta(t, want.mean, got[i].Mean, 1e-9, want.garment)
	}
}

// Who is known to start, from tomorrow to the last of the days, and whose sizes are known; what they are
// given wears until the end of the days, or of the line.
func TestKnownStartersAndWhatEndsOfTheirPieces(t *testing.T) {
	in := oneTee(t, func(*programme.Garment, *programme.Client) {})
	person := func(start programme.Date, size string) programme.Person {
		return programme.Person{Role: "floor", Start: start, Sizes: map[string]string{"top": size}}
	}
	in.Staff = []programme.Person{person(in.AsOf, "M"), person(in.AsOf+1, "M"), person(in.AsOf+20, "L"),
		person(in.AsOf+21, "M"), person(in.AsOf+9, ""), person(in.AsOf+9, "6XL")}
	f := &forecast{scene: newScene(in)}
	require.Equal(t, 2, f.people(20))
	require.Equal(t, 3, f.people(21))
	require.Zero(t, f.people(0))

	tee := programme.SKU{Garment: "tee", Size: "M"}
	f = &forecast{scene: &scene{in: in, lines: []programme.SKU{tee}}}
	weekly := []float64{0, 0.01}
	for w := range 12 {
		weekly = append(weekly, 0.01+0.02*float64(w+1)) // two in a hundred a week
	}
	ends := &starterEnds{memo: map[kitPiece][]float64{{"tee", ""}: weekly}}
	for last, weeks := range map[programme.Date]float64{0: 6, in.AsOf + 70: 6, in.AsOf + 56: 6, in.AsOf + 35: 3,
		in.AsOf + 14: 0} {
		f.starters = []starter{{Short{SKU: tee, Pieces: 2}, 0, in.AsOf + 14, last, 0.8}}
		q := 0.02 * weeks
		want := map[int]float64{0: 0.2, 2: 0.8 * (1 - q) * (1 - q), 3: 0.8 * 2 * q * (1 - q), 4: 0.8 * q * q}
		requireSame(t, want, f.startersBy(56, ends)[0])
		requireSame(t, map[int]float64{0: 1}, f.startersBy(13, ends)[0])
	}
}

// Weeks are filled by cause: replacements as they are expected, scaled to the line's, starters as the intake goes,
// a kit in its week and exchanges evenly over the days.
func TestWeeksAreFilledByCause(t *testing.T) {
	in := oneTee(t, func(*programme.Garment, *programme.Client) {})
	tee := programme.SKU{Garment: "tee", Size: "M"}
	f := &forecast{scene: &scene{in: in, lines: []programme.SKU{tee}},
		weekly: [][]byCause{{{programme.CauseWorn: 0.3}, {programme.CauseWorn: 0.1, programme.CauseMishap: 0.2},
			{programme.CauseWorn: 0.7}}}}
	f.starters = []starter{{Short{SKU: tee, Pieces: 2, Begins: in.AsOf + 8}, 0, in.AsOf + 8, 0, 1}}
	const days = 17
	by := programme.Causes{Endings: programme.Endings[float64]{Worn: 1, Mishap: 0.2}, Hires: 3, Kit: 2, Resize: 0.5}
	m := Muster{Weeks: 3, Lines: []Line{{SKU: tee, ByCause: by}}}
	f.byWeek(&m, days)
	sum := 0.3 + 0.3 + 0.7*3/7
	for w, part := range []float64{7. / 17, 7. / 17, 3. / 17} {
		got := m.Weekly[w]
		require.InDelta(t, []float64{0.3, 0.1, 0.3}[w]*1.2/sum, got.Worn, 1e-9, "week %d", w)
		require.InDelta(t, []float64{0, 0.2, 0}[w]*1.2/sum, got.Mishap, 1e-9, "week %d", w)
		require.InDelta(t, 3*part, got.Hires, 1e-9, "week %d", w)
		require.InDelta(t, 0.5*part, got.Resize, 1e-9, "week %d", w)
		require.InDelta(t, []float64{0, 2, 0}[w], got.Kit, 0, "week %d", w)
		require.InDelta(t, got.Sum(), m.Lines[0].Weekly[w], 1e-12)
	}
	total := 0.0
	for _, x := range m.Lines[0].Weekly {
		total += x
	}
	require.InDelta(t, by.Sum(), total, 1e-9)
	require.False(t, math.IsNaN(f.hireShare(0, 0)), "no days, no starters")
}
