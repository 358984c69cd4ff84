package reorder

import "github.com/kitmuster/kitmuster/programme"

// basket holds what a round buys: pieces and value at list prices by garment.
type basket struct {
	pieces map[string]int
	list   map[string]programme.Money
}

func newBasket() *basket {
	return &basket{pieces: map[string]int{}, list: map[string]programme.Money{}}
}

// add puts purchases in, or takes them out with sign -1.
func (k *basket) add(b *buying, sign int) {
	for i := range b.lines {
		if p := &b.lines[i]; p.buy > 0 {
			k.pieces[p.Garment] += sign * p.buy
			k.list[p.Garment] += p.list * programme.Money(sign*p.buy)
		}
	}
}

// beside returns the basket, which does not hold the shopper's own purchases,
// as what is bought alongside them; values are at the breaks that both reach.
func (k *basket) beside(s *shopper) Alongside {
	more := s.in.Alongside
	own := newBasket()
	own.add(&s.buys, 1)
	out := Alongside{Garments: map[string]int{}, Suppliers: map[string]programme.Money{}}
	for i := range s.in.Shop.Garments {
		g := &s.in.Shop.Garments[i]
		n := k.pieces[g.Code] + more.Garments[g.Code]
		out.Garments[g.Code] = n
		out.Suppliers[g.Supplier] += unitCost(k.list[g.Code], g, n+own.pieces[g.Code])
	}
	for code, v := range more.Suppliers {
		out.Suppliers[code] += v
	}
	return out
}

// value returns what the basket costs at the breaks it reaches, by supplier.
func (k *basket) value(shop *programme.Shop) map[string]programme.Money {
	out := map[string]programme.Money{}
	for i := range shop.Garments {
		g := &shop.Garments[i]
		out[g.Supplier] += unitCost(k.list[g.Code], g, k.pieces[g.Code])
	}
	return out
}

// freight returns what bringing the basket costs, by supplier.
func (k *basket) freight(shop *programme.Shop) map[string]programme.Money {
	out := map[string]programme.Money{}
	value := k.value(shop)
	for i := range shop.Suppliers {
		s := &shop.Suppliers[i]
		if v := value[s.Code]; v > 0 && (s.FreeFreightFrom == 0 || v < s.FreeFreightFrom) {
			out[s.Code] = s.Freight
		}
	}
	return out
}

// with returns the basket and those purchases together.
func (k *basket) with(b *buying) *basket {
	out := newBasket()
	for g, n := range k.pieces {
		out.pieces[g], out.list[g] = n, k.list[g]
	}
	out.add(b, 1)
	return out
}

func total[K comparable](m map[K]programme.Money) programme.Money {
	sum := programme.Money(0)
	for _, v := range m {
		sum += v
	}
	return sum
}
