package gang

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

// The least sheets of given layouts against the simplex method of a library, which solves
// the problem itself and not its dual; whole runs cover the need, and none can be lowered.
func TestRunsAgainstALibrarysSimplex(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, k := rapid.IntRange(1, 7).Draw(t, "artworks"), rapid.IntRange(1, 5).Draw(t, "layouts")
		need := rapid.SliceOfN(rapid.IntRange(1, 200), m, m).Draw(t, "need")
		layouts := make([]Layout, k)
		for i := range layouts {
			layouts[i].Copies = rapid.SliceOfN(rapid.IntRange(0, 4), m, m).Draw(t, "copies")
			layouts[i].Copies[rapid.IntRange(0, m-1).Draw(t, "on it")]++ // the library takes no empty layout
		}
		r := leastRuns{need: need}
		bound, ok := r.solve(layouts)
		for j := range need {
			if !onSome(layouts, j) {
				require.False(t, ok)
				return
			}
		}
		require.True(t, ok)

		// The runs are the first k variables, then a surplus for each artwork.
		a := mat.NewDense(m, k+m, nil)
		b, c := make([]float64, m), make([]float64, k+m)
		for i := range layouts {
			c[i] = 1
		}
		for j := range need {
			for i := range layouts {
				a.Set(j, i, float64(layouts[i].Copies[j]))
			}
			a.Set(j, k+j, -1)
			b[j] = float64(need[j])
		}
		least, _, err := lp.Simplex(c, a, b, 1e-9, nil)
		require.NoError(t, err)
		if k == 1 {
			require.InDelta(t, math.Ceil(least-1e-7), bound, 1e-9, "a single run is whole")
		} else {
			require.InDelta(t, least, bound, 1e-6)
		}

		sheets := 0
		for i := range layouts {
			sheets += layouts[i].Run
		}
		require.GreaterOrEqual(t, float64(sheets), bound-1e-6)
		require.Less(t, float64(sheets), bound+float64(k), "each rounded up at the most")
		for j := range need {
			printed := 0
			for i := range layouts {
				printed += layouts[i].Copies[j] * layouts[i].Run
			}
			require.GreaterOrEqual(t, printed, need[j])
			require.Equal(t, need[j]-printed, r.short[j])
		}
		for i := range layouts {
			require.GreaterOrEqual(t, layouts[i].Run, 0)
			if layouts[i].Run == 0 {
				continue
			}
			needed := false
			for j, over := range r.short {
				needed = needed || layouts[i].Copies[j] > -over
			}
			require.True(t, needed, "run %d can be lowered", i)
		}
	})
}

// drawSolver invents a problem of some sizes on sheets that hold what adds up to so many parts.
func drawSolver(t *rapid.T) *solver {
	slots := rapid.IntRange(2, 12).Draw(t, "parts")
	m := rapid.IntRange(1, 5).Draw(t, "artworks")
	p := &Problem{SetUp: func([]int) float64 { return 3 }, Breaks: []Break{{From: 1, Price: 1}}}
	sizes := rapid.SliceOfN(rapid.IntRange(1, max(1, slots/2)), m, m).Draw(t, "sizes")
	for _, n := range sizes {
		p.Need = append(p.Need, rapid.IntRange(1, 60).Draw(t, "need"))
		p.Size = append(p.Size, float64(n)/float64(slots))
	}
	p.Fits = func(copies []int) bool {
		n := 0
		for j, c := range copies {
			n += c * sizes[j]
		}
		return n <= slots
	}
	return newSolver(p, Options{})
}

// shortestRun is the least at which need divided by it and rounded up fits, by trying all.
func shortestRun(s *solver, need []int) int {
	for run := 1; run <= slices.Max(need); run++ {
		copies := make([]int, len(need))
		for j, n := range need {
			copies[j] = int(math.Ceil(float64(max(0, n)) / float64(run)))
		}
		if s.p.Fits(copies) {
			return run
		}
	}
	return 0
}

