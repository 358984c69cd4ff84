package reorder

import "github.com/kitmuster/kitmuster/programme"

// Waiting is lines that were left for a later order, since what a supplier or
// printer charges for bringing them now is more than they save until then.
type Waiting struct {
	Supplier string   `json:"supplier"`
	Lines    []Choose `json:"lines"`
	// Charge is the freight and set-ups that are not paid now; Missing is what their
	// pieces would have saved until the next order, in missing pieces less keeping.
	Charge  programme.Money `json:"charge"`
	Missing programme.Money `json:"missing"`
}

// leaveForLater takes lines out of the orders of a round that are not worth their
// way: of each supplier in turn, whether of blanks or of transfers, all lines that
// need something of it, when what they save until the next order is less than
// what is charged for the way and the set-ups. With others who need the same
// supplier they go along, since then nothing is saved. What somebody is short
// of, what a pool or a fill rate of the programme asks for, and the whole of an
// order never wait. It returns whether any do.
func leaveForLater(due []*shopper, left map[programme.SKU]int, terms PullTerms) (some bool) {
	if len(due) == 0 {
		return false
	}
	shop := due[0].in.Shop
	for i := range shop.Suppliers {
		from := &shop.Suppliers[i]
		most := from.Freight + setUpsOf(shop, from.Code)
		w, ok := worthOf(due, from.Code, most)
		if !ok || w.saves >= most {
			continue
		}
		charge := w.charge(due, left, terms)
		if charge <= w.saves {
			continue
		}
		w.leave(from.Code, charge)
		some = true
	}
	return some
}

// dependents are the lines of a round that need one supplier.
type dependents struct {
	lines map[*shopper][]int
	saves programme.Money // until the next order, all together
}

// worthOf lists what needs a supplier; false where nothing does, or where a
// line may not wait. It stops once they save so much.
func worthOf(due []*shopper, supplier string, most programme.Money) (d dependents, ok bool) {
	d.lines = map[*shopper][]int{}
	for _, s := range due {
		floor := s.floor()
		others := 0
		for i := range s.buys.lines {
			buy := &s.buys.lines[i]
			switch {
			case buy.order() == 0:
				continue
			case !needs(s.in.Shop, s.in.Client, buy.SKU, buy.buy, supplier):
				others += buy.order()
				continue
			case buy.stock < 0 || s.policy.pool[i] > 0 || floor[i] > buy.stock:
				return d, false
			}
			d.lines[s] = append(d.lines[s], i)
			for _, saved := range s.policy.saves(i, buy.stock, buy.order()) {
				d.saves += max(0, saved)
			}
			if d.saves >= most {
				return d, false
			}
		}
		if len(d.lines[s]) > 0 && others == 0 {
			return d, false
		}
	}
	return d, len(d.lines) > 0
}

// needs reports whether blanks to buy or prints of a line come from a supplier.
func needs(shop *programme.Shop, client *programme.Client, line programme.SKU, buy int, supplier string) bool {
	if g, ok := shop.Garment(line.Garment); ok && buy > 0 && g.Supplier == supplier {
		return true
	}
	for _, k := range client.KitLines(line.Garment) {
		for _, d := range k.Decorations {
			a, drawn := shop.Artwork(d.Artwork)
			if !drawn || k.Colour != "" && k.Colour != line.Colour {
				continue
			}
			if kind, ok := shop.Kind(a.Kind); ok && kind.Printer == supplier {
				return true
			}
		}
	}
	return false
}

// WeighWays notes for each supplier which pieces need something of it and what
// they save until the next order.
func (p *Proposal) WeighWays(shop *programme.Shop, client *programme.Client) {
	for i := range p.Suppliers {
		s := &p.Suppliers[i]
		s.Pieces, s.Saves = 0, 0
		for j := range p.Lines {
			l := &p.Lines[j]
			if l.Order == 0 || !needs(shop, client, l.SKU, l.Buy, s.Supplier) {
				continue
			}
			s.Pieces += l.Order
			for _, saved := range l.Saves {
				s.Saves += max(0, saved)
			}
		}
	}
}

// setUpsOf returns what one layout of each kind of a printer costs to set up.
func setUpsOf(shop *programme.Shop, printer string) (sum programme.Money) {
	inks := map[string]int{}
	for i := range shop.Artworks {
		a := &shop.Artworks[i]
		inks[a.Kind] = max(inks[a.Kind], a.Inks)
	}
	for i := range shop.Kinds {
		if k := &shop.Kinds[i]; k.Printer == printer {
			sum += k.SetUp + k.SetUpPerInk*programme.Money(inks[k.Code])
		}
	}
	return sum
}

// charge returns what the round is charged less for ways and set-ups without
// the lines; goods and prints, which come later instead, are not counted.
func (d *dependents) charge(due []*shopper, left map[programme.SKU]int, terms PullTerms) programme.Money {
	with := charged(due, left, terms)
	for s, lines := range d.lines {
		for _, i := range lines {
			s.later[i] = true
		}
	}
	without := charged(due, left, terms)
	for s, lines := range d.lines {
		for _, i := range lines {
			delete(s.later, i)
		}
	}
	settle(due, copyBlanks(left))
	return with - without
}

// charged returns what a round pays besides blanks and prints.
func charged(due []*shopper, left map[programme.SKU]int, terms PullTerms) programme.Money {
	sum := total(settle(due, copyBlanks(left)).freight(due[0].in.Shop))
	if terms.Transfers == nil {
		return sum
	}
	var orders []*Proposal
	for _, s := range due {
		if p := s.write(&s.decision, &s.buys); p != nil {
			orders = append(orders, p)
			sum -= p.Transfers // the prints, as they were guessed
		}
	}
	if len(orders) > 0 {
		sum += terms.Transfers(orders)
	}
	return sum
}

// leave notes the lines on each of their clients.
func (d *dependents) leave(supplier string, charge programme.Money) {
	for s, lines := range d.lines {
		w := Waiting{Supplier: supplier, Charge: charge, Missing: d.saves}
		for _, i := range lines {
			s.later[i] = true
			w.Lines = append(w.Lines, Choose{s.buys.lines[i].SKU, s.buys.lines[i].order()})
		}
		s.waits = append(s.waits, w)
	}
}
