package main

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"text/tabwriter"

	"github.com/spf13/cobra"

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
	asJSON := false
	orderCost, keeping := 55.0, 0.25
	c := &cobra.Command{
		Use:   "money",
		Short: "Compare proposals with three habits of ordering, on the same simulated shops",
		Long: `Invents shops with new clients whose clothing wears out by known rules, and orders
for each in four ways: as the program proposes; by a calendar rule; by a moving
average; and by reacting to what wore out. The calendar rule and the moving
average keep the shelf that gives them the proposals' fill rate (less one point, in
their favour), and take the settings that cost least in hindsight. The proposals
start cold, from the shipped figures. A last row is the same proposals told what no
shop knows, the true lives and rates. Takes minutes.`,
		Example: "  kitlab money --shops 100 --seed 1",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if p.Shops < 1 || p.Clients < 1 || p.Weeks < 40 {
				return errors.New("--shops and --clients must be at least 1, --weeks at least 40")
			}
			p.Terms = func(shop *programme.Shop, client *programme.Client, t *simulate.Terms) {
				t.LeadDays = reorder.LeadOfClient(shop, client).Days()
				t.OrderCost, t.HoldingPerYear = programme.Money(100*orderCost), keeping
			}
			p.Progress = func(what string, part float64) { fmt.Fprintf(l.err, "%3.0f %%  %s\n", 100*part, what) }
			rep := study.Money(p, study.ByProposals)
			if asJSON {
				return l.writeJSON(rep)
			}
			return printMoneyStudy(l.out, &rep)
		},
	}
	c.Flags().IntVar(&p.Shops, "shops", 20, "how many shops")
	c.Flags().IntVar(&p.Clients, "clients", 3, "clients of each shop, at most 7")
	c.Flags().IntVar(&p.Weeks, "weeks", 104, "how long each programme runs")
	c.Flags().Uint64Var(&p.Seed, "seed", 1, "seed of all chance")
	c.Flags().Float64Var(&p.Spread.Factor, "factor", 1, "multiplies every true wear life, to see the program start from wrong figures")
	c.Flags().Float64Var(&orderCost, "order-cost", orderCost, "cost of one order: set-up of sheets, freight, handling")
	c.Flags().Float64Var(&keeping, "keeping", keeping, "yearly cost of keeping a piece, as a share of its cost")
	c.Flags().IntVar(&p.Workers, "workers", runtime.GOMAXPROCS(0), "shops at a time")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}

func printMoneyStudy(w io.Writer, rep *study.Report) error {
	fmt.Fprintf(w, "%d simulated shops with %d new clients each, %d weeks, per shop and year:\n\n", rep.Shops, rep.Clients, rep.Weeks)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tfill rate\tstock\tscrapped early\tworn-out weeks\trush orders\torders\tgoods\tordering\trush\tkeeping\tcost\t")
	for i := range rep.Results {
		r := &rep.Results[i]
		fmt.Fprintf(t, "%s\t%.1f %%\t%.0f\t%.0f\t%.0f\t%.1f\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t\n", r.Name, 100*r.FillRate, r.Stock, r.ScrappedEarly, r.ShortWeeks, r.Emergencies, r.Orders, r.Goods, r.Ordering, r.Rush, r.Holding, r.Cost)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w)
	for i := range rep.Results[1:] {
		printComparison(w, &rep.Results[1+i])
	}
	return nil
}

func printComparison(w io.Writer, r *study.Result) {
	c := r.Against
	if r.Name == study.TruthKnown {
		fmt.Fprintf(w, "Against the same proposals told the true lives, mishaps, leavers and hires: %s, at a fill rate of %.1f %%.\n    Of what these cost, %.0f %% are the goods themselves.\n",
			percent(c.Saving), 100*r.FillRate, 100*r.Goods/r.Cost)
		return
	}
	fmt.Fprintf(w, "Against the %s (%s): %s in all, %s without the goods themselves;\n    shop by shop from %s to %s in the middle 80 of 100, half of them above %s; cheaper in %.0f of 100 shops.\n",
		r.Name, settings(r.Settings), percent(c.Saving), percent(c.Handling), percent(c.P10), percent(c.P90), percent(c.P50), 100*c.Better)
	switch {
	case c.WeekPrice > 0 && c.Saving < 0:
		fmt.Fprintf(w, "    It wins as long as a worn-out week of one piece is worth less than %.2f.\n", c.WeekPrice)
	case c.WeekPrice > 0:
		fmt.Fprintf(w, "    It has fewer worn-out weeks, and wins where one is worth more than %.2f.\n", c.WeekPrice)
	case c.Saving < 0:
		fmt.Fprintln(w, "    It wins at any price of a worn-out week.")
	default:
		fmt.Fprintln(w, "    It does not win at any price of a worn-out week.")
	}
}

func percent(saving float64) string {
	if saving < 0 {
		return fmt.Sprintf("%.1f %% dearer", -100*saving)
	}
	return fmt.Sprintf("%.1f %% cheaper", 100*saving)
}

func settings(s study.Settings) string {
	text := fmt.Sprintf("ordering every %d weeks", s.Every)
	if s.Months > 0 {
		text += fmt.Sprintf(", new kits every %d months", s.Months)
	}
	if s.Buffer > 0 {
		text += fmt.Sprintf(", a shelf of %.1f times what is used until the next delivery", s.Buffer)
	}
	return text
}
