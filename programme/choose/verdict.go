package choose

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// UnderLaundry is the contest of the plain and the premium garment under one way of washing.
type UnderLaundry struct {
	Regime string `json:"regime"`
	Name   string `json:"name"`
	Now    bool   `json:"now"`
	// Plain and Premium are each at its better kind of transfer.
	Plain   programme.Money `json:"plain_per_wearer_and_month"`
	Premium programme.Money `json:"premium_per_wearer_and_month"`
	// PremiumPays is true where the premium garment is the cheaper one to wear.
	PremiumPays bool `json:"premium_pays"`
}

// conclude names the plain and the premium garment, says which is dearer to
// wear here, and how that turns with the laundry.
func (a *Answer) conclude(q *Question, present *programme.Garment, markup float64) error {
	if len(a.Options) == 0 {
		return noCandidate(present)
	}
	best := &a.Options[0]
	a.say("Cheapest to wear: %s, %s a wearer and month, about %.1f pieces a year.", title(best),
		a.money(q, best.CostAMonth), best.PiecesAYear)
	if now := a.presentOption(); now != nil && now != best {
		a.say("Against what is worn now (%s) the cheapest saves %s a wearer and month: %s a year for %d wearers.",
			title(now),
			a.money(q, toMoney(now.monthly-best.monthly)),
			a.money(q, toMoney((now.monthly-best.monthly)*monthsPerYear*float64(a.Wearers))), a.Wearers)
	}
	plain, premium := rivals(a.Options)
	if plain == nil {
		a.say("There is no second garment to compare it with; add rivals to shop.yaml or name them with --with.")
		return nil
	}
	a.contest(q, plain, premium)
	return a.underLaundries(q, present, markup, plain.Garment, premium.Garment)
}

func (a *Answer) say(format string, args ...any) {
	a.Verdict = append(a.Verdict, fmt.Sprintf(format, args...))
}

func (a *Answer) money(q *Question, m programme.Money) string { return m.In(q.Shop.Currency) }

func (a *Answer) presentOption() *Option {
	for i := range a.Options {
		if a.Options[i].Present {
			return &a.Options[i]
		}
	}
	return nil
}

// rivals returns the garments that are least and most dear to buy, each with the
// kind of print that makes it cheapest to wear; nil when there is one garment.
func rivals(options []Option) (plain, premium *Option) {
	seen := map[string]bool{}
	for i := range options {
		o := &options[i] // cheapest to wear first, so the first of a garment is its best
		if seen[o.Garment] {
			continue
		}
		seen[o.Garment] = true
		if plain == nil || o.Price < plain.Price {
			plain = o
		}
		if premium == nil || o.Price > premium.Price {
			premium = o
		}
	}
	if len(seen) < 2 || plain == premium {
		return nil, nil
	}
	return plain, premium
}

// contest says which of two garments is dearer to wear, why, and from what
// price on that would turn.
func (a *Answer) contest(q *Question, plain, premium *Option) {
	even := toMoney(plain.monthly * monthsPerYear / premium.PiecesAYear)
	if premium.monthly > plain.monthly {
		a.say("The premium garment is the dearer one here: %s costs %s to buy and %s a wearer and month, %s costs %s and %s. %s It would pay only below %s a piece.",
			title(premium), a.money(q, premium.Price), a.money(q, premium.CostAMonth), title(plain),
			a.money(q, plain.Price), a.money(q, plain.CostAMonth), why(premium), a.money(q, even))
		return
	}
	a.say("The premium garment pays here: %s costs %s to buy but %s a wearer and month, %s costs %s and %s. It pays up to %s a piece.",
		title(premium), a.money(q, premium.Price), a.money(q, premium.CostAMonth), title(plain),
		a.money(q, plain.Price), a.money(q, plain.CostAMonth), a.money(q, even))
}

// why says what keeps the life of a dear garment short.
func why(o *Option) string {
	e := o.EndedBy
	switch top := max(e.Cloth, e.Print, e.Mishap, e.Label); top {
	case e.Print:
		return fmt.Sprintf("Its print ends %.0f of 100 pieces, before the better cloth can pay.", 100*e.Print)
	case e.Mishap:
		return fmt.Sprintf("Mishaps end %.0f of 100 pieces, and they do not ask what a piece cost.", 100*e.Mishap)
	case e.Label:
		return fmt.Sprintf("%.0f of 100 pieces reach the limit on their label.", 100*e.Label)
	default:
		return "Its cloth does not last longer by as much as it costs more."
	}
}

func title(o *Option) string {
	if o.Kind == "" {
		return o.Name
	}
	return o.Name + " with " + o.Kind
}

// underLaundries repeats the contest for every way of washing of the catalogue.
func (a *Answer) underLaundries(q *Question, present *programme.Garment, markup float64, plain, premium string) error {
	two := *q
	two.Garments = []string{plain, premium}
	for _, r := range q.Shop.Baselines.Regimes {
		wash := q.Client.Laundering
		wash.Regime = r.Code
		options, err := two.options(present, wash, markup)
		if err != nil {
			return err
		}
		u := UnderLaundry{Regime: r.Code, Name: r.Name, Now: r.Code == q.Client.Laundering.Regime}
		p, d := first(options, plain), first(options, premium)
		u.Plain, u.Premium, u.PremiumPays = p.CostAMonth, d.CostAMonth, d.monthly < p.monthly
		a.Laundry = append(a.Laundry, u)
	}
	a.sayTurn()
	return nil
}

func first(options []Option, garment string) *Option {
	for i := range options {
		if options[i].Garment == garment {
			return &options[i]
		}
	}
	return &Option{}
}

// sayTurn says whether another way of washing would turn the contest.
func (a *Answer) sayTurn() {
	now := false
	for _, u := range a.Laundry {
		if u.Now {
			now = u.PremiumPays
		}
	}
	turned := ""
	for _, u := range a.Laundry {
		if u.PremiumPays == now {
			continue
		}
		if turned != "" {
			turned += "; "
		}
		turned += u.Name
	}
	switch {
	case turned == "":
		a.say("No other way of washing turns that.")
	case now:
		a.say("It would not pay when washed: %s.", turned)
	default:
		a.say("It would pay when washed: %s.", turned)
	}
}
