package main

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/bench"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// benchFlags say what a layout may do and how long it may be searched for.
type benchFlags struct {
	noTurn, trimmer bool
	seconds         float64
	iterations      int
	seed            uint64
	asJSON          bool
}

// benchResult holds the result of one problem.
type benchResult struct {
	Problem string     `json:"problem"`
	Kind    bench.Kind `json:"kind"`
	Found   float64    `json:"found"`
	// Known is the optimum or the best known value, or a lower bound where Bound is set.
	Known   float64 `json:"known,omitempty"`
	Bound   bool    `json:"bound,omitempty"`
	Simple  float64 `json:"simple,omitempty"`
	Seconds float64 `json:"seconds"`
}

// newSheetsCommand runs published packing problems.
func newSheetsCommand(l *lab) *cobra.Command {
	var f benchFlags
	c := &cobra.Command{
		Use:   "sheets DIR|FILE",
		Short: "Run published packing problems and compare with what is known",
		Long: `Runs a problem file, or every one (*.csv) below a folder, and prints what was found,
the optimum (or best known value; a lower bound is marked ≥), the gap, and the seconds;
then the mean gap of each kind of problem. The published problems lie in testdata/sheets of
the source, each with its source in its first lines. Without --seconds a strip gets
1 second, sheets 0.2 and ganging 10. Seconds are those of the processor, so that other
work on the machine hardly matters.`,
		Example: "  kitlab sheets testdata/sheets/strip --seconds 1",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			problems, err := readProblems(args[0])
			if err != nil {
				return err
			}
			return f.run(cmd.Context(), l, problems)
		},
	}
	c.Flags().BoolVar(&f.noTurn, "no-turn", false, "allow no quarter turns")
	c.Flags().BoolVar(&f.trimmer, "trimmer", false, "only what straight cuts from edge to edge take apart")
	c.Flags().Float64Var(&f.seconds, "seconds", 0,
		"longest time to search one problem (0 = as the kind of problem needs)")
	c.Flags().IntVar(&f.iterations, "iterations", 0,
		"stop after this many tries instead, so that every machine finds the same (0 = by time)")
	c.Flags().Uint64Var(&f.seed, "seed", 0, "begin of the random numbers")
	c.Flags().BoolVar(&f.asJSON, "json", false, "print for other programs")
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

func (f *benchFlags) run(ctx context.Context, l *lab, problems []bench.Problem) error {
	const row = "%-24s %14s %14s %8s %14s %9s\n"
	var results []benchResult
	if !f.asJSON {
		fmt.Fprintf(l.out, row, "instance", "found", "optimum", "gap %", "simple rules", "seconds")
	}
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
		if f.asJSON {
			results = append(results, benchResult{p.Name, p.Kind, found.Value, p.Known, p.Bound, found.Simple, seconds})
			continue
		}
		t := sums[p.Kind]
		if t == nil {
			t = &tally{}
			sums[p.Kind] = t
		}
		t.add(p, found, seconds)
		fmt.Fprintf(l.out, row, p.Name, number(found.Value), known(p), gapPercent(p.Gap(found)), simple(found),
			fmt.Sprintf("%.3f", seconds))
	}
	if f.asJSON {
		return l.writeJSON(results)
	}
	for _, kind := range []bench.Kind{bench.Strip, bench.Sheets, bench.Gang, bench.Run} {
		if t := sums[kind]; t != nil {
			fmt.Fprintf(l.out, row, fmt.Sprintf("%s, mean of %d", kind, t.n), number(t.found), number(t.known),
				gapPercent(t.gap/float64(max(1, t.gaps))), "", fmt.Sprintf("%.1f", t.at))
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
	start := processorSeconds()
	found, err := p.Solve(bench.Options{Turn: !f.noTurn, Guillotine: f.trimmer, Budget: f.budget(ctx, p.Kind)})
	return found, processorSeconds() - start, err
}

// withoutEnd is more tries than any time box holds.
const withoutEnd = 1 << 50

// budget searches until the time is over. With --iterations the time plays no part.
func (f *benchFlags) budget(ctx context.Context, kind bench.Kind) pack.Options {
	if f.iterations > 0 {
		return pack.Options{Seed: f.seed, Iterations: f.iterations, Stop: func() bool { return ctx.Err() != nil }}
	}
	seconds := f.seconds
	if seconds <= 0 {
		seconds = secondsFor[kind]
	}
	return pack.Options{Seed: f.seed, Iterations: withoutEnd, Stop: stopAfter(ctx, seconds)}
}

// askEvery is the number of questions whether the time is over that are answered by one look at
// the processor's clock, which takes as long as a step of the search.
const askEvery = 16

// stopAfter returns a question that is answered yes once the process has computed for
// some seconds from now: what else the machine does hardly matters.
func stopAfter(ctx context.Context, seconds float64) func() bool {
	end, asked, over := processorSeconds()+seconds, 0, false
	return func() bool {
		if asked++; !over && asked%askEvery == 1 {
			over = ctx.Err() != nil || processorSeconds() > end
		}
		return over
	}
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
