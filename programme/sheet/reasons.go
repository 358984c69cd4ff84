package sheet

import (
	"fmt"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
)

// reasons says in plain sentences why these layouts were chosen. Where overs
// are worth something, each way's part for this order stands beside what it
// costs: that part is what the choice is made by.
func reasons(shop *programme.Shop, chosen []choice, o *Order) []string {
	money := func(v float64) string { return programme.Money(math.Round(v)).In(shop.Currency) }
	first := fmt.Sprintf("%s on %s cost %s to set up and %s to print",
		programme.NumberOf(len(o.Layouts), "layout"), programme.NumberOf(o.Sheets(), "sheet"),
		o.Cost.SetUp.In(shop.Currency), o.Cost.Print.In(shop.Currency))
	if worth := o.Cost.OverWorth; worth > 0 {
		first += fmt.Sprintf("; transfers worth %s of that are left over for the shelf, so %s is for this order",
			worth.In(shop.Currency), (o.Cost.SetUp + o.Cost.Print - worth).In(shop.Currency))
	}
	why := append([]string{first + "."}, provenWords(o)...)
	if more := dearer(chosen); more >= 1 {
		why = append(why, fmt.Sprintf("The cheapest way in cash would cost %s less; what is left over here is worth more than that.", money(more)))
	}
	for _, r := range rules(chosen) {
		if r.net <= r.chosenNet+0.5 {
			continue
		}
		said := fmt.Sprintf("%s would cost %s on %s", r.name, money(r.paid), programme.NumberOf(r.sheets, "sheet"))
		if o.Cost.OverWorth > 0 {
			said += fmt.Sprintf(", %s of it for this order", money(r.net))
		}
		why = append(why, said+".")
	}
	return why
}

// rule is the cost of sheets by a simple rule, summed over all parts.
type rule struct {
	name                 string
	paid, net, chosenNet float64
	sheets               int
}

// rules returns what the simple rules would have come to; where there is but one
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
	return slices.CompactFunc(all,
		func(a, b rule) bool { return a.paid == b.paid && a.net == b.net && a.sheets == b.sheets })
}

// provenWords say it where no cheaper order is possible.
func provenWords(o *Order) []string {
	if !o.Proven {
		return nil
	}
	return []string{"No way to print it costs less: this was proven."}
}

// dearer returns how much more is paid than for the solutions that cost least in cash.
func dearer(chosen []choice) (more float64) {
	for i := range chosen {
		c := &chosen[i]
		more += c.SetUp + c.Print - c.cheapest.SetUp - c.cheapest.Print
	}
	return more
}
