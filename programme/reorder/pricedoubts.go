package reorder

import "github.com/kitmuster/kitmuster/programme"

// PriceDoubt is a garment of a client's kits whose selling price is missing or
// does not cover what a piece costs the shop.
type PriceDoubt struct {
	Garment string
	// Sizes concerned, from small to large; none = all of them.
	Sizes []string
	// Price of a piece, 0 = there is none; Cost is the dearest of the sizes concerned.
	Price, Cost programme.Money
}

// PriceDoubts lists what is missing or below cost among a client's prices of a day, by
// garment in the order of the shop file. A piece costs its blank, its transfers
// at the price of the smallest break, and its time at the press.
func PriceDoubts(shop *programme.Shop, client *programme.Client, on programme.Date) []PriceDoubt {
	var out []PriceDoubt
	for i := range shop.Garments {
		g := &shop.Garments[i]
		lines := client.KitLines(g.Code)
		if len(lines) == 0 {
			continue
		}
		missing, below := PriceDoubt{Garment: g.Code}, map[programme.Money]*PriceDoubt{}
		var order []programme.Money
		for j := range g.Sizes {
			size := g.Sizes[j].Code
			price, ok := client.PriceOf(g.Code, size, on)
			if !ok || price <= 0 {
				missing.Sizes = append(missing.Sizes, size)
				continue
			}
			cost := programme.Money(0)
			for _, l := range lines {
				cost = max(cost, pieceCost(shop, client, programme.SKU{Garment: g.Code, Colour: l.Colour, Size: size}))
			}
			if price >= cost {
				continue
			}
			if below[price] == nil {
				below[price] = &PriceDoubt{Garment: g.Code, Price: price}
				order = append(order, price)
			}
			below[price].Sizes, below[price].Cost = append(below[price].Sizes, size), max(below[price].Cost, cost)
		}
		if len(missing.Sizes) > 0 {
			out = append(out, missing.allAs(g))
		}
		for _, p := range order {
			out = append(out, below[p].allAs(g))
		}
	}
	return out
}

// allAs leaves the sizes out where they are all that there are.
func (d PriceDoubt) allAs(g *programme.Garment) PriceDoubt {
	if len(d.Sizes) == len(g.Sizes) {
		d.Sizes = nil
	}
	return d
}

func pieceCost(shop *programme.Shop, client *programme.Client, k programme.SKU) programme.Money {
	blank, _ := shop.BlankCost(k)
	on, _ := client.Decorations(shop, "", k)
	return blank + TransferGuess(shop, client, k) + pressingCost(shop, float64(len(on)))
}
