package sheet

import (
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
	for k := range req.Shop.Kinds {
		kind := &req.Shop.Kinds[k]
		mine := ofKind(wants, kind.Code)
		if len(mine) == 0 {
			continue
		}
		order, err := arrangeKind(req, kind, mine)
		if err != nil {
			return Plan{}, err
		}
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

// arrangeKind tries every sheet of the kind and keeps the cheapest order.
func arrangeKind(req Request, kind *programme.TransferKind, wants []want) (Order, error) {
	if len(kind.Sheets) == 0 || len(kind.Prices) == 0 {
		return Order{}, fmt.Errorf("transfer kind %s has no sheet or no price in the shop file, so nothing can be laid out for it", kind.Code)
	}
	var best Order
	var firstErr error
	found := false
	for _, size := range kind.Sheets {
		area, err := newField(kind, size, wants)
		if err != nil {
			firstErr = cmpErr(firstErr, err)
			continue
		}
		order, err := area.order(req)
		if err != nil {
			return Order{}, err
		}
		if !found || order.net() < best.net() {
			best, found = order, true
		}
	}
	if !found {
		return Order{}, firstErr
	}
	return best, nil
}

func cmpErr(first, err error) error {
	if first != nil {
		return first
	}
	return err
}

// net is what is paid less what useful overs are worth.
func (o *Order) net() programme.Money { return o.Cost.Total() - o.Cost.OverWorth }

// field is the usable part of a sheet with the images to put on it. Widening
// every image and the field by one gutter turns gutters into plain packing.
type field struct {
	kind   *programme.TransferKind
	size   programme.SheetSize
	wants  []want
	width  int64
	height int64 // of a sheet, or the greatest length of one piece of roll
	// whole is the least number of sheets of the whole need, when these are a part of its artworks.
	whole float64
	// effort is how hard the question is tried whether images fit one sheet.
	effort int
	stop   func() bool
	fitted map[string][]pack.Place
}

// endless is the greatest length of roll when the shop file gives none: 100 m.
const endless = 100_000 * programme.Millimetre

func newField(kind *programme.TransferKind, size programme.SheetSize, wants []want) (*field, error) {
	if size.Roll && size.Height <= 0 {
		size.Height = endless
	}
	inner := func(l programme.Length) int64 { return int64(l - 2*kind.Margin + kind.Gutter) }
	f := &field{kind: kind, size: size, wants: wants, width: inner(size.Width), height: inner(size.Height)}
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
func (f *field) piece(w want, count int) pack.Piece {
	g := int64(f.kind.Gutter)
	return pack.Piece{W: int64(w.art.Width) + g, H: int64(w.art.Height) + g, Count: count, Turn: w.art.Turn}
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

// order lays the wants out by the way the kind is made.
func (f *field) order(req Request) (Order, error) {
	o := Order{
		Kind: f.kind.Code, Process: f.kind.Process, Printer: f.kind.Printer,
		Sheet: f.size, Cut: f.kind.Cut, Gutter: f.kind.Gutter, Margin: f.kind.Margin,
	}
	var err error
	switch {
	case f.size.Roll:
		err = f.roll(&o, req)
	case f.kind.Process == programme.ScreenPrinted:
		err = f.gang(&o, req)
	default:
		err = f.sheets(&o, req)
	}
	if err != nil {
		return Order{}, err
	}
	o.Cost.TopUp = max(0, f.kind.MinimumOrder-o.Cost.SetUp-o.Cost.Print)
	f.finish(&o)
	return o, nil
}
