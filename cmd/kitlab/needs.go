package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/bench"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// needsReport holds the results of all invented needs that were asked for.
type needsReport struct {
	Rolls  []bench.RollNeeds `json:"rolls,omitempty"`
	Pages  *bench.PageNeeds  `json:"pages,omitempty"`
	Single *bench.SmallNeeds `json:"single,omitempty"`
	Pooled *bench.SmallNeeds `json:"pooled,omitempty"`
	Forty  []bench.Spent     `json:"forty,omitempty"`
}

// needsFlags say which needs are planned, and for how long.
type needsFlags struct {
	only       string
	count      int
	seconds    float64
	iterations int
	seed       uint64
	asJSON     bool
}

// partsOfNeeds are the words that --only takes.
var partsOfNeeds = []string{"scissors", "trimmer", "pages", "single", "pooled", "forty"}

// newNeedsCommand plans invented needs of shops.
func newNeedsCommand(l *lab) *cobra.Command {
	var f needsFlags
	c := &cobra.Command{
		Use:   "needs",
		Short: "Plan sheets for invented shops' needs and compare with bounds and exact search",
		Long: `Plans needs as shops meet them, always the same for a seed, and checks each plan
against the rules of the trade:
  scissors, trimmer  30 needs on a 22 in roll, against a bound that nothing is below
  pages              the same on sheets of 330 × 483 mm, against two general packers
  single, pooled     40 and 20 small screen-printed needs of one client and of two or
                     three, against every way to print them; pooled ones get twice
                     the time
  forty              40 clients together with a hundredth and a tenth of the time, and all
Seconds are those of the processor, so that other work on the machine hardly matters.`,
		Example: "  kitlab needs --seconds 1 --only scissors,trimmer",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if f.seconds <= 0 || f.count < 0 || f.iterations < 0 {
				return errors.New("--seconds must be above 0, --count and --iterations not below it")
			}
			only := strings.Split(f.only, ",")
			for _, word := range only {
				if !slices.Contains(partsOfNeeds, word) {
					return fmt.Errorf("--only says %q; it can be %s", word, strings.Join(partsOfNeeds, ", "))
				}
			}
			return f.run(cmd.Context(), l, only)
		},
	}
	c.Flags().StringVar(&f.only, "only", strings.Join(partsOfNeeds, ","), "which of them, with commas")
	c.Flags().IntVar(&f.count, "count", 0, "how many needs of each (0 = as many as said above)")
	c.Flags().Float64Var(&f.seconds, "seconds", 1, "time to search for each plan")
	c.Flags().IntVar(&f.iterations, "iterations", 0,
		"search by this many tries instead, so that every machine finds the same")
	c.Flags().Uint64Var(&f.seed, "seed", 0, "number of the first need; another one invents needs that nobody has seen")
	c.Flags().BoolVar(&f.asJSON, "json", false, "print for other programs")
	return c
}

// budget searches for a share of the time, or of the tries where they are counted.
func (f *needsFlags) budget(ctx context.Context) func(share float64) sheet.Budget {
	return func(share float64) sheet.Budget {
		if f.iterations > 0 {
			return sheet.Budget{Iterations: max(1, int(share*float64(f.iterations)))}
		}
		return sheet.Budget{Iterations: withoutEnd, Stop: stopAfter(ctx, share*f.seconds)}
	}
}

func (f *needsFlags) run(ctx context.Context, l *lab, only []string) (err error) {
	needs := func(count int) bench.Needs {
		if f.count > 0 {
			count = f.count
		}
		return bench.Needs{Count: count, From: f.seed, Budget: f.budget(ctx)}
	}
	var r needsReport
	for _, part := range only {
		switch part {
		case "scissors", "trimmer":
			var rolls bench.RollNeeds
			rolls, err = needs(30).Rolls(programme.CutStyle(part))
			r.Rolls = append(r.Rolls, rolls)
		case "pages":
			r.Pages, err = made(needs(30).Pages())
		case "single":
			r.Single, err = made(needs(40).Single())
		case "pooled":
			r.Pooled, err = made(needs(20).Pooled())
		case "forty":
			r.Forty, err = needs(1).Forty()
		}
		if err = errors.Join(err, ctx.Err()); err != nil {
			return fmt.Errorf("%s: %w", part, err)
		}
	}
	if f.asJSON {
		return l.writeJSON(&r)
	}
	r.print(l)
	return nil
}

func made[T any](v T, err error) (*T, error) { return &v, err }

func (r *needsReport) print(l *lab) {
	for _, roll := range r.Rolls {
		fmt.Fprintf(l.out, "rolls, %s: %d needs, %.2f %% longer than a bound on average, %.2f %% at worst\n", roll.Cut,
			roll.Needs, 100*roll.Mean, 100*roll.Worst)
	}
	if p := r.Pages; p != nil {
		fmt.Fprintf(l.out, "sheets of 330 × 483 mm: %d needs, %d sheets, %.1f %% fewer than the %d of general packers; %d needs took more than theirs\n",
			p.Needs, p.Sheets, 100*(1-float64(p.Sheets)/float64(max(1, p.General))), p.General, p.More)
	}
	for _, small := range []struct {
		name string
		*bench.SmallNeeds
	}{{"one client", r.Single}, {"pooled", r.Pooled}} {
		if small.SmallNeeds != nil {
			fmt.Fprintf(l.out, "small needs, %s: %d of %d at the least cost there is; all together %.3f %% above it\n",
				small.name, small.Least, small.Needs, 100*small.Over)
		}
	}
	for _, spent := range r.Forty {
		fmt.Fprintf(l.out, "forty clients, %g of the time: %s\n", spent.Share, spent.Cost.Decimal())
	}
}
