package programme

import "math"

// Terms holds what stands on every order form beside the goods: who sells, how it
// is paid, and what is added.
type Terms struct {
	// Address and Registration are the shop's, as its papers must name them.
	Address, Registration string
	// Payment says when and how it is to be paid, in the shop's words.
	Payment string
	// Delivery is charged once an order.
	Delivery Money
	// Taxes on sales; a garment names another than the first by its code.
	Taxes []Tax
	// TaxIncluded says that prices are with tax; else it is added.
	TaxIncluded bool
}

// Tax is a rate of tax on sales.
type Tax struct {
	Code, Name string
	Percent    float64 // 0 to 100
}

// Sale is the price of an order for the customer, with its tax.
type Sale struct {
	Goods, Delivery Money
	Taxes           []TaxDue
	// TaxIncluded says that Taxes are within Goods and Delivery and not added.
	TaxIncluded bool
	Total       Money
}

// TaxDue is a tax with the amount it is on, as that is priced, and what it comes to.
type TaxDue struct {
	Tax
	On, Amount Money
}

// Sold is an amount of one garment.
type Sold struct {
	Garment string
	Amount  Money
}

// Sale adds up an order. Tax is worked out once a rate, on the sum of what it is
// on, and rounded to the nearest hundredth, halves up; delivery bears the first
// tax. A client that is free of tax has none.
func (s *Shop) Sale(c *Client, goods []Sold) Sale {
	out := Sale{Delivery: s.Terms.Delivery, TaxIncluded: s.Terms.TaxIncluded}
	on := map[string]Money{}
	for _, g := range goods {
		out.Goods += g.Amount
		on[s.taxOf(g.Garment)] += g.Amount
	}
	out.Total = out.Goods + out.Delivery
	if c.TaxFree {
		return out
	}
	for i, t := range s.Terms.Taxes {
		base := on[t.Code]
		if i == 0 {
			base += out.Delivery
		}
		if base == 0 {
			continue
		}
		due := TaxDue{t, base, t.of(base, out.TaxIncluded)}
		out.Taxes = append(out.Taxes, due)
		if !out.TaxIncluded {
			out.Total += due.Amount
		}
	}
	return out
}

// TaxOn returns the tax on sales of a garment, or of the delivery when none is
// named; without a code there is none.
func (s *Shop) TaxOn(garment string) Tax {
	code := s.taxOf(garment)
	for _, t := range s.Terms.Taxes {
		if t.Code == code {
			return t
		}
	}
	return Tax{}
}

// taxOf returns the code of a garment's tax: its own, or the first of the shop.
func (s *Shop) taxOf(garment string) string {
	if g, ok := s.Garment(garment); ok && g.Tax != "" {
		return g.Tax
	}
	if len(s.Terms.Taxes) > 0 {
		return s.Terms.Taxes[0].Code
	}
	return ""
}

// of returns the tax on an amount that is with it or without.
func (t Tax) of(amount Money, included bool) Money {
	share := t.Percent / 100
	if included {
		share = t.Percent / (100 + t.Percent)
	}
	return Money(math.Floor(float64(amount)*share + 0.5 + 1e-9))
}