// The last layout prints what is left in the shortest run there is.
func TestWhatIsLeftIsPrintedInTheShortestRun(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSolver(t)
		left := slices.Clone(s.p.Need)
		for j := range left {
			left[j] -= rapid.IntRange(0, 70).Draw(t, "printed")
		}
		want := shortestRun(s, left)
		l, ok := s.closing(left)
		require.Equal(t, want > 0, ok)
		if !ok {
			return
		}
		require.Equal(t, want, l.Run)
		for j, n := range left {
			require.GreaterOrEqual(t, l.Copies[j]*l.Run, n)
			require.Equal(t, n > 0, l.Copies[j] > 0, "nothing that is not wanted")
		}
		require.True(t, s.p.Fits(l.Copies))
	})
}

// The simple rules by what they say: as many of one artwork as fit; every artwork on one
// layout; the shortest run of copies in the ratio of the need.
func TestTheSimpleRulesDoAsTheySay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSolver(t)
		rules := Simple(s.p)
		require.Equal(t, "One artwork a sheet", rules[0].Name)
		require.Len(t, rules[0].Layouts, len(s.p.Need))
		for _, l := range rules[0].Layouts {
			j := slices.IndexFunc(l.Copies, func(c int) bool { return c > 0 })
			copies := make([]int, len(s.p.Need))
			for copies[j] = 1; s.p.Fits(copies); copies[j]++ {
			}
			copies[j]--
			require.Equal(t, copies, l.Copies)
			require.Equal(t, int(math.Ceil(float64(s.p.Need[j])/float64(copies[j]))), l.Run)
		}
		ones := make([]int, len(s.p.Need))
		for j := range ones {
			ones[j] = 1
		}
		if !s.p.Fits(ones) {
			require.Len(t, rules, 1)
			return
		}
		require.Len(t, rules, 3)
		require.Equal(t, "Everything on one layout", rules[1].Name)
		require.Equal(t, "One layout in the ratio of the need", rules[2].Name)
		require.Equal(t, shortestRun(s, s.p.Need), rules[2].Layouts[0].Run)
		for _, r := range rules[1:] {
			require.Len(t, r.Layouts, 1)
			l := r.Layouts[0]
			run := 0
			for j, n := range s.p.Need {
				run = max(run, int(math.Ceil(float64(n)/float64(l.Copies[j]))))
			}
			require.Equal(t, run, l.Run)
			require.True(t, s.p.Fits(l.Copies))
		}
		// One copy more of what asks for the longest run does not fit, or another would ask for as long a run.
		l := rules[1].Layouts[0]
		for j, n := range s.p.Need {
			if int(math.Ceil(float64(n)/float64(l.Copies[j]))) == l.Run {
				more := slices.Clone(l.Copies)
				more[j]++
				require.False(t, s.p.Fits(more))
			}
		}
	})
}

