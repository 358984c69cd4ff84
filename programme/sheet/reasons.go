package sheet

import (
	"fmt"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
)

// reasons says in plain sentences why these layouts were chosen.
func reasons(shop *programme.Shop, chosen []choice, o *Order) []string {
	money := func(v float64) string { return programme.Money(math.Round(v)).In(shop.Currency) }
	why := []string{fmt.Sprintf("%s on %s cost %s to set up and %s to print.",
		count(len(o.Layouts), "layout"), count(o.Sheets(), "sheet"), o.Cost.SetUp.In(shop.Currency), o.Cost.Print.In(shop.Currency))}
	for _, r := range rules(chosen) {
		if r.net > r.chosenNet+0.5 {
			why = append(why, fmt.Sprintf("%s would cost %s on %s.", r.name, money(r.paid), count(r.sheets, "sheet")))
		}
	}
	var worth float64
	for i := range chosen {
		worth += chosen[i].OverWorth
	}
	if worth > 0 {
		why = append(why, fmt.Sprintf("Overs worth %s go to the shelf for later.", money(worth)))
	}
	return why
}

// rule is what a simple rule would have come to, summed over all parts.
type rule struct {
	name                 string
	paid, net, chosenNet float64
	sheets               int
}

// rules are what the simple rules would have come to; where there is but one
// artwork there is nothing to compare.
func rules(chosen []choice) []rule {
	if len(chosen) == 1 && len(chosen[0].problem.Need) < 2 {
		return nil
	}
	var all []rule
	for i := range chosen {
		c := &chosen[i]
		simple := gang.Simple(c.problem)
		if len(chosen) > 1 {
			simple = simple[:1] // the others speak of one layout for everything
		}
		for _, s := range simple {
			at := slices.IndexFunc(all, func(r rule) bool { return r.name == s.Name })
			if at < 0 {
				at = len(all)
				all = append(all, rule{name: s.Name})
			}
			r := &all[at]
			r.paid, r.net, r.chosenNet = r.paid+s.SetUp+s.Print, r.net+s.Net(), r.chosenNet+c.Net()
			r.sheets += s.Sheets()
		}
	}
	return all
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
