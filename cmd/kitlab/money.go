package main

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/study"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// studyStart is the first day of every simulated programme.
var studyStart = programme.NewDate(2024, 3, 4)

// newMoneyCommand compares what the program proposes with what shops do without it.
func newMoneyCommand(l *lab) *cobra.Command {
	p := study.Plan{Start: studyStart, Spread: simulate.AroundPrior, Knowing: study.ByProposalsKnowing}
	asJSON, truth := false, true
	orderCost, keeping := 55.0, 0.25
	c := &cobra.Command{
		Use:   "money",
		Short: "Compare proposals with other ways of ordering, on the same simulated shops",
		Long: `Invents shops with new clients, half of them of 3 to 20 people, whose clothing wears
out by known rules, and orders for each in five ways: as the program proposes; by an
order point and an order-up-to level from the mean of 52 weeks; by a calendar rule; by
a moving average; and by reacting to what wore out. All but the proposals take the
settings that cost least in hindsight on these very shops; those with a shelf also the
cheapest at which no more is missing than with the proposals. The proposals start
cold, from the shipped figures. A last row is the same proposals told what no shop
knows, the true lives and rates. What is compared is handling: orders, rushing,
keeping, each week that a needed piece is missing, and the goods that nobody wears at
the end. A hundred shops take a quarter of an hour.`,
		Example: "  kitlab money --shops 100 --seed 1",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if p.Shops < 1 || p.Clients < 1 || p.Weeks < 40 {
				return errors.New("--shops and --clients must be at least 1, --weeks at least 40")
			}
			p.Terms = func(shop *programme.Shop, client *programme.Client, t *market.Terms) {
				studyTerms(shop, client, t, programme.Money(100*orderCost), keeping,
					min(0.9, 365.25/7/float64(p.Weeks)))
			}
			p.Progress = func(what string, part float64) { fmt.Fprintf(l.err, "%3.0f %%  %s\n", 100*part, what) }
			if !truth {
				p.Knowing = nil
			}
			rep := study.Money(p, study.ByProposals)
			if asJSON {
				return l.writeJSON(rep)
			}
			return printMoneyStudy(l.out, &rep)
		},
	}
	c.Flags().IntVar(&p.Shops, "shops", 20, "how many shops")
	c.Flags().IntVar(&p.Clients, "clients", 3, "clients of each shop, at most 7")
	c.Flags().BoolVar(&p.House, "house", false,
		"the clients of the demo, a bakery of 6 and a practice of 17 in every shop instead")
	c.Flags().IntVar(&p.Weeks, "weeks", 104, "how long each programme runs")
	c.Flags().Uint64Var(&p.Seed, "seed", 1, "seed of all chance")
	c.Flags().Float64Var(&p.Spread.Factor, "factor", 1,
		"multiplies every true wear life, to see the program start from wrong figures")
	c.Flags().Float64Var(&orderCost, "order-cost", orderCost, "cost of one order: set-up of sheets, freight, handling")
	c.Flags().Float64Var(&keeping, "keeping", keeping, "yearly cost of keeping a piece, as a share of its cost")
	c.Flags().IntVar(&p.Workers, "workers", runtime.GOMAXPROCS(0), "shops at a time")
	c.Flags().BoolVar(&truth, "truth", truth, "add the row of what knowing the truth would save")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}

// studyTerms tells simulator and program the same costs: an order costs a sum,
// whatever is in it, and a lead time is whole weeks, as the simulator goes.
func studyTerms(shop *programme.Shop, client *programme.Client, t *market.Terms, order programme.Money, keeping,
	loss float64) {
	t.LeadDays = 7 * ((reorder.LeadOfClient(shop, client).Days() + 6) / 7)
	t.OrderCost, t.HoldingPerYear = order, keeping
	shop.Ordering, shop.Keeping = order, programme.Keeping{CostPerYear: keeping, LossPerYear: loss}
	for i := range shop.Suppliers {
		s := &shop.Suppliers[i]
		s.Freight, s.FreeFreightFrom, s.MinimumOrder = 0, 0, 0
	}
	for i := range shop.Kinds {
		k := &shop.Kinds[i]
		k.SetUp, k.SetUpPerInk, k.MinimumOrder = 0, 0, 0
	}
}

func printMoneyStudy(w io.Writer, rep *study.Report) error {
	fmt.Fprintf(w, "%d simulated shops with %d new clients each, %d weeks, seed %d; per shop and year:\n\n", rep.Shops,
		rep.Clients, rep.Weeks, rep.Seed)
	if err := printWays(w, rep.Results); err != nil {
		return err
	}
	for i := range rep.Results[1:] {
		printComparison(w, &rep.Results[1+i])
	}
	fmt.Fprint(w,
		"\nThe same at settings of least handling among those with no more missing weeks than the proposals:\n\n")
	if err := printWays(w, rep.NoMoreMissing); err != nil {
		return err
	}
	for i := range rep.NoMoreMissing {
		printComparison(w, &rep.NoMoreMissing[i])
	}
	return nil
}

// printWays is a row for each way.
func printWays(w io.Writer, results []study.Result) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tfill rate\tstock\tscrapped early\tmissing weeks\trush orders\torders\tordering\trush\tkeeping\tmissing\tunused\thandling\tgoods\t")
	for i := range results {
		r := &results[i]
		fmt.Fprintf(t, "%s\t%.1f %%\t%.0f\t%.0f\t%.0f\t%.1f\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t\n",
			r.Name, 100*r.FillRate, r.Stock, r.ScrappedEarly, r.MissingWeeks, r.Emergencies, r.Orders, r.Ordering,
			r.Rush, r.Holding, r.Missing, r.Unused, r.Handling, r.Goods)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w)
	return nil
}

func printComparison(w io.Writer, r *study.Result) {
	c := r.Against
	if r.Name == study.TruthKnown {
		fmt.Fprintf(w,
			"Against the same proposals told the true lives, mishaps, leavers and hires: handling %s, all %s.\n",
			percent(c.Handling), percent(c.All))
		return
	}
	if len(r.AtEnd) > 0 {
		fmt.Fprintf(w, "The %s might do better: the best it found is at the end of what was tried (%s).\n", r.Name,
			strings.Join(r.AtEnd, ", "))
	}
	fmt.Fprintf(w, "Against the %s (%s): handling %s (standard error %.1f), with the goods %s;\n    shop by shop from %s to %s in the middle 80 of 100, half of them above %s; cheaper in %.0f of 100 shops.\n",
		r.Name, settings(&r.Settings), percent(c.Handling), 100*c.Error, percent(c.All), percent(c.P10), percent(c.P90),
		percent(c.P50), 100*c.Better)
}

func percent(saving float64) string {
	if saving < 0 {
		return fmt.Sprintf("%.1f %% dearer", -100*saving)
	}
	return fmt.Sprintf("%.1f %% cheaper", 100*saving)
}

func settings(s *study.Settings) string {
	if s.Points {
		by := "all lines together"
		if s.Each {
			by = "any line"
		}
		return fmt.Sprintf("%s at the need of the lead time and %.2f roots of it, then %.1f weeks more, %.0f pieces of unworn sizes",
			by, s.Z, s.Cover, s.Unworn)
	}
	text := fmt.Sprintf("every %d weeks", s.Every)
	if s.Months > 0 {
		text += fmt.Sprintf(", new kits every %d months", s.Months)
	}
	if s.Buffer > 0 {
		text += fmt.Sprintf(", a shelf of %.2f times what is used until the next delivery, by the last %d weeks, %.0f pieces of unworn sizes",
			s.Buffer, s.Window, s.Unworn)
	}
	return text
}
