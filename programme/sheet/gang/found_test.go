package gang_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"text/tabwriter"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
)

// published reads a problem of testdata/sheets/gang and what is known about it: with sheet
// costs the least cost, else the fewest sheets with so many layouts.
func published(t *testing.T, name string, layouts int) (p *gang.Problem, known float64) {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/sheets/gang/" + name + ".csv")
	require.NoError(t, err)
	head := map[string]float64{}
	p = &gang.Problem{MaxLayouts: layouts}
	for line := range strings.Lines(string(data)) {
		if rest, ok := strings.CutPrefix(line, "#"); ok {
			key, value, _ := strings.Cut(rest, ":")
			number, _, _ := strings.Cut(strings.TrimSpace(value), " ")
			head[strings.TrimSpace(key)], _ = strconv.ParseFloat(number, 64)
			continue
		}
		_, cell, _ := strings.Cut(strings.TrimSpace(line), ",")
		n, err := strconv.Atoi(cell)
		require.NoError(t, err, line)
		p.Need = append(p.Need, n)
	}
	p.Slots = int(head["slots"])
	for range p.Need {
		p.Size = append(p.Size, 1/head["slots"])
	}
	setUp, price := head["setup_cost"], head["sheet_cost"]
	known = max(head["optimum"], head["best_known"])
	if layouts > 0 {
		setUp, price, known = 0, 1, head[fmt.Sprintf("optimum_sheets_%d_layouts", layouts)]
	}
	p.SetUp = func([]int) float64 { return setUp }
	p.Breaks = []gang.Break{{From: 1, Price: price}}
	require.Positive(t, known, name)
	return p, known
}

// shopProblem has artworks of unequal sizes, two ink sets, price breaks and, by chance,
// overs that are worth something.
func shopProblem(seed uint64) *gang.Problem {
	rng := rand.New(rand.NewPCG(seed, 12))
	p := &gang.Problem{PerOrder: seed%3 == 2, Breaks: []gang.Break{{From: 1, Price: 9},
		{From: 10 + rng.IntN(10), Price: 7}, {From: 40 + rng.IntN(30), Price: 4.2}}}
	const parts = 24
	sizes := make([]int, 4+rng.IntN(6))
	inks := make([]int, len(sizes))
	for j := range sizes {
		sizes[j], inks[j] = 1+rng.IntN(8), rng.IntN(2)
		p.Need = append(p.Need, 5+rng.IntN(40)*(1+rng.IntN(6)))
		p.Size = append(p.Size, float64(sizes[j])/parts)
		if seed%2 == 1 {
			p.Worth, p.Useful = append(p.Worth, 4*p.Size[j]), append(p.Useful, rng.IntN(30))
		}
	}
	p.SetUp = func(copies []int) float64 {
		var set [2]float64
		for j, c := range copies {
			if c > 0 {
				set[inks[j]] = 11
			}
		}
		return 25 + set[0] + set[1]
	}
	room := func(copies []int, lost int) bool { // what is packed quickly loses a little room
		n := lost
		for j, c := range copies {
			n += c * sizes[j]
		}
		return n <= parts
	}
	hard := map[string]bool{}
	p.Fits = func(copies []int) bool { return room(copies, 2) || hard[fmt.Sprint(copies)] }
	if seed%4 < 2 {
		p.TryHard = func(copies []int, effort int) bool {
			ok := room(copies, max(0, 2-effort/20))
			hard[fmt.Sprint(copies)] = ok
			return ok
		}
	}
	return p
}

// TestWhatIsFoundByTries is the record of what layouts cost after so many tries, less what
// overs are worth, beside the published optimum or a bound: a change of the search shows
// here what it does to costs. In brackets stand the layouts, and a * where it is proven.
func TestWhatIsFoundByTries(t *testing.T) {
	most := []int{1, 60, 400, 1500}
	var text bytes.Buffer
	out := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	line := func(cells ...string) { _, _ = fmt.Fprintln(out, strings.Join(cells, "\t")+"\t") }
	cells := []string{"problem", "at best"}
	for _, n := range most {
		cells = append(cells, fmt.Sprint(n, " tries"))
	}
	line(cells...)
	record := func(name string, p *gang.Problem, known float64, seed uint64) {
		r := gang.NewSearch(p, gang.Options{Seed: seed})
		if known == 0 {
			known = r.Floor()
		}
		cells := []string{name, fmt.Sprintf("%.2f", known)}
		from := 0
		for _, n := range most {
			r.Improve(n - from)
			from = n
			s, err := r.Best()
			if err != nil {
				cells = append(cells, "none")
				continue
			}
			require.True(t, covers(p, s.Layouts))
			for _, l := range s.Layouts {
				require.True(t, p.Slots > 0 || p.Fits(l.Copies))
			}
			require.GreaterOrEqual(t, s.Net(), known-0.006, name)
			mark := ""
			if s.Proven {
				mark = "*"
			}
			cells = append(cells, fmt.Sprintf("%.2f (%d%s)", s.Net(), len(s.Layouts), mark))
		}
		cheapest := r.Cheapest()
		line(append(cells, fmt.Sprintf("cash %.2f", cheapest.SetUp+cheapest.Print))...)
	}
	for _, name := range []string{"cpp-I001", "cpp-I003", "cpp-I005", "cpp-I008", "cpp-I013", "own-G1", "own-G3"} {
		p, known := published(t, name, 0)
		record(name, p, known, 0)
	}
	for _, c := range []struct {
		name    string
		layouts int
	}{{"csplib-catfood", 1}, {"csplib-catfood", 2}, {"csplib-catfood", 3}, {"csplib-herbs", 2}, {"csplib-herbs", 3}} {
		p, known := published(t, c.name, c.layouts)
		record(fmt.Sprintf("%s, %d layouts", c.name, c.layouts), p, known, 0)
	}
	for seed := range uint64(12) {
		record(fmt.Sprint("shop ", seed), shopProblem(seed), 0, seed)
	}
	require.NoError(t, out.Flush())
	goldentest.Equal(t, "layouts.txt", text.Bytes())
}
