package bench_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/bench"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// problems reads published problems; each file names its source in its first lines.
func problems(t testing.TB, pattern string) (out []bench.Problem) {
	t.Helper()
	files, err := filepath.Glob("../../../../testdata/sheets/" + pattern)
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		list, err := bench.Read(strings.TrimSuffix(filepath.Base(f), ".csv"), data)
		require.NoError(t, err)
		out = append(out, list...)
	}
	return out
}

func full() bool { return os.Getenv("KITMUSTER_FULL") == "1" }

// effort scales search steps so that plain tests stay quick.
func effort(quick, long int) int {
	if full() {
		return long
	}
	return quick
}

// effortShare is the gap that such an effort may leave.
func effortShare(quick, long float64) float64 {
	if full() {
		return long
	}
	return quick
}

// TestStripPacking: Hopper & Turton, EJOR 128(1), 2001, set C, where the optimum
// is known. The best packers for general use that we tried leave a mean gap of
// 4.09 % (4.42 % without turns).
func TestStripPacking(t *testing.T) {
	for _, c := range []struct {
		turn, straight bool
		most           float64 // mean gap
	}{{true, false, 0.012}, {false, false, 0.025}, {true, true, 0.025}} {
		t.Run(fmt.Sprintf("turn %v straight cuts %v", c.turn, c.straight), func(t *testing.T) {
			var sum float64
			list := problems(t, "strip/*.csv")
			require.Len(t, list, 21)
			for i := range list {
				p := &list[i]
				n := 0
				for _, q := range p.Pieces {
					n += q.Count
				}
				steps := min(effort(12_000, 60_000), effort(6_000_000, 400_000_000)/(n*n))
				f, err := p.Solve(bench.Options{Turn: c.turn, Guillotine: c.straight,
					Budget: pack.Options{Iterations: steps}})
				require.NoError(t, err)
				require.GreaterOrEqual(t, f.Value, p.Known)
				sum += p.Gap(f)
			}
			require.LessOrEqual(t, sum/float64(len(list)), c.most)
		})
	}
}

// TestStripPackingWithoutMatches: Hopper 2000, set T, whose pieces have so many
// different sides that hardly two match, Burke, Kendall & Whitwell 2004, N1 to N13,
// and Valenzuela & Wang 2001, Nice and Path with 200 pieces, where no two do. All
// optima are known. The plain test takes each fifth of the first and the last.
func TestStripPackingWithoutMatches(t *testing.T) {
	for set, most := range map[string]float64{"strip-hopper": 0.035, "strip-burke": 0.01,
		"strip-valenzuela": effortShare(0.06, 0.025)} {
		t.Run(set, func(t *testing.T) {
			var sum float64
			list := problems(t, set+"/*.csv")
			n := 0
			for i := range list {
				p := &list[i]
				if !full() && i%5 > 0 && set != "strip-burke" {
					continue
				}
				tries := effort(1200, 40_000)
				if set == "strip-valenzuela" { // of 200 different pieces
					tries = effort(1200, 120_000)
				}
				f, err := p.Solve(bench.Options{Turn: true, Budget: pack.Options{Iterations: tries}})
				require.NoError(t, err)
				require.GreaterOrEqual(t, f.Value, p.Known)
				sum += p.Gap(f)
				n++
			}
			t.Logf("%d instances, mean gap %.2f %%", n, 100*sum/float64(n))
			require.LessOrEqual(t, sum/float64(n), most)
		})
	}
}

// TestSheetPacking: Berkey & Wang 1987 and Martello & Vigo 1998, 500 instances.
// The plain test takes one class of each, the full one all.
func TestSheetPacking(t *testing.T) {
	var turned, fixed float64
	list := problems(t, "bin/*.csv")
	require.Len(t, list, 500)
	step := effort(10, 1)
	for i := 0; i < len(list); i += step {
		for _, turn := range []bool{true, false} {
			f, err := list[i].Solve(bench.Options{Turn: turn, Budget: pack.Options{Iterations: effort(300, 3000)}})
			require.NoError(t, err)
			require.GreaterOrEqual(t, f.Value, list[i].Known)
			if turn {
				turned += f.Value
			} else {
				fixed += f.Value
			}
		}
	}
	if full() {
		require.LessOrEqual(t, turned, 7057.0)
		require.LessOrEqual(t, fixed, 7277.0)
		return
	}
	require.LessOrEqual(t, turned, 0.1*7110+12)
	require.LessOrEqual(t, fixed, 0.1*7290+12)
}

