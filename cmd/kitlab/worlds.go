package main

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/laboratory"
)

// newWorldsCommand asks how the forecast fares where records are not as it assumes.
func newWorldsCommand(l *lab) *cobra.Command {
	t, only, asJSON := laboratory.Trial{}, "", false
	c := &cobra.Command{
		Use:   "worlds",
		Short: "Compare forecasts with what comes where records are kept as shops keep them",
		Long: `Invents clients that live by the formulas of wear and demand, day by day, and keeps
their records in one way after another: endings never written down, entered late,
people who differ, seasons, bursts. In all of them people leave, start and change size
at rates around those that the forecast believes. It sees these records alone. For each
world it prints how often the needs of a client, and of each of its lines, fell into
the 80 % interval and how often the interval claims it; by how much the forecast was
off in all; and, with shelves that hold each line's 0.875 quantile, the share of needs
met, by how many points that is more than in world a where it is among them, and the
cost a client, a missing piece as seven left over. The bias is given with its standard
error; a coverage of 300 clients has one of 2.3 points.`,
		Example: "  kitlab worlds --clients 1000 --only a,d",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			worlds, err := worldsNamed(only)
			if err != nil {
				return err
			}
			if t.Clients < 1 || t.Weeks < 1 {
				return errors.New("--clients and --weeks must be at least 1")
			}
			results, err := runWorlds(t, worlds)
			if err != nil {
				return err
			}
			if asJSON {
				return l.writeJSON(results)
			}
			return l.printWorlds(results)
		},
	}
	c.Flags().IntVar(&t.Clients, "clients", 300, "how many clients of each world")
	c.Flags().IntVar(&t.Weeks, "weeks", 13, "how far the forecast looks")
	c.Flags().Uint64Var(&t.Seed, "seed", 1, "seed of all chance")
	c.Flags().StringVar(&only, "only", "", "codes of the worlds, with commas; all without it")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}

func worldsNamed(codes string) ([]laboratory.World, error) {
	if codes == "" {
		return laboratory.Worlds(), nil
	}
	var out []laboratory.World
	for code := range strings.SplitSeq(codes, ",") {
		w, ok := laboratory.WorldOf(code)
		if !ok {
			return nil, fmt.Errorf("there is no world %q", code)
		}
		out = append(out, w)
	}
	return out, nil
}

func runWorlds(t laboratory.Trial, worlds []laboratory.World) ([]laboratory.Result, error) {
	results := make([]laboratory.Result, len(worlds))
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i, w := range worlds {
		g.Go(func() error {
			one := t
			one.World = w
			var err error
			results[i], err = laboratory.Run(one)
			return err
		})
	}
	return results, g.Wait()
}

// printWorlds compares fills with world a's where that is among the results.
func (l *lab) printWorlds(results []laboratory.Result) error {
	fmt.Fprintf(l.out, "%-4s %-46s %11s %11s %13s %6s %6s %6s\n", "", "records", "80 %", "lines", "bias", "fill",
		"of a", "cost")
	a := slices.IndexFunc(results, func(r laboratory.Result) bool { return r.World == "a" })
	for i := range results {
		r := &results[i]
		than := ""
		if a >= 0 {
			than = fmt.Sprintf("%+.1f", 100*(r.Fill-results[a].Fill))
		}
		_, err := fmt.Fprintf(l.out, "%-4s %-46s %5.1f/%5.1f %5.1f/%5.1f %+5.1f (%.1f) %% %5.1f %6s %6.1f\n",
			r.World, r.Name,
			100*r.Cover80, 100*r.Claim80, 100*r.LineCover80, 100*r.LineClaim80, 100*r.Bias, 100*r.BiasError, 100*r.Fill,
			than, r.Cost)
		if err != nil {
			return err
		}
	}
	return nil
}
