package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/calibrate"
)

// newCalibrateCommand asks whether the forecast's intervals hold.
func newCalibrateCommand(l *lab) *cobra.Command {
	s, asJSON := calibrate.Study{}, false
	c := &cobra.Command{
		Use:   "calibrate",
		Short: "Compare what the forecast's intervals claim with what comes",
		Long: `Invents clients whose truth is drawn around what the forecast believes before any
record, lets them live with a ledger, forecasts, and counts how often what then comes
lies within the interval. The tenths are the randomised probability integral
transform: flat (0.10 each) where the whole distribution holds.`,
		Example: "  kitlab calibrate --clients 1000 --unseen 0.3",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if s.Clients < 1 || s.Weeks < 1 || s.ToYears < s.FromYears {
				return errors.New("--clients and --weeks must be at least 1, --to-years at least --from-years")
			}
			r, err := calibrate.Run(s)
			if err != nil {
				return err
			}
			if asJSON {
				return l.writeJSON(r)
			}
			return l.printCalibration(&r)
		},
	}
	c.Flags().IntVar(&s.Clients, "clients", 400, "how many clients")
	c.Flags().Float64Var(&s.FromYears, "from-years", 0.3, "shortest records before the forecast, in years")
	c.Flags().Float64Var(&s.ToYears, "to-years", 2.5, "longest records before the forecast, in years")
	c.Flags().IntVar(&s.Weeks, "weeks", 10, "how far the forecast looks")
	c.Flags().Float64Var(&s.Unseen, "unseen", 0, "share of endings that nobody writes down until a half-yearly count")
	c.Flags().BoolVar(&s.Stale, "stale", false, "leave out the count on the day of the forecast")
	c.Flags().Float64Var(&s.Factor, "factor", 1,
		"multiplies every true wear life, to see the forecast start from wrong figures")
	c.Flags().BoolVar(&s.Alike, "alike", false, "give everybody four pieces that records cannot tell apart")
	c.Flags().BoolVar(&s.PlugIn, "plug-in", false, "take the best fit as certain, for comparison")
	c.Flags().Uint64Var(&s.Seed, "seed", 1, "seed of all chance")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}

func (l *lab) printCalibration(r *calibrate.Result) error {
	fmt.Fprintf(l.out, "%d clients; the forecast was off by %+.1f %% in all; mean log score %.3f\n", r.Clients,
		100*r.Bias, r.LogScore)
	fmt.Fprintf(l.out, "  80 %% interval: claimed %.1f %%, held %.1f %%\n", 100*r.Claim80, 100*r.Cover80)
	fmt.Fprintf(l.out, "  95 %% interval: claimed %.1f %%, held %.1f %%\n", 100*r.Claim95, 100*r.Cover95)
	fmt.Fprintf(l.out, "  tenths:")
	for _, share := range r.PIT {
		fmt.Fprintf(l.out, " %.2f", share)
	}
	_, err := fmt.Fprintf(l.out, "  mean %.3f, chance of so uneven tenths if it were right %.3f\n", r.PITMean, r.PITP)
	return err
}
