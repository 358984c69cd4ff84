package gang

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// everyWay tries every number of layouts up to most, all runs up to the greatest need, and all
// copies on each; it returns the least cost, or +Inf where nothing covers the need.
func everyWay(p *Problem, most int) float64 {
	least := math.Inf(1)
	var layouts []Layout
	var copies func(j, i int) // of artwork j on layout i and the following
	copies = func(j, i int) {
		if j == len(p.Need) {
			least = min(least, p.net(layouts))
			return
		}
		printed, used := 0, 0
		for _, l := range layouts {
			printed += l.Copies[j] * l.Run
		}
		if printed >= p.Need[j] {
			copies(j+1, 0)
			return
		}
		if i == len(layouts) {
			return
		}
		for _, c := range layouts[i].Copies {
			used += c
		}
		for c := range p.Slots - used + 1 {
			layouts[i].Copies[j] = c
			copies(j, i+1)
		}
		layouts[i].Copies[j] = 0
	}
	var runs func(limit int)
	runs = func(limit int) {
		if len(layouts) > 0 {
			copies(0, 0)
		}
		if len(layouts) == most {
			return
		}
		for run := 1; run <= limit; run++ {
			layouts = append(layouts, Layout{make([]int, len(p.Need)), run})
			runs(run)
			layouts = layouts[:len(layouts)-1]
		}
	}
	runs(slices.Max(p.Need))
	return least
}

// What is called proven costs as little as the best of every way to print, also where
// nothing was known before, and where so few layouts are allowed that there may be no way.
func TestTheOptimumIsWhatEveryWayComesTo(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	none, two, three := 0, 0, 0
	for i := range 120 {
		p := &Problem{
			Slots: 2 + rng.IntN(3), PerOrder: rng.IntN(2) == 0, MaxLayouts: rng.IntN(4),
			Breaks: []Break{{From: 1, Price: float64(2 + rng.IntN(6))}, {From: 3 + rng.IntN(5), Price: 1.5}},
		}
		setUp := float64(rng.IntN(9))
		p.SetUp = func([]int) float64 { return setUp }
		for range 2 + rng.IntN(3) {
			p.Need = append(p.Need, 1+rng.IntN(7))
			p.Size = append(p.Size, 1/float64(p.Slots))
		}
		s := newSolver(p, Options{})
		if i%2 == 0 {
			for _, c := range Simple(p) {
				s.offer(c)
			}
		}
		s.exact(math.MaxInt64)
		want := everyWay(p, min(3, s.mostLayouts()))
		if math.IsInf(want, 1) && s.mostLayouts() <= 3 {
			require.False(t, s.found)
			none++
			continue
		}
		require.True(t, s.proven)
		if s.mostLayouts() <= 3 || len(s.best.Layouts) <= 3 {
			require.InDelta(t, want, s.best.Net(), 1e-9, "%+v", p)
		}
		for j, need := range p.Need {
			for _, l := range s.best.Layouts {
				need -= l.Copies[j] * l.Run
			}
			require.LessOrEqual(t, need, 0)
		}
		for _, l := range s.best.Layouts {
			used := 0
			for _, c := range l.Copies {
				used += c
			}
			require.LessOrEqual(t, used, p.Slots)
		}
		require.LessOrEqual(t, s.setUpFloor(len(s.best.Layouts))+s.printFloor(), s.best.Net()+1e-9)
		switch len(s.best.Layouts) {
		case 2:
			two++
		case 3:
			three++
		}
	}
	require.Positive(t, none)
	require.Greater(t, two, 10)
	require.Greater(t, three, 2)
}

