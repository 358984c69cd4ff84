package main

import (
	"context"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

func newProgrammeSplitCommand(a *app) *cobra.Command {
	var asOf, handling string
	var asJSON bool
	c := &cobra.Command{
		Use:   "split CLIENT",
		Short: "Show how much of a kit to give a starter first, and the rest when",
		Long: `Reckons, for each role, what a starter costs on average in the first two years when
all of the kit is given on the first day, and when a part is given first and the rest
some weeks later to those who are still there. Pieces of people who leave early are
lost; fewer pieces wear faster; handing out the rest takes time (--handling). Who has
how many on the first day is the cheapest for each number of weeks, and never fewer
than somebody needs who washes twice a week.

A kit that comes in ladies' and men's cuts is reckoned once in each: a starter wears
one. It uses what the records of this client say about leaving early and about wear.
It changes nothing: write 'first: 3' and 'rest_after_weeks: 10' into lines of the kit,
then 'kitmuster programme apply'.`,
		Example: "  kitmuster programme split bakery\n  kitmuster programme split bakery --handling 8.00",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			money := b.Shop.Press.CostPerHour / 4
			if handling != "" {
				var err error
				if money, err = programme.ParseMoney(handling); err != nil || money < 0 {
					return usagef("--handling is %q; give an amount such as 8.00", handling)
				}
			}
			in, err := forecast.Inspect(ctx, b, args[0], day)
			if err != nil {
				return err
			}
			doc := splitsOf(in.Input, money)
			if asJSON {
				return writeJSON(a.out, doc)
			}
			a.printSplits(in.Input, &doc)
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "use records up to this day")
	c.Flags().StringVar(&handling, "handling", "",
		"what handing out the rest costs a person (default: a quarter of an hour at\nthe press)")
	jsonFlag(c, &asJSON)
	return c
}

// splitDocument is the splits of each role's kit; format 1.
type splitDocument struct {
	Format   int             `json:"format"`
	Client   string          `json:"client"`
	Handling programme.Money `json:"handling"`
	Roles    []roleSplits    `json:"roles"`
}

type roleSplits struct {
	Role string `json:"role"`
	// Cut lists the garments that the kit has in the cut that is reckoned, where it comes in cuts.
	Cut []string `json:"cut,omitempty"`
	// Splits begin with giving all at once; each list of first pieces is in the order of the kit.
	Splits []demand.Split `json:"splits"`
	Best   demand.Split   `json:"best"`
	Now    demand.Split   `json:"now"` // as the programme says

	role *programme.Role // with the kit of that cut
}

func splitsOf(in *demand.Input, handling programme.Money) splitDocument {
	doc := splitDocument{Format: 1, Client: in.Client.Code, Handling: handling}
	for i := range in.Client.Roles {
		whole := &in.Client.Roles[i]
		for _, role := range whole.InEachCut(in.Shop) { // a starter wears one
			doc.Roles = append(doc.Roles, splitsOfKit(in, whole, role, handling))
		}
	}
	return doc
}

// splitsOfKit reckons the kit of a role in one cut; whole has all of them.
func splitsOfKit(in *demand.Input, whole, role *programme.Role, handling programme.Money) roleSplits {
	s := demand.Splitting{In: in, Role: role, Handling: handling}
	now, weeks, cut := []int{}, 0, []string(nil)
	for _, l := range role.Kit {
		s.Price = append(s.Price, pieceMoney(in, &l))
		now = append(now, l.AtFirst())
		if l.AtFirst() < l.Each {
			weeks = max(weeks, l.RestAfterWeeks)
		}
		if c, ok := whole.In(l.Garment, l.Colour); ok && len(c) > 1 {
			cut = append(cut, l.Garment)
		}
	}
	splits := s.Best()
	return roleSplits{role.Code, cut, splits, demand.Cheapest(splits), s.Of(weeks, now), role}
}

// pieceMoney returns the customer's price of a piece in the middle size or, where the
// programme has none, the cost of its blank.
func pieceMoney(in *demand.Input, l *programme.KitLine) programme.Money {
	g, ok := in.Shop.Garment(l.Garment)
	if !ok || len(g.Sizes) == 0 {
		return 0
	}
	size := g.Sizes[len(g.Sizes)/2]
	if price, ok := in.Client.PriceOf(g.Code, size.Code, in.AsOf); ok {
		return price
	}
	return size.Cost
}

func (a *app) printSplits(in *demand.Input, doc *splitDocument) {
	shop, staffing := in.Shop, &in.Staffing
	stays := func(weeks int) float64 {
		return 100 * staffing.Stays(in.AsOf, in.AsOf, in.AsOf.Add(7*weeks))
	}
	fmt.Fprintf(a.out, "%s: of 100 who start, %.0f are still there after 6 weeks, %.0f after 13 and %.0f after 26.\n",
		in.Client.Name, stays(6), stays(13), stays(26))
	fmt.Fprintf(a.out, "Handing out the rest later is reckoned at %s a person.\n", doc.Handling.In(shop.Currency))
	for i := range doc.Roles {
		r := &doc.Roles[i]
		role := r.role
		t := page.Table{Columns: page.Columns("The rest after", "On the first day", "#Pieces in two years",
			"#A starter costs", "#Against all at once")}
		for _, x := range r.Splits {
			when := "all at once"
			if x.Weeks > 0 {
				when = fmt.Sprintf("%d weeks", x.Weeks)
			} else if len(t.Rows) > 0 {
				continue // no split is better than none
			}
			t.Row(when, firstWords(shop, role, x.First), fmt.Sprintf("%.1f", x.Pieces), x.Cost.In(shop.Currency),
				lessOrMore(shop, r.Splits[0].Cost-x.Cost))
		}
		fmt.Fprintf(a.out, "\n%s\n\n", r.title(shop))
		show(a.out, t)
		fmt.Fprintf(a.out, "\n%s\n", splitAdvice(shop, role, r))
	}
}

// title names the role and, where its kit comes in cuts, what it wears.
func (r *roleSplits) title(shop *programme.Shop) string {
	if len(r.Cut) == 0 {
		return r.role.Name
	}
	return r.role.Name + ", who wear " + programme.Listing(r.Cut, shop.GarmentName)
}

// lessOrMore writes an amount saved (less) or, below 0, paid besides (more).
func lessOrMore(shop *programme.Shop, saved programme.Money) string {
	switch {
	case saved > 0:
		return saved.In(shop.Currency) + " less"
	case saved < 0:
		return (-saved).In(shop.Currency) + " more"
	default:
		return "the same"
	}
}

func firstWords(shop *programme.Shop, role *programme.Role, first []int) string {
	var parts []string
	for i, l := range role.Kit {
		of := ""
		if first[i] < l.Each {
			of = fmt.Sprintf(" of %d", l.Each)
		}
		parts = append(parts, fmt.Sprintf("%d%s %s", first[i], of, shop.GarmentName(l.Garment)))
	}
	return strings.Join(parts, ", ")
}

func splitAdvice(shop *programme.Shop, role *programme.Role, r *roleSplits) string {
	all, now := r.Splits[0].Cost, ""
	if saved := all - r.Now.Cost; r.Now.Weeks > 0 {
		now = fmt.Sprintf(" As the programme says now (the rest after %d weeks) it costs, against all at once: %s.",
			r.Now.Weeks, lessOrMore(shop, saved))
	}
	if r.Best.Weeks == 0 {
		return fmt.Sprintf("All at once is best: too few leave early, and no split saves %.0f%% of what a starter costs.",
			100*demand.WorthSplitting) + now
	}
	saves := all - r.Best.Cost
	return fmt.Sprintf("Least: %s first, the rest after %d weeks. That is %s a starter less, %.0f%% of what a starter costs.%s",
		firstWords(shop, role, r.Best.First), r.Best.Weeks, saves.In(shop.Currency),
		100*float64(saves)/math.Max(1, float64(all)), now)
}