// Sheets are ordered up to a break where that costs no more: against all numbers up to the last break.
func TestAsManySheetsAreOrderedAsCostLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &Problem{Breaks: []Break{{From: 1, Price: float64(rapid.IntRange(5, 12).Draw(t, "price"))}}}
		for from := 1; rapid.Bool().Draw(t, "another break") && len(p.Breaks) < 4; {
			from += rapid.IntRange(1, 12).Draw(t, "further")
			p.Breaks = append(p.Breaks, Break{from,
				p.Breaks[len(p.Breaks)-1].Price - float64(rapid.IntRange(0, 3).Draw(t, "less"))/2})
		}
		each := func(n int) (v float64) {
			for _, b := range p.Breaks {
				if b.From <= n {
					v = b.Price
				}
			}
			return v
		}
		n := rapid.IntRange(1, 40).Draw(t, "wanted")
		least := math.Inf(1)
		for m := n; m <= 60; m++ {
			least = min(least, float64(m)*each(m))
		}
		order, cost := p.cheapest(n)
		require.InDelta(t, least, cost, 1e-9)
		require.InDelta(t, float64(order)*each(order), cost, 1e-9)
		require.InDelta(t, each(n), p.price(n), 0)
		for m := n; m <= 60; m++ {
			if cost == 0 || math.Abs(float64(m)*each(m)-least) > 1e-9 {
				continue
			}
			if slices.ContainsFunc(p.Breaks, func(b Break) bool { return b.From == m }) || m == n {
				require.GreaterOrEqual(t, order, m, "of equal cost the most sheets")
			}
		}
		// Two layouts by their own runs, and together.
		layouts := []Layout{{Copies: []int{1}, Run: n}, {Copies: []int{2}, Run: 3}}
		_, other := p.cheapest(3)
		p.SetUp = func(c []int) float64 { return 10 * float64(c[0]) }
		p.Need = []int{n + 4}
		require.InDelta(t, cost+other+30, p.net(layouts), 1e-9)
		s := p.Cost(layouts)
		require.InDelta(t, cost+other, s.Print, 1e-9)
		require.InDelta(t, 30, s.SetUp, 0)
		require.Equal(t, 3+n, layouts[0].Run+layouts[1].Run, "what is given stays as it is")
		p.PerOrder = true
		whole, together := p.cheapest(n + 3)
		s = p.Cost(layouts)
		require.InDelta(t, together, s.Print, 1e-9)
		require.Equal(t, whole, s.Sheets())
		require.InDelta(t, together+30, p.net(append(layouts, Layout{Copies: []int{9}})), 1e-9,
			"a layout that is not printed costs nothing")
		p.Worth, p.Useful = []float64{0.25}, []int{1}
		require.InDelta(t, together+30-0.25, p.net(layouts), 1e-9, "two are over, one of use")
		p.Useful[0] = 9
		require.InDelta(t, together+30-0.5, p.net(layouts), 1e-9)
		p.Need[0] = n + 50
		require.InDelta(t, together+30, p.net(layouts), 1e-9, "nothing over")
	})
}

// Part and Spread are each other's reverse, and a part costs what its layouts cost in the whole.
func TestAPartIsTheProblemOfSomeArtworks(t *testing.T) {
	p := &Problem{
		Need: []int{4, 5, 6}, Size: []float64{0.1, 0.2, 0.3}, Breaks: []Break{{From: 1, Price: 2}},
		Worth: []float64{1, 2, 3}, Useful: []int{7, 8, 9},
		Fits:    func(c []int) bool { return c[0]+2*c[1]+3*c[2] <= 10 },
		TryHard: func(c []int, effort int) bool { return c[0]+2*c[1]+3*c[2] <= 10+effort },
		SetUp:   func(c []int) float64 { return float64(c[0] + 10*c[1] + 100*c[2]) },
	}
	part := p.Part([]int{2, 0})
	require.Equal(t, []int{6, 4}, part.Need)
	require.Equal(t, []float64{0.3, 0.1}, part.Size)
	require.Equal(t, []float64{3, 1}, part.Worth)
	require.Equal(t, []int{9, 7}, part.Useful)
	require.True(t, part.Fits([]int{3, 1}))
	require.False(t, part.Fits([]int{3, 2}))
	require.True(t, part.TryHard([]int{3, 2}, 1))
	require.False(t, part.TryHard([]int{3, 3}, 1))
	require.InDelta(t, 203, part.SetUp([]int{2, 3}), 0)
	require.Equal(t, []Layout{{[]int{3, 0, 2}, 5}}, p.Spread([]Layout{{[]int{2, 3}, 5}}, []int{2, 0}))
	require.Equal(t, 4, (&Problem{Need: []int{10, 4}, Size: []float64{0.3, 0.25}}).floor())
	require.Equal(t, 5, (&Problem{Need: []int{10, 5}, Size: []float64{0.3, 0.25}}).floor())
	require.Equal(t, 1, (&Problem{Need: []int{1}, Size: []float64{0}}).floor())
	p.Worth, p.Useful, p.TryHard = nil, nil, nil
	part = p.Part([]int{1})
	require.Nil(t, part.Worth)
	require.Nil(t, part.TryHard)
}

