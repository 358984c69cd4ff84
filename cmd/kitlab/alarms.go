package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/laboratory"
)

// newAlarmsCommand counts alarms where there is nothing, and where there is something.
func newAlarmsCommand(l *lab) *cobra.Command {
	w, only, asJSON := laboratory.Watching{}, "", false
	c := &cobra.Command{
		Use:   "alarms",
		Short: "Count false alarms of bad deliveries and changed laundries, and how soon true ones come",
		Long: `Lets the clients of invented shops live for some years, and looks every few weeks
for deliveries that wear faster than the others and for clients whose pieces all
do. In worlds a and f there is nothing to find: their alarms are false, and should come
to one in two years a shop at most; the standard error of both kinds together stands
behind them. In world g what is handed out in a quarter
lasts six tenths as long, in world l all pieces wear 1.7 times as fast from a day
on: there it prints how many clients it was told of, and after how many days.`,
		Example: "  kitlab alarms --shops 5 --clients 20 --only a,g",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			worlds, err := worldsNamed(only)
			if err != nil {
				return err
			}
			if w.Shops < 1 || w.Clients < 1 || w.Every < 1 || w.Years <= 0 {
				return errors.New("--shops, --clients, --years and --every must be above 0")
			}
			for _, w.World = range worlds {
				got, err := laboratory.Watch(w)
				if err != nil {
					return err
				}
				if asJSON {
					if err := l.writeJSON(got); err != nil {
						return err
					}
					continue
				}
				fmt.Fprintf(l.out, "%-4s %-40s a shop and year %5.2f deliveries %5.2f changes (%.2f); %5.1f %% of clients, after %.0f days\n",
					got.World, got.Name, got.Deliveries, got.Changes, got.Error, 100*got.Found, got.Days)
			}
			return nil
		},
	}
	c.Flags().IntVar(&w.Shops, "shops", 5, "how many shops")
	c.Flags().IntVar(&w.Clients, "clients", 20, "how many clients each")
	c.Flags().Float64Var(&w.Years, "years", 2, "how long they are watched after a first year of records")
	c.Flags().IntVar(&w.Every, "every", 28, "days between looks")
	c.Flags().Uint64Var(&w.Seed, "seed", 1, "seed of all chance")
	c.Flags().StringVar(&only, "only", "a,f,g,l", "codes of the worlds, with commas")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}
