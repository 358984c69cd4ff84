package sheet

import (
	"cmp"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// finish names layouts, measures fill and splits the cost.
func (f *field) finish(o *Order) {
	var images, sheets float64
	for i := range o.Layouts {
		l := &o.Layouts[i]
		l.Name = layoutName(i)
		var a float64
		for _, it := range l.Items {
			a += it.W.Millimetres() * it.H.Millimetres()
		}
		whole := l.Width.Millimetres() * l.Height.Millimetres()
		l.Fill = a / whole
		images += a * float64(l.Copies)
		sheets += whole * float64(l.Copies)
	}
	o.Fill = images / sheets
	o.Shares = splitOrder(o)
}

// layoutName returns A to Z, then AA, AB, ...
func layoutName(i int) string {
	name := string(rune('A' + i%26))
	if i >= 26 {
		return layoutName(i/26-1) + name
	}
	return name
}

// sortItems orders items as one reads: from the top, then from the left.
func sortItems(items []Item) {
	slices.SortFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X), cmp.Compare(a.Artwork, b.Artwork))
	})
}

// countPrinted completes the lines with what the orders print.
func countPrinted(wants []want, orders []Order) []Line {
	printed := map[string]int{}
	known := map[string]bool{} // the others are spares that nobody needs now
	for _, w := range wants {
		known[w.line.Artwork] = true
	}
	var lines []Line
	for _, o := range orders {
		for _, l := range o.Layouts {
			for _, it := range l.Items {
				if printed[it.Artwork] += l.Copies; !known[it.Artwork] {
					known[it.Artwork] = true
					lines = append(lines, Line{Artwork: it.Artwork, Client: it.Client, Kind: o.Kind})
				}
			}
		}
	}
	for _, w := range wants {
		lines = append(lines, w.line)
	}
	slices.SortStableFunc(lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(a.Client, b.Client), cmp.Compare(a.Artwork, b.Artwork))
	})
	for i := range lines {
		lines[i].Printed = printed[lines[i].Artwork]
	}
	return lines
}

// splitOrder divides the cost of an order between its clients: the set-up and
// the copies of a layout by the area of their images on it, the rest by the
// area of all their images.
func splitOrder(o *Order) []Share {
	all := map[string]float64{}
	costs := map[string]Cost{}
	weights := layoutWeights(o)
	areas := make([]map[string]float64, len(o.Layouts))
	for i := range o.Layouts {
		areas[i] = map[string]float64{}
		for _, it := range o.Layouts[i].Items {
			if !it.Spare {
				areas[i][it.Client] += it.W.Millimetres() * it.H.Millimetres()
			}
		}
		for client, a := range areas[i] {
			all[client] += a * float64(o.Layouts[i].Copies)
		}
	}
	for i, on := range areas {
		if len(on) == 0 {
			on = all // a length that only the price asks for
		}
		give(costs, on, weights[i].SetUp, func(c *Cost) *programme.Money { return &c.SetUp })
		give(costs, on, weights[i].Print, func(c *Cost) *programme.Money { return &c.Print })
	}
	give(costs, all, o.Cost.TopUp, func(c *Cost) *programme.Money { return &c.TopUp })
	give(costs, all, o.Cost.OverWorth, func(c *Cost) *programme.Money { return &c.OverWorth })
	var sum float64
	for _, client := range slices.Sorted(maps.Keys(all)) {
		sum += all[client]
	}
	shares := make([]Share, 0, len(all))
	for _, client := range slices.Sorted(maps.Keys(all)) {
		shares = append(shares, Share{client, costs[client], all[client] / sum})
	}
	return shares
}

// layoutWeights divides set-up and print cost between the layouts exactly.
func layoutWeights(o *Order) []Cost {
	setUp, print := make([]float64, len(o.Layouts)), make([]float64, len(o.Layouts))
	for i, l := range o.Layouts {
		setUp[i] = l.setUp.Float()
		print[i] = l.print.Float()
	}
	out := make([]Cost, len(o.Layouts))
	for i, m := range divide(o.Cost.SetUp, setUp) {
		out[i].SetUp = m
	}
	for i, m := range divide(o.Cost.Print, print) {
		out[i].Print = m
	}
	return out
}

// give adds each client's part of an amount, by weight.
func give(costs map[string]Cost, weight map[string]float64, amount programme.Money, part func(*Cost) *programme.Money) {
	clients := slices.Sorted(maps.Keys(weight))
	w := make([]float64, len(clients))
	for i, c := range clients {
		w[i] = weight[c]
	}
	for i, m := range divide(amount, w) {
		c := costs[clients[i]]
		*part(&c) += m
		costs[clients[i]] = c
	}
}

// divide splits an amount by weights to the last hundredth: every part is
// rounded down and what is left goes to the largest remainders.
func divide(amount programme.Money, weights []float64) []programme.Money {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	out := make([]programme.Money, len(weights))
	if len(weights) == 0 {
		return out
	}
	rest := make([]float64, len(weights))
	order := make([]int, len(weights))
	left := amount
	for i, w := range weights {
		exact := float64(amount) / float64(len(weights))
		if sum > 0 {
			exact = float64(amount) * w / sum
		}
		out[i] = programme.Money(exact)
		rest[i] = exact - float64(out[i])
		left -= out[i]
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(rest[b], rest[a]) })
	for i := 0; left > 0; i++ {
		out[order[i%len(order)]]++
		left--
	}
	return out
}

// addShares adds up the shares of all orders by client.
func addShares(orders []Order) []Share {
	sums := map[string]Share{}
	var total float64
	for _, o := range orders {
		var images float64
		for _, l := range o.Layouts {
			for _, it := range l.Items {
				if !it.Spare {
					images += it.W.Millimetres() * it.H.Millimetres() * float64(l.Copies)
				}
			}
		}
		for _, s := range o.Shares {
			t := sums[s.Client]
			t.Client, t.Cost, t.Area = s.Client, t.Cost.plus(s.Cost), t.Area+s.Area*images
			sums[s.Client] = t
		}
		total += images
	}
	shares := make([]Share, 0, len(sums))
	for _, c := range slices.Sorted(maps.Keys(sums)) {
		s := sums[c]
		s.Area /= total
		shares = append(shares, s)
	}
	return shares
}
