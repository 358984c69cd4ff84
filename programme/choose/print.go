package choose

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// onSheet returns how many images of w by h fit a sheet in straight rows, the
// better of upright and, where it may be turned, turned.
func onSheet(w, h, width, height, gutter, margin programme.Length, turn bool) int {
	n := inRows(w, h, width, height, gutter, margin)
	if turn {
		n = max(n, inRows(h, w, width, height, gutter, margin))
	}
	return n
}

func inRows(w, h, width, height, gutter, margin programme.Length) int {
	across := (width - 2*margin + gutter) / (w + gutter)
	down := (height - 2*margin + gutter) / (h + gutter)
	return int(max(across, 0) * max(down, 0))
}

// printCost is the cost of one transfer of an artwork when need of them are
// ordered together, ganged with nothing else; ok is false when no sheet of the
// kind holds it.
func printCost(k *programme.TransferKind, a *programme.Artwork, need int) (cost float64, ok bool) {
	best := math.Inf(1)
	for i := range k.Sheets {
		s := &k.Sheets[i]
		if k.Process == programme.Digital {
			best = min(best, rollCost(k, a, s, need))
		} else {
			best = min(best, sheetCost(k, a, s, need))
		}
	}
	return best, !math.IsInf(best, 1)
}

func sheetCost(k *programme.TransferKind, a *programme.Artwork, s *programme.SheetSize, need int) float64 {
	n := onSheet(a.Width, a.Height, s.Width, s.Height, k.Gutter, k.Margin, a.Turn)
	if n == 0 {
		return math.Inf(1)
	}
	copies := math.Ceil(float64(need) / float64(n))
	setUp := k.SetUp.Float() + k.SetUpPerInk.Float()*float64(max(a.Inks, 1))
	// A copy in hand keeps for the next order, so a print carries its own place
	// on the sheet and its share of the set-up.
	return priceAt(k.Prices, copies)/float64(n) + setUp/float64(need)
}

func rollCost(k *programme.TransferKind, a *programme.Artwork, s *programme.SheetSize, need int) float64 {
	length := rollLength(a.Width, a.Height, s.Width, k, need)
	if a.Turn {
		length = min(length, rollLength(a.Height, a.Width, s.Width, k, need))
	}
	return length * priceAt(k.Prices, length) / float64(need)
}

// rollLength is in metres.
func rollLength(w, h, width programme.Length, k *programme.TransferKind, need int) float64 {
	across := int((width - 2*k.Margin + k.Gutter) / (w + k.Gutter))
	if across <= 0 {
		return math.Inf(1)
	}
	rows := math.Ceil(float64(need) / float64(across))
	return (rows*(h+k.Gutter).Millimetres() + 2*k.Margin.Millimetres()) / 1000
}

// priceAt is the price of the highest break reached; below the first break the
// first price holds.
func priceAt(breaks []programme.PriceBreak, quantity float64) float64 {
	price := 0.0
	for i, b := range breaks {
		if i == 0 || quantity >= b.From {
			price = b.Price.Float()
		}
	}
	return price
}

// blankCost is the mean cost of a blank over the sizes people wear.
func blankCost(shop *programme.Shop, g *programme.Garment) float64 {
	mix := shop.SizeMix[g.SizeFamily]
	if len(mix) == 0 {
		mix = programme.DefaultSizeMix()
	}
	sum, weight := 0.0, 0.0
	for _, m := range mix {
		if s, ok := g.Size(m.Size); ok {
			sum += m.Share * s.Cost.Float()
			weight += m.Share
		}
	}
	if weight > 0 {
		return sum / weight
	}
	for _, s := range g.Sizes {
		sum += s.Cost.Float()
	}
	return sum / float64(max(len(g.Sizes), 1))
}
