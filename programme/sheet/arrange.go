package sheet

import (
	"cmp"
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme"
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
		order := cheapest(ways).finished(req, leastOf(ways))
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

// waysOf returns all printers and sizes of a kind that hold the artworks.
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
			w.freight = freightOf(req.Shop, &printers[i])
			all = append(all, w)
		}
	}
	if len(all) == 0 {
		return nil, first
	}
	return all, nil
}

// sizesOf returns the sizes of sheets; a roll that is sold in fixed lengths is one of each.
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

// freightOf returns what the printer asks for bringing an order: printers are compared with it.
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
	f, err := newField(req.Shop.Units, kind, size, wants)
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
		w.tasks = append(w.tasks, &progress{task: t, value: t.net(), least: t.floor()})
	}
	return w, nil
}

// task returns the search that suits how the kind is made.
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

// leastOf is an amount that no way to print a kind is below.
func leastOf(ways []*way) float64 {
	least := math.Inf(1)
	for _, w := range ways {
		least = min(least, w.floor())
	}
	return least
}

// finished makes the order of the best found; least is what no other way is below.
func (w *way) finished(req Request, least float64) Order {
	f := w.field
	o := Order{
		Kind: f.kind.Code, Process: f.kind.Process, Printer: f.kind.Printer,
		Sheet: f.size, Cut: f.kind.Cut, Gutter: f.kind.Gutter, Margin: f.kind.Margin,
	}
	for _, p := range w.tasks {
		p.order(&o)
	}
	o.Proven = len(w.tasks) == 1 && w.value() <= least+1e-6 // parts are proven each by itself only
	if !f.size.Roll && f.kind.Process == programme.ScreenPrinted {
		w.settle(&o, req.Shop)
	} else {
		o.Proven = o.Proven && float64(o.Cost.Total()) <= w.tasks[0].value+0.5 // tidying may have cost something
	}
	if o.asUsed > o.Cost.Print {
		o.Why = append(o.Why,
			fmt.Sprintf("%s of roll cost %s, less than the %s that only the length in use would cost.",
				req.Shop.Units.Length(o.Length), o.Cost.Print.In(req.Shop.Currency), o.asUsed.In(req.Shop.Currency)))
	}
	if f.size.Roll || f.kind.Process != programme.ScreenPrinted {
		o.Why = append(o.Why, provenWords(&o)...)
	}
	f.room(&o, req)
	f.finish(&o)
	return o
}
