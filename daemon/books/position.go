package books

import (
	"context"

	"github.com/kitmuster/kitmuster/programme"
)

// Position is how many pieces are there and how many are coming.
type Position struct {
	OnHand  int
	OnOrder int
}

// Shelf is all stock of the shop on a date.
type Shelf struct {
	// Finished pieces by client, garment, colour and size; on order counts
	// stated orders and the accepted and ordered proposals.
	Finished map[string]map[programme.SKU]Position
	// Blanks are shared by all clients.
	Blanks map[programme.SKU]Position
	// Transfers on the shelf and on order by artwork, oldest first.
	Transfers map[string][]programme.StockLine
}

// Shelf reads the stock as stated, with the orders of proposals on top.
func (b *Books) Shelf(ctx context.Context) (*Shelf, error) {
	lines, err := b.Store.Stock(ctx)
	if err != nil {
		return nil, err
	}
	onOrder, err := b.Store.OnOrder(ctx)
	if err != nil {
		return nil, err
	}
	s := &Shelf{
		Finished:  map[string]map[programme.SKU]Position{},
		Blanks:    map[programme.SKU]Position{},
		Transfers: map[string][]programme.StockLine{},
	}
	for i := range lines {
		s.add(&lines[i])
	}
	for client, pieces := range onOrder {
		for sku, n := range pieces {
			s.finished(client, sku, Position{OnOrder: n})
		}
	}
	return s, nil
}

func (s *Shelf) add(l *programme.StockLine) {
	p := Position{OnHand: l.Pieces}
	if !l.Expected.IsZero() {
		p = Position{OnOrder: l.Pieces}
	}
	sku := programme.SKU{Garment: l.Code, Colour: l.Colour, Size: l.Size}
	switch l.Kind {
	case programme.Finished:
		s.finished(l.Client, sku, p)
	case programme.Blank:
		was := s.Blanks[sku]
		s.Blanks[sku] = Position{was.OnHand + p.OnHand, was.OnOrder + p.OnOrder}
	case programme.Transfer:
		s.Transfers[l.Code] = append(s.Transfers[l.Code], *l)
	}
}

func (s *Shelf) finished(client string, sku programme.SKU, p Position) {
	if s.Finished[client] == nil {
		s.Finished[client] = map[programme.SKU]Position{}
	}
	was := s.Finished[client][sku]
	s.Finished[client][sku] = Position{was.OnHand + p.OnHand, was.OnOrder + p.OnOrder}
}
