package reorder

import "github.com/kitmuster/kitmuster/programme"

// pieces returns how many blanks of those lines are bought.
func (b *buying) pieces(own func(*purchase) bool) int {
	n := 0
	for i := range b.lines {
		if own(&b.lines[i]) {
			n += b.lines[i].buy
		}
	}
	return n
}

// cost returns what the garment's purchases come to at the price of that many pieces.
func (b *buying) cost(own func(*purchase) bool, g *programme.Garment, pieces int) programme.Money {
	sum := programme.Money(0)
	for i := range b.lines {
		if p := &b.lines[i]; own(p) {
			sum += unitCost(p.list, g, pieces) * programme.Money(p.buy)
		}
	}
	return sum
}

// value returns what the purchases come to, each garment at its own break.
func (b *buying) value(own func(*purchase) bool) programme.Money {
	sum := programme.Money(0)
	for i := range b.lines {
		if p := &b.lines[i]; own(p) {
			sum += b.unitCost(p) * programme.Money(p.buy)
		}
	}
	return sum
}

// unitCost returns what one blank of the line costs in this round.
func (b *buying) unitCost(p *purchase) programme.Money {
	g, ok := b.shop.Garment(p.Garment)
	if !ok {
		return p.list
	}
	return unitCost(p.list, g,
		b.pieces(func(o *purchase) bool { return o.Garment == p.Garment })+b.along.Garments[p.Garment])
}

// unitCost takes off the best break that the number of pieces reaches.
func unitCost(list programme.Money, g *programme.Garment, pieces int) programme.Money {
	off := 0.0
	for _, br := range g.Breaks {
		if pieces >= br.From {
			off = max(off, br.Percent)
		}
	}
	return list.Times(1 - off/100)
}

func (b *buying) supplier(garment string) string {
	if g, ok := b.shop.Garment(garment); ok {
		return g.Supplier
	}
	return ""
}

// from returns the value of what is bought from a supplier.
func (b *buying) from(supplier string) programme.Money {
	return b.value(func(p *purchase) bool { return b.supplier(p.Garment) == supplier })
}

// freight splits the blanks by supplier and adds what their way costs, shared
// with the rest of the round by value.
func (b *buying) freight() []SupplierOrder {
	var out []SupplierOrder
	for i := range b.shop.Suppliers {
		s := &b.shop.Suppliers[i]
		value := b.from(s.Code)
		if value == 0 {
			continue
		}
		whole := value + b.along.Suppliers[s.Code]
		o := SupplierOrder{Supplier: s.Code, Value: value, ToMinimum: max(0, s.MinimumOrder-whole)}
		if s.FreeFreightFrom == 0 || whole < s.FreeFreightFrom {
			o.Freight = s.Freight.Times(float64(value) / float64(whole))
			if b.carriage != nil {
				o.Freight = b.carriage[s.Code]
			}
			o.ToFreeFreight = max(0, s.FreeFreightFrom-whole)
		}
		out = append(out, o)
	}
	return out
}
