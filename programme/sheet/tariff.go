package sheet

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// tariff is a printer's price list for sheets or lengths of one size.
type tariff struct {
	breaks  []programme.PriceBreak
	unit    programme.PriceUnit
	width   programme.Length
	step    programme.Length
	lengths []programme.LengthPrice
}

func tariffOf(kind *programme.TransferKind, size *programme.SheetSize) tariff {
	return tariff{
		breaks: kind.PricesOf(size), unit: kind.UnitOf(size), width: size.Width,
		step: size.Step, lengths: size.Lengths,
	}
}

const squareFoot = 0.3048 * 0.3048 // square metres, exact by the definition of the inch

// quantity returns how many units of price so many sheets or pieces of roll are.
func (t *tariff) quantity(height programme.Length, copies int) float64 {
	n, metres, wide := float64(copies), height.Millimetres()/1000, t.width.Millimetres()/1000
	switch t.unit {
	case programme.PerMetre:
		return n * metres
	case programme.PerFoot:
		return n * float64(height) / float64(12*programme.Inch)
	case programme.PerSquareMetre:
		return n * metres * wide
	case programme.PerSquareFoot:
		return n * metres * wide / squareFoot
	default:
		return n
	}
}

// height returns the length of roll that is so many units of price.
func (t *tariff) height(quantity float64) programme.Length {
	one := t.quantity(1000*programme.Millimetre, 1)
	return programme.Length(math.Round(quantity / one * float64(1000*programme.Millimetre)))
}

// charged returns the length that is paid for a piece of roll.
func (t *tariff) charged(height programme.Length) programme.Length {
	for _, l := range t.lengths {
		if l.Length >= height {
			return l.Length
		}
	}
	if t.step > 0 {
		return (height + t.step - 1) / t.step * t.step
	}
	return height
}

// price returns what exactly this quantity costs. Half a cent goes up, also where
// adding lengths up left it a hair below.
func (t *tariff) price(quantity float64) programme.Money {
	return programme.Money(math.Round(float64(priceAt(t.breaks, quantity))*quantity + 1e-6))
}

// filled returns the quantity to order where this one is wanted: as much, or as the
// next break asks for where that is cheaper.
func (t *tariff) filled(quantity float64) float64 {
	best, cost := quantity, t.price(quantity)
	for _, b := range t.breaks {
		if b.From > quantity && t.price(b.From) < cost {
			best, cost = b.From, t.price(b.From)
		}
	}
	return best
}

// setPrice returns the price of the fixed length that holds a piece of roll.
func (t *tariff) setPrice(height programme.Length) programme.Money {
	for _, l := range t.lengths {
		if l.Length >= height {
			return l.Price
		}
	}
	return t.lengths[len(t.lengths)-1].Price
}

// priceAt returns the price of a unit at a quantity.
func priceAt(prices []programme.PriceBreak, quantity float64) programme.Money {
	price := prices[0].Price
	for _, b := range prices {
		if quantity >= b.From-1e-9 {
			price = b.Price
		}
	}
	return price
}