// Nine each, five from ten on: eight sheets of one layout are ordered as ten, and so are two
// layouts of four where all count together; the more go to the layout that is printed most.
func TestRunsGrowToABreak(t *testing.T) {
	p := &Problem{Need: []int{1}, SetUp: func([]int) float64 { return 1 },
		Breaks: []Break{{From: 1, Price: 9}, {From: 10, Price: 5}}}
	runs := func(perOrder bool, runs ...int) (out []int, print float64) {
		p.PerOrder = perOrder
		var layouts []Layout
		for _, r := range runs {
			layouts = append(layouts, Layout{[]int{1}, r})
		}
		s := p.Cost(layouts)
		for _, l := range s.Layouts {
			out = append(out, l.Run)
		}
		return out, s.Print
	}
	for _, c := range []struct {
		perOrder bool
		runs     []int
		want     []int
		print    float64
	}{
		{false, []int{8}, []int{10}, 50}, {false, []int{5}, []int{5}, 45}, {false, []int{4, 8, 0}, []int{10, 4}, 86},
		{false, []int{3, 12}, []int{12, 3}, 87},
		{true, []int{4, 4}, []int{6, 4}, 50}, {true, []int{3, 5}, []int{7, 3}, 50},
		{true, []int{2, 3}, []int{3, 2}, 45}, {true, []int{8, 4}, []int{8, 4}, 60}, {true, []int{10}, []int{10}, 50},
	} {
		got, print := runs(c.perOrder, c.runs...)
		require.Equal(t, c.want, got, "%v", c)
		require.InDelta(t, c.print, print, 0, "%v", c)
	}
	s := p.Cost(nil)
	require.Empty(t, s.Layouts)
}

// The runs about a run, and those of breaks further off, each once.
func TestWhichRunsAreTried(t *testing.T) {
	s := newSolver(&Problem{Breaks: []Break{{From: 1}, {From: 39}, {From: 40}, {From: 100}, {From: 160}, {From: 161}}},
		Options{})
	got := s.runsToTry(100)
	slices.Sort(got)
	require.Len(t, got, 123)
	require.Equal(t, []int{39, 40}, got[:2])
	require.Equal(t, []int{160, 161}, got[len(got)-2:])
	require.Equal(t, got, slices.Compact(slices.Clone(got)))
	require.Equal(t, 0, s.runsToTry(20)[0], "none below 0")
}

// Runs that rounding left too short are raised until the need is covered, and lowered again
// as far as the others allow.
func TestRunsThatAreShortAreRaised(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, k := rapid.IntRange(1, 5).Draw(t, "artworks"), rapid.IntRange(1, 4).Draw(t, "layouts")
		r := leastRuns{need: rapid.SliceOfN(rapid.IntRange(1, 50), m, m).Draw(t, "need")}
		layouts := make([]Layout, k)
		for i := range layouts {
			layouts[i] = Layout{rapid.SliceOfN(rapid.IntRange(0, 3), m, m).Draw(t, "copies"),
				rapid.IntRange(0, 40).Draw(t, "run")}
		}
		for j := range r.need {
			if !onSome(layouts, j) {
				layouts[j%k].Copies[j] = 1
			}
		}
		r.tighten(layouts)
		for j, need := range r.need {
			for _, l := range layouts {
				need -= l.Copies[j] * l.Run
			}
			require.LessOrEqual(t, need, 0)
			require.Equal(t, need, r.short[j])
		}
		for i := range layouts {
			require.GreaterOrEqual(t, layouts[i].Run, 0)
			require.Zero(t, r.spare(&layouts[i]), "none can be lowered")
		}
	})
}
