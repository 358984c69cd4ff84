package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/laboratory"
)

// newCountsCommand asks what counts save.
func newCountsCommand(l *lab) *cobra.Command {
	t, only, asJSON := laboratory.Trial{}, "", false
	c := &cobra.Command{
		Use:   "counts",
		Short: "Compare orders without a count, after the part worth counting, and after a whole one",
		Long: `Lets the same clients order three times: from the records as they are, after a count
of the people and garments that the program would ask for, and after a count of
everybody. Shelves are filled to each line's 0.875 quantile. It prints the rows
counted, and what was missing (7 a piece) and left over (1) a client, in pieces.`,
		Example: "  kitlab counts --clients 300 --only b,s",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			worlds, err := worldsNamed(only)
			if err != nil {
				return err
			}
			if t.Clients < 1 || t.Weeks < 1 {
				return errors.New("--clients and --weeks must be at least 1")
			}
			for _, t.World = range worlds {
				got, err := laboratory.Count(t)
				if err != nil {
					return err
				}
				if asJSON {
					if err := l.writeJSON(got); err != nil {
						return err
					}
					continue
				}
				fmt.Fprintf(l.out, "%s, %s\n", t.World.Code, t.World.Name)
				for i, way := range []string{"no count", "the part worth it", "everybody"} {
					fmt.Fprintf(l.out, "  %-18s %5.0f rows   cost %6.1f   fill %.1f\n", way, got.Rows[i], got.Cost[i],
						100*got.Fill[i])
				}
				fmt.Fprintf(l.out, "  the part was expected to save %.1f\n", got.Expected)
			}
			return nil
		},
	}
	c.Flags().IntVar(&t.Clients, "clients", 200, "how many clients of each world")
	c.Flags().IntVar(&t.Weeks, "weeks", 13, "how far the forecast looks")
	c.Flags().Uint64Var(&t.Seed, "seed", 1, "seed of all chance")
	c.Flags().StringVar(&only, "only", "b,s", "codes of the worlds, with commas")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}
