package sheet

import (
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
)

// reasons says in plain sentences why these layouts were chosen.
func (f *field) reasons(shop *programme.Shop, p *gang.Problem, s *gang.Solution, o *Order) []string {
	money := func(v float64) string { return programme.Money(math.Round(v)).In(shop.Currency) }
	why := []string{fmt.Sprintf("%s on %s cost %s to set up and %s to print.",
		count(len(o.Layouts), "layout"), count(o.Sheets(), "sheet"), o.Cost.SetUp.In(shop.Currency), o.Cost.Print.In(shop.Currency))}
	if len(f.wants) > 1 {
		for _, simple := range gang.Simple(p) {
			if simple.Net() > s.Net()+0.5 {
				why = append(why, fmt.Sprintf("%s would cost %s on %s.", simple.Name, money(simple.SetUp+simple.Print), count(simple.Sheets(), "sheet")))
			}
		}
	}
	if s.OverWorth > 0 {
		why = append(why, fmt.Sprintf("Overs worth %s go to the shelf for later.", money(s.OverWorth)))
	}
	return why
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
