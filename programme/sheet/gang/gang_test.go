package gang_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/sheet/gang"
)

// drawProblem invents a small problem with artworks of one or of many sizes.
func drawProblem(t *rapid.T) *gang.Problem {
	slots := rapid.IntRange(2, 5).Draw(t, "slots")
	p := &gang.Problem{PerOrder: rapid.Bool().Draw(t, "per order"),
		Breaks: []gang.Break{{From: 1, Price: float64(rapid.IntRange(1, 9).Draw(t, "price"))}}}
	if rapid.Bool().Draw(t, "break") {
		p.Breaks = append(p.Breaks, gang.Break{From: rapid.IntRange(2, 9).Draw(t, "from"),
			Price: p.Breaks[0].Price * 0.7})
	}
	setUp := float64(rapid.IntRange(0, 30).Draw(t, "set-up"))
	p.SetUp = func([]int) float64 { return setUp }
	sizes := make([]int, rapid.IntRange(1, 3).Draw(t, "artworks"))
	for j := range sizes {
		sizes[j] = 1
		if rapid.Bool().Draw(t, "large") {
			sizes[j] = 2
		}
		p.Need = append(p.Need, rapid.IntRange(1, 7).Draw(t, "need"))
		p.Size = append(p.Size, float64(sizes[j])/float64(slots))
	}
	p.Fits = func(copies []int) bool {
		n := 0
		for j, c := range copies {
			n += c * sizes[j]
		}
		return n <= slots
	}
	if same(sizes) && sizes[0] == 1 {
		p.Slots = slots
	}
	return p
}

func same(v []int) bool {
	for _, x := range v {
		if x != v[0] {
			return false
		}
	}
	return true
}

// brute tries every pair of layouts with every pair of runs up to the need.
func brute(p *gang.Problem) float64 {
	patterns := every(p)
	most := 0
	for _, n := range p.Need {
		most = max(most, n)
	}
	best := -1.0
	try := func(layouts ...gang.Layout) {
		if !covers(p, layouts) {
			return
		}
		if s := p.Cost(append([]gang.Layout(nil), layouts...)); best < 0 || s.Net() < best {
			best = s.Net()
		}
	}
	for i, a := range patterns {
		for r := 1; r <= most; r++ {
			try(gang.Layout{Copies: a, Run: r})
			for _, b := range patterns[i:] {
				for q := 1; q <= most; q++ {
					try(gang.Layout{Copies: a, Run: r}, gang.Layout{Copies: b, Run: q})
				}
			}
		}
	}
	return best
}

func every(p *gang.Problem) (out [][]int) {
	var grow func(copies []int, from int)
	grow = func(copies []int, from int) {
		if !p.Fits(copies) {
			return
		}
		out = append(out, append([]int(nil), copies...))
		for j := from; j < len(copies); j++ {
			copies[j]++
			grow(copies, j)
			copies[j]--
		}
	}
	grow(make([]int, len(p.Need)), 0)
	return out[1:]
}

func covers(p *gang.Problem, layouts []gang.Layout) bool {
	for j, n := range p.Need {
		for _, l := range layouts {
			n -= l.Copies[j] * l.Run
		}
		if n > 0 {
			return false
		}
	}
	return true
}

// TestSmallProblemsAreSolvedToTheOptimum compares with every way to print with
// one or two layouts; the solver may use more layouts, so it may be better.
func TestSmallProblemsAreSolvedToTheOptimum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		s, err := gang.Solve(p, gang.Options{Iterations: 3000})
		require.NoError(t, err)
		require.True(t, covers(p, s.Layouts))
		for _, l := range s.Layouts {
			require.True(t, p.Fits(l.Copies))
			require.Positive(t, l.Run)
		}
		again := p.Cost(s.Layouts)
		require.InDelta(t, again.Net(), s.Net(), 1e-9)
		if best := brute(p); best >= 0 {
			// Images of unequal size are searched, not enumerated: what is not
			// proven may miss the optimum of so small a problem by an odd sheet.
			require.LessOrEqual(t, s.Net(), best+max(1e-9, 0.1*math.Abs(best)))
			if s.Proven && len(s.Layouts) <= 2 {
				require.InDelta(t, best, s.Net(), 1e-9)
			}
		}
	})
}

func TestNeverWorseThanTheSimpleRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		s, err := gang.Solve(p, gang.Options{Iterations: 1})
		require.NoError(t, err)
		for _, simple := range gang.Simple(p) {
			require.True(t, covers(p, simple.Layouts), simple.Name)
			require.LessOrEqual(t, s.Net(), simple.Net()+1e-9, simple.Name)
		}
	})
}

func TestABoundOnLayoutsThatCannotHoldAllIsAnError(t *testing.T) {
	p := &gang.Problem{
		Need: []int{1, 1, 1}, Size: []float64{0.5, 0.5, 0.5}, Slots: 2, MaxLayouts: 1,
		SetUp: func([]int) float64 { return 1 }, Breaks: []gang.Break{{From: 1, Price: 1}},
	}
	_, err := gang.Solve(p, gang.Options{Iterations: 500})
	require.ErrorIs(t, err, gang.ErrNoSolution)
}
