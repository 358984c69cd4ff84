package programme

// Item holds what a supplier's price list says of one garment, colour and size.
// What it leaves out stands in shop.yaml.
type Item struct {
	SKU
	Number string // the supplier's item number
	GTIN   string // 8, 12, 13 or 14 digits (GS1 General Specifications, 7.9)
	Cost   Money  // of a blank; 0 = not stated
	Pack   int    // pieces that are bought together; 0 = not stated
	Supply Supply
}

// Supply says whether a supplier still has an item.
type Supply string

// Supplies.
const (
	SupplyUnknown Supply = ""
	InSupply      Supply = "available"
	OutOfStock    Supply = "out of stock" // comes again
	Discontinued  Supply = "discontinued" // never comes again
)

// Item returns what the price lists say of a garment, colour and size; the
// zero Item when they say nothing.
func (s *Shop) Item(k SKU) Item { return s.Items[k] }

// BlankCost returns what one blank costs before price breaks: by the price list,
// else by the size in shop.yaml.
func (s *Shop) BlankCost(k SKU) (Money, bool) {
	if cost := s.Items[k].Cost; cost > 0 {
		return cost, true
	}
	g, ok := s.Garment(k.Garment)
	if !ok {
		return 0, false
	}
	size, ok := g.Size(k.Size)
	if !ok {
		return 0, false
	}
	return size.Cost, true
}

// PackOf returns how many blanks are bought together, 1 when singly.
func (s *Shop) PackOf(k SKU) int {
	if pack := s.Items[k].Pack; pack > 0 {
		return pack
	}
	if g, ok := s.Garment(k.Garment); ok {
		return max(1, g.Pack)
	}
	return 1
}
