package main

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/programme/sheet/bench"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

type benchFlags struct {
	noTurn, trimmer bool
	search          searchFlags
}

func newSheetBenchCommand(a *app) *cobra.Command {
	var f benchFlags
	c := &cobra.Command{
		Use:   "bench DIR",
		Short: "Run published packing problems and compare with what is known",
		Long: `Runs every problem file (*.csv) below a folder and prints what was found, the optimum
(or best known value; a lower bound is marked ≥), the gap, and the seconds; then the
mean gap of each kind of problem. The published problems lie in testdata/sheets of
the source, each with its source in its first lines. Without --seconds a strip gets
1 second, sheets 0.2 and ganging 10.`,
		Example: "  kitmuster sheet bench testdata/sheets/strip --seconds 1",
		Args:    exactlyOne("DIR"),
		RunE: func(cmd *cobra.Command, args []string) error {
			problems, err := readProblems(args[0])
			if err != nil {
				return err
			}
			return f.run(cmd.Context(), a, problems)
		},
	}
	c.Flags().BoolVar(&f.noTurn, "no-turn", false, "allow no quarter turns")
	c.Flags().BoolVar(&f.trimmer, "trimmer", false, "only what straight cuts from edge to edge take apart")
	f.search.register(c, 0)
	return c
}

func readProblems(dir string) (problems []bench.Problem, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".csv" {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		list, err := bench.Read(strings.TrimSuffix(filepath.Base(path), ".csv"), data)
		problems = append(problems, list...)
		return err
	})
	if err == nil && len(problems) == 0 {
		err = fmt.Errorf("there are no problem files (*.csv) in %s", dir)
	}
	return problems, err
}

// secondsFor is the time a problem gets when no flag says otherwise.
var secondsFor = map[bench.Kind]float64{bench.Strip: 1, bench.Sheets: 0.2, bench.Gang: 10, bench.Run: 10}

// tally adds up the results of one kind of problem.
type tally struct {
	n, gaps               int
	gap, found, known, at float64
}

func (f *benchFlags) run(ctx context.Context, a *app, problems []bench.Problem) error {
	const row = "%-24s %14s %14s %8s %14s %9s\n"
	fmt.Fprintf(a.out, row, "instance", "found", "optimum", "gap %", "simple rules", "seconds")
	sums := map[bench.Kind]*tally{}
	for i := range problems {
		p := &problems[i]
		if ctx.Err() != nil {
			return ctx.Err()
		}
		found, seconds, err := f.solve(ctx, p)
		if err != nil {
			return fmt.Errorf("%s: %w", p.Name, err)
		}
		t := sums[p.Kind]
		if t == nil {
			t = &tally{}
			sums[p.Kind] = t
		}
		t.add(p, found, seconds)
		fmt.Fprintf(a.out, row, p.Name, number(found.Value), known(p), gapPercent(p.Gap(found)), simple(found), fmt.Sprintf("%.3f", seconds))
	}
	for _, kind := range []bench.Kind{bench.Strip, bench.Sheets, bench.Gang, bench.Run} {
		if t := sums[kind]; t != nil {
			fmt.Fprintf(a.out, row, fmt.Sprintf("%s, mean of %d", kind, t.n), number(t.found), number(t.known), gapPercent(t.gap/float64(max(1, t.gaps))), "", fmt.Sprintf("%.1f", t.at))
		}
	}
	return nil
}

func (t *tally) add(p *bench.Problem, f bench.Found, seconds float64) {
	t.n++
	t.found += f.Value
	t.known += p.Known
	t.at += seconds
	if g := p.Gap(f); !math.IsNaN(g) {
		t.gap += g
		t.gaps++
	}
}

func (f *benchFlags) solve(ctx context.Context, p *bench.Problem) (bench.Found, float64, error) {
	search := f.search
	if search.seconds == 0 {
		search.seconds = secondsFor[p.Kind]
	}
	b, err := search.budget(ctx)
	if err != nil {
		return bench.Found{}, 0, err
	}
	start := time.Now()
	found, err := p.Solve(bench.Options{
		Turn: !f.noTurn, Guillotine: f.trimmer,
		Budget: pack.Options{Seed: b.Seed, Iterations: b.Iterations, Stop: b.Stop},
	})
	return found, time.Since(start).Seconds(), err
}

func number(v float64) string {
	s := fmt.Sprintf("%.2f", v)
	return strings.TrimSuffix(s, ".00")
}

func known(p *bench.Problem) string {
	switch {
	case p.Known <= 0:
		return "-"
	case p.Bound:
		return "≥ " + number(p.Known)
	default:
		return number(p.Known)
	}
}

func gapPercent(gap float64) string {
	if math.IsNaN(gap) {
		return "-"
	}
	return fmt.Sprintf("%.2f", 100*gap)
}

func simple(f bench.Found) string {
	if f.Simple == 0 {
		return "-"
	}
	return number(f.Simple)
}
