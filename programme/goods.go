package programme

// StockKind is the kind of goods on the shelf.
type StockKind string

// Kinds of stock.
const (
	Blank    StockKind = "blank"
	Finished StockKind = "finished"
	Transfer StockKind = "transfer"
)

// Goods names what a stock line counts: pieces that can stand for each other.
type Goods struct {
	Kind   StockKind
	Client string // of finished pieces only: they carry its mark
	Code   string // a garment, or an artwork of transfers
	Colour string // of garments only
	Size   string // of garments only
}

// BlankGoods returns undecorated pieces.
func BlankGoods(k SKU) Goods {
	return Goods{Kind: Blank, Code: k.Garment, Colour: k.Colour, Size: k.Size}
}

// FinishedGoods returns pieces that carry a client's mark.
func FinishedGoods(client string, k SKU) Goods {
	return Goods{Kind: Finished, Client: client, Code: k.Garment, Colour: k.Colour, Size: k.Size}
}

// TransferGoods returns transfers of an artwork.
func TransferGoods(artwork string) Goods { return Goods{Kind: Transfer, Code: artwork} }

// SKU returns garment, colour and size of blank or finished pieces.
func (g Goods) SKU() SKU { return SKU{Garment: g.Code, Colour: g.Colour, Size: g.Size} }

// String names the goods for people: blank tee/black/M, transfers bakery-chest.
func (g Goods) String() string {
	if g.Kind == Transfer {
		return "transfers " + g.Code
	}
	return string(g.Kind) + " " + g.SKU().String()
}

// StockLine is one row of a stock file.
type StockLine struct {
	AsOf Date
	Goods
	Pieces   int
	Expected Date // no date = on the shelf, else on order and due then
	Made     Date // transfers: date printed, for shelf life; no date = AsOf
	// Washes, whole ones, are behind finished pieces that somebody wore before.
	Washes int `json:",omitempty"`
}

// Position holds the number of pieces of some goods on hand and on order.
type Position struct {
	OnHand  int
	OnOrder int
}

// Together returns the pieces on hand and on order.
func (p Position) Together() int { return p.OnHand + p.OnOrder }

// Positions adds stock lines up by goods. What is expected after until is left
// out; no date leaves out nothing.
func Positions(lines []StockLine, until Date) map[Goods]Position {
	out := map[Goods]Position{}
	for i := range lines {
		l := &lines[i]
		p := out[l.Goods]
		switch {
		case l.Expected.IsZero():
			p.OnHand += l.Pieces
		case until.IsZero() || l.Expected <= until:
			p.OnOrder += l.Pieces
		}
		out[l.Goods] = p
	}
	return out
}