// How much there is to go through is told well enough in advance: against a count of all
// divisions of a number of sheets into runs.
func TestTheWorkOfAnEnumerationIsForetold(t *testing.T) {
	var divisions func(total, runs, limit int) int
	divisions = func(total, runs, limit int) (n int) {
		if runs == 1 {
			if total <= limit {
				return 1
			}
			return 0
		}
		for first := 1; first <= min(limit, total-runs+1); first++ {
			n += divisions(total-first, runs-1, first)
		}
		return n
	}
	for _, c := range []struct{ slots, need, artworks, runs int }{{4, 100, 8, 2}, {5, 400, 10, 2}, {4, 120, 8, 3},
		{6, 300, 12, 3}, {3, 90, 6, 4}} {
		p := &Problem{Slots: c.slots, SetUp: func([]int) float64 { return 1 }, Breaks: []Break{{From: 1, Price: 2}}}
		for range c.artworks {
			p.Need, p.Size = append(p.Need, c.need), append(p.Size, 1/float64(c.slots))
		}
		e := &enumeration{solver: newSolver(p, Options{})}
		total := p.floor()
		// From the first number of sheets on, as many as could cost no more than the best known.
		for _, more := range []int{1, 10, 25} {
			e.found, e.best = true, Solution{SetUp: float64(c.runs), Print: 2 * float64(total+more)}
			count := 0
			for n := total; n < total+more; n++ {
				count += divisions(n, c.runs, n)
			}
			cells := float64(count*c.artworks) * math.Pow(float64(c.slots+1), float64(c.runs-1))
			e.work = int64(cells / 1.6)
			require.True(t, e.vast(c.runs), "%+v, %d more", c, more)
			e.work = int64(cells * 1.6)
			require.False(t, e.vast(c.runs), "%+v, %d more", c, more)
		}
	}
}

// The least that any division of so many sheets pays, by hand: 9 each, from ten on 5; three
// overs of use at 2 each.
func TestTheLeastThatSheetsCost(t *testing.T) {
	p := &Problem{
		Need: []int{4}, Size: []float64{0.5}, SetUp: func(c []int) float64 { return 7 + float64(c[0]) },
		Breaks: []Break{{From: 1, Price: 9}, {From: 10, Price: 5}}, Worth: []float64{2}, Useful: []int{3},
	}
	e := &enumeration{solver: newSolver(p, Options{})}
	for total, want := range map[int][2]float64{1: {5 - 6, 9 - 6}, 5: {25 - 6, 45 - 6}, 6: {30 - 6, 50 - 6},
		12: {60 - 6, 60 - 6}} {
		p.PerOrder = false
		require.InDelta(t, want[0], e.totalFloor(total), 0)
		p.PerOrder = true
		require.InDelta(t, want[1], e.totalFloor(total), 0)
	}
	require.InDelta(t, 2*5-6, e.printFloor(), 0, "two sheets hold four")
	require.InDelta(t, 3*8, e.setUpFloor(3), 0)
	require.True(t, e.uniform())
	p.Need, p.SetUp = []int{4, 4}, func(c []int) float64 { return float64(3*c[0] + 2*c[1]) }
	require.InDelta(t, 2*2, e.setUpFloor(2), 0, "the cheapest artwork alone")
	require.False(t, e.uniform())
}

// An enumeration that comes to the end of its effort proves nothing.
func TestAnEnumerationGivesUp(t *testing.T) {
	p := &Problem{Need: []int{31, 17, 11}, Slots: 4, Size: []float64{0.25, 0.25, 0.25},
		SetUp: func([]int) float64 { return 5 }, Breaks: []Break{{From: 1, Price: 2}}}
	for work, proven := range map[int64]bool{1: false, 600: false, math.MaxInt64: true} {
		s := newSolver(p, Options{})
		s.exact(work)
		require.Equal(t, proven, s.proven, "%d", work)
	}
	p.Worth, p.Useful = []float64{1, 1, 1}, []int{9, 9, 9}
	s := newSolver(p, Options{})
	s.exact(math.MaxInt64)
	require.False(t, s.proven, "where overs are worth something longer runs may be better")
	stopped := newSolver(p, Options{Stop: func() bool { return true }})
	stopped.exact(math.MaxInt64)
	require.False(t, stopped.found)
}
