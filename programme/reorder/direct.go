package reorder

import "github.com/kitmuster/kitmuster/programme"

// UseBlanks lets the proposal use undecorated pieces that lie on the shop's shelf
// instead of buying them, and takes what it uses off left.
func (p *Proposal) UseBlanks(shop *programme.Shop, client *programme.Client, left map[programme.SKU]int) {
	presses := p.presses(client)
	for i := range p.Lines {
		l := &p.Lines[i]
		l.BlanksOnShelf = min(l.Order, max(0, left[l.SKU]))
		left[l.SKU] -= l.BlanksOnShelf
		l.buyFor(shop)
	}
	p.reprice(shop, client, presses)
}

// GuessTransfers states what the transfers are expected to cost until sheets are
// laid out.
func (p *Proposal) GuessTransfers(shop *programme.Shop, client *programme.Client) {
	p.Transfers = 0
	for i := range p.Lines {
		l := &p.Lines[i]
		p.Transfers += TransferGuess(shop, client, l.SKU) * programme.Money(l.Order)
	}
}

// TransferGuess returns a first guess at what the transfers of one piece cost: the
// artwork's share of a sheet at the price of the smallest break. Sheets that are
// laid out replace it.
func TransferGuess(shop *programme.Shop, client *programme.Client, k programme.SKU) programme.Money {
	var sum programme.Money
	decorations, _ := client.Decorations(shop, "", k)
	for _, d := range decorations {
		a, ok := shop.Artwork(d.Artwork)
		if !ok {
			continue
		}
		kind, ok := shop.Kind(a.Kind)
		if ok && len(kind.Sheets) > 0 && len(kind.Prices) > 0 {
			sum += imageGuess(kind, a)
		}
	}
	return sum
}

func imageGuess(k *programme.TransferKind, a *programme.Artwork) programme.Money {
	s := k.Sheets[0]
	area := float64(a.Width+k.Gutter) * float64(a.Height+k.Gutter)
	whole := float64(s.Width-2*k.Margin) * float64(s.Height-2*k.Margin)
	if s.Roll {
		whole = float64(s.Width-2*k.Margin) * float64(1000*programme.Millimetre)
	}
	return k.Prices[0].Price.Times(area / whole)
}