// TestGanging: the cover printing collection of D. Romero (UNAM), CSPLib
// problem 002, and three of our own with proven optima.
func TestGanging(t *testing.T) {
	for _, p := range problems(t, "gang/*.csv") {
		t.Run(p.Name, func(t *testing.T) {
			most := 0.01
			steps := effort(80_000, 1_000_000)
			switch {
			case !strings.HasPrefix(p.Name, "cpp"):
				most, steps = 0, 100_000
			case !full():
				most = 0.03
			}
			f, err := p.Solve(bench.Options{Budget: pack.Options{Iterations: steps}})
			require.NoError(t, err)
			require.LessOrEqual(t, p.Gap(f), most+1e-9)
			if most == 0 {
				require.GreaterOrEqual(t, f.Value, p.Known-1e-9, "below a proven optimum")
			}
		})
	}
}

// TestRunsOfOneLayout: Klippenstein, Kautz & Balduccini, job ganging
// (CC0 data of ESICUP); no values are published, so the simple rules are the measure.
func TestRunsOfOneLayout(t *testing.T) {
	list := problems(t, "gang-unequal/HGJ1*.csv")
	if full() {
		list = problems(t, "gang-unequal/*.csv")
	}
	for i := range list {
		f, err := list[i].Solve(bench.Options{Turn: true, Budget: pack.Options{Iterations: 100}})
		require.NoError(t, err)
		require.GreaterOrEqual(t, f.Value, list[i].Known)
		if f.Simple > 0 {
			require.LessOrEqual(t, f.Value, f.Simple)
		}
	}
}

func TestFilesThatAreNoProblemAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"1,2\n":                         "no heading names",
		"# strip_width: 10\n":           "unexpected EOF",
		"# strip_width: ten\n1,2\n":     "not a number",
		"# strip_width: 10\n1\n":        "too short",
		"# slots: 4\nartwork\n":         "too short",
		"# slots: 4\n1,20\n":            "no heading names a sheet_cost",
		"# bin_width: 10\n\"a,1,2,3\n":  "quote",
		"# bin_width: 10\n020_01,1,x\n": "not a number",
	} {
		_, err := bench.Read("x", []byte(text))
		require.ErrorContains(t, err, want, text)
	}
}

func FuzzRead(f *testing.F) {
	goldentest.Seeds(f, "../../../../testdata/sheets/bin/class01.csv", "../../../../testdata/sheets/strip/C1-1.csv",
		"../../../../testdata/sheets/gang/*.csv")
	f.Add([]byte("# strip_width: 10\n# optimum_height: 4\n3,4\n"))
	f.Add([]byte("# slots: 4\n# setup_cost: 1\n# sheet_cost: 1\n1,20\n"))
	f.Add([]byte("# bin_width: 10\n# bin_height: 10\n020_01,5,9,1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := bench.Read("x", data)
		if err == nil {
			require.NotEmpty(t, list)
		}
	})
}

func BenchmarkStripC7(b *testing.B) {
	list := problems(b, "strip/C7-1.csv")
	for b.Loop() {
		f, err := list[0].Solve(bench.Options{Turn: true, Budget: pack.Options{Iterations: 2000}})
		require.NoError(b, err)
		b.ReportMetric(100*list[0].Gap(f), "gap-%")
	}
}

func BenchmarkGang(b *testing.B) {
	list := problems(b, "gang/cpp-I013.csv")
	for b.Loop() {
		f, err := list[0].Solve(bench.Options{Budget: pack.Options{Iterations: 20_000}})
		require.NoError(b, err)
		b.ReportMetric(100*list[0].Gap(f), "gap-%")
	}
}
