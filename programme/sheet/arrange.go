package sheet

import (
	"cmp"
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Arrange plans the transfers of a request: what to take from the shelf and,
// for each transfer kind, the cheapest sheets found within the budget.
// Errors name the artwork or kind that cannot be planned and say why.
func Arrange(req Request) (Plan, error) {
	wants, picks, err := gather(req)
	if err != nil {
		return Plan{}, err
	}
	plan := Plan{Picks: picks}
	var kinds [][]*way
	for k := range req.Shop.Kinds {
		if mine := ofKind(wants, req.Shop.Kinds[k].Code); len(mine) > 0 {
			ways, err := waysOf(req, &req.Shop.Kinds[k], mine)
			if err != nil {
				return Plan{}, err
			}
			kinds = append(kinds, ways)
		}
	}
	share(kinds, req.Budget)
	for _, ways := range kinds {
		order := cheapest(ways).finished(req)
		plan.Orders = append(plan.Orders, order)
		plan.Cost = plan.Cost.plus(order.Cost)
	}
	plan.Lines = countPrinted(wants, plan.Orders)
	plan.Shares = addShares(plan.Orders)
	return plan, nil
}

// ofKind picks the wants of a kind that need printing.
func ofKind(wants []want, kind string) (mine []want) {
	for _, w := range wants {
		if w.kind.Code == kind && w.line.Print > 0 {
			mine = append(mine, w)
		}
	}
	return mine
}

// waysOf are all printers and sizes of a kind that hold the artworks.
func waysOf(req Request, kind *programme.TransferKind, wants []want) ([]*way, error) {
	if len(kind.Sheets) == 0 || len(kind.Prices) == 0 {
		return nil, fmt.Errorf("transfer kind %s has no sheet or no price in the shop file, so nothing can be laid out for it", kind.Code)
	}
	var all []*way
	var first error
	printers := kind.Ways()
	for i := range printers {
		for _, size := range sizesOf(&printers[i]) {
			w, err := newWay(req, &printers[i], size, wants)
			if err != nil {
				first = cmp.Or(first, err)
				continue
			}
			if len(printers) > 1 {
				w.freight = freightOf(req.Shop, &printers[i])
			}
			all = append(all, w)
		}
	}
	if len(all) == 0 {
		return nil, first
	}
	return all, nil
}

// sizesOf are the sizes of sheets; a roll that is sold in fixed lengths is one of each.
func sizesOf(kind *programme.TransferKind) (sizes []programme.SheetSize) {
	for _, s := range kind.Sheets {
		if len(s.Lengths) == 0 {
			sizes = append(sizes, s)
			continue
		}
		for _, l := range s.Lengths {
			s.Height = l.Length
			sizes = append(sizes, s)
		}
	}
	return sizes
}

// freightOf is what the printer asks for bringing an order, where printers are compared.
func freightOf(shop *programme.Shop, kind *programme.TransferKind) programme.Money {
	for _, s := range shop.Suppliers {
		if s.Code == kind.Printer {
			return s.Freight
		}
	}
	return 0
}

// newWay begins the search for one printer and size.
func newWay(req Request, kind *programme.TransferKind, size programme.SheetSize, wants []want) (*way, error) {
	f, err := newField(kind, size, wants)
	if err != nil {
		return nil, err
	}
	f.trial = req.Budget.Trial
	w := &way{field: f}
	parts := []*field{f}
	if !size.Roll && kind.Process == programme.ScreenPrinted {
		parts = f.parts()
	}
	for _, part := range parts {
		t, err := part.task(req.Budget)
		if err != nil {
			return nil, fmt.Errorf("transfer kind %s: %w", kind.Code, err)
		}
		w.tasks = append(w.tasks, &progress{task: t, way: w, value: t.net(), least: t.floor()})
	}
	return w, nil
}

// task is the search that suits how the kind is made.
func (f *field) task(b Budget) (task, error) {
	switch {
	case f.size.Roll:
		return newRollTask(f, b)
	case f.kind.Process == programme.ScreenPrinted:
		return newGangTask(f, b)
	default:
		return newSheetsTask(f, b)
	}
}

// finished makes the order of the best found.
func (w *way) finished(req Request) Order {
	f := w.field
	o := Order{
		Kind: f.kind.Code, Process: f.kind.Process, Printer: f.kind.Printer,
		Sheet: f.size, Cut: f.kind.Cut, Gutter: f.kind.Gutter, Margin: f.kind.Margin,
	}
	for _, p := range w.tasks {
		p.order(&o)
	}
	if !f.size.Roll && f.kind.Process == programme.ScreenPrinted {
		w.settle(&o, req.Shop)
	}
	if o.asUsed > o.Cost.Print {
		o.Why = append(o.Why, fmt.Sprintf("%s of roll cost %s, less than the %s that only the length in use would cost.",
			req.Shop.Units.Length(o.Length), o.Cost.Print.In(req.Shop.Currency), o.asUsed.In(req.Shop.Currency)))
	}
	f.room(&o, req)
	f.finish(&o)
	return o
}

// field is the usable part of a sheet with the images to put on it. Widening
// every image and the field by one gutter turns gutters into plain packing.
type field struct {
	kind   *programme.TransferKind
	size   programme.SheetSize
	tariff tariff
	wants  []want
	width  int64
	height int64 // of a sheet, or the greatest length of one piece of roll
	// whole is the least number of sheets of the whole need, when these are a part of its artworks.
	whole float64
	// effort is how hard the question is tried whether images fit one sheet.
	effort int
	stop   func() bool
	trial  bool // see Budget
	fitted map[string][]pack.Place
	// arts are the artworks that may lie on the sheets, spares included.
	arts map[string]*programme.Artwork
}

// endless is the greatest length of roll when the shop file gives none: 100 m.
const endless = 100_000 * programme.Millimetre

func newField(kind *programme.TransferKind, size programme.SheetSize, wants []want) (*field, error) {
	if size.Roll && size.Height <= 0 {
		size.Height = endless
	}
	inner := func(l programme.Length) int64 { return int64(l - 2*kind.Margin + kind.Gutter) }
	f := &field{kind: kind, size: size, tariff: tariffOf(kind, &size), wants: wants, width: inner(size.Width), height: inner(size.Height)}
	for _, w := range wants {
		p := f.piece(w, 1)
		if (p.W > f.width || p.H > f.height) && (!p.Turn || p.H > f.width || p.W > f.height) {
			return nil, fmt.Errorf("artwork %s (%.2f by %.2f in) does not fit %s inside its margins; use a wider sheet or another kind",
				w.line.Artwork, w.art.Width.Inches(), w.art.Height.Inches(), size.Code)
		}
		if w.art.Width <= 0 || w.art.Height <= 0 {
			return nil, fmt.Errorf("artwork %s has no size in the shop file", w.line.Artwork)
		}
	}
	return f, nil
}

// piece is one artwork as the packer sees it.
func (f *field) piece(w want, count int) pack.Piece { return f.pieceOf(w.art, count) }

func (f *field) pieceOf(art *programme.Artwork, count int) pack.Piece {
	g := int64(f.kind.Gutter)
	return pack.Piece{W: int64(art.Width) + g, H: int64(art.Height) + g, Count: count, Turn: art.Turn}
}

// items turns places into images on the sheet.
func (f *field) items(places []pack.Place) []Item {
	items := make([]Item, 0, len(places))
	m, g := f.kind.Margin, f.kind.Gutter
	for _, p := range places {
		w := f.wants[p.Piece]
		items = append(items, Item{
			Artwork: w.line.Artwork, Client: w.line.Client, Turned: p.Turned,
			X: programme.Length(p.X) + m, Y: programme.Length(p.Y) + m,
			W: programme.Length(p.W) - g, H: programme.Length(p.H) - g,
		})
	}
	sortItems(items)
	return items
}
