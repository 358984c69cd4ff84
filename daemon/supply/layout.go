package supply

import (
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// layout is sheets laid out for some jobs and nobody else.
type layout struct {
	sheet.Plan
	jobs   []Job
	pieces []map[string]int // to press, by job
	there  []map[string]int // set aside or on its way for each job
}

// layOut plans the sheets that the jobs need beyond what is set aside for them or
// on its way to them. Free is the shelf, which those count on that have no yes.
// How says how long to search and what may fill the room left.
func layOut(shop *programme.Shop, asOf programme.Date, jobs []Job, free []programme.StockLine,
	how sheet.Request) (*layout, error) {
	l := &layout{jobs: jobs}
	req := how
	req.AsOf, req.Shop = asOf, shop
	for i := range jobs {
		pieces, there := jobs[i].toPrint(shop)
		if !jobs[i].Proposal.State.Coming() {
			there = append(there, shelfOf(free, pieces)...)
		}
		have := map[string]int{}
		for _, t := range there {
			if t.AsOf.IsZero() {
				t.AsOf = asOf
			}
			have[t.Code] += t.Pieces
			req.Shelf = append(req.Shelf, t)
		}
		l.pieces, l.there = append(l.pieces, pieces), append(l.there, have)
		req.Needs = append(req.Needs, jobs[i].needs(shop, asOf, pieces)...)
	}
	var err error
	if l.Plan, err = sheet.Arrange(req); err != nil {
		return nil, fmt.Errorf("lay out the transfers: %w", err)
	}
	return l, nil
}

// shelfOf returns what lies on the shelf of those artworks.
func shelfOf(free []programme.StockLine, pieces map[string]int) (out []programme.StockLine) {
	for _, l := range free {
		if l.Kind == programme.Transfer && l.Expected.IsZero() && pieces[l.Code] > 0 {
			out = append(out, l)
		}
	}
	return out
}

// sheetOrder returns the sheets of one kind with the proposals that they serve.
func (l *layout) sheetOrder(o *sheet.Order) store.SheetOrder {
	part := l.Part(o)
	for _, line := range part.Lines {
		part.For = append(part.For, l.split(&line)...)
	}
	so := store.SheetOrder{Kind: o.Kind, State: sheet.Planned, Plan: part}
	for i := range l.jobs {
		n := l.jobs[i].Proposal.Number
		if slices.ContainsFunc(part.For, func(f sheet.For) bool { return f.Number == n }) {
			so.Numbers = append(so.Numbers, n)
		}
	}
	if len(so.Numbers) == 0 {
		so.Numbers = append(so.Numbers, l.jobs[0].Proposal.Number)
	}
	return so
}

// split shares what is printed of a line between the jobs that need it: each what
// it lacks, the allowance for misprints to the first.
func (l *layout) split(line *sheet.Line) (out []sheet.For) {
	left := line.Print
	for i := range l.jobs {
		lacks := l.pieces[i][line.Artwork] - l.there[i][line.Artwork]
		if n := min(left, lacks); n > 0 {
			out = append(out, sheet.For{Number: l.jobs[i].Proposal.Number, Artwork: line.Artwork, Pieces: n})
			left -= n
		}
	}
	for i := range l.jobs {
		if l.pieces[i][line.Artwork] == 0 || left == 0 {
			continue
		}
		if len(out) == 0 {
			out = append(out, sheet.For{Number: l.jobs[i].Proposal.Number, Artwork: line.Artwork})
		}
		out[0].Pieces += left
		break
	}
	return out
}

// Alone lays out the sheets of one proposal and nobody else, for an order that
// was given without the program's drafts. The caller stores them.
func Alone(shop *programme.Shop, asOf programme.Date, j Job) ([]store.SheetOrder, programme.Money, error) {
	l, err := layOut(shop, asOf, []Job{j}, nil, sheet.Request{})
	if err != nil {
		return nil, 0, err
	}
	var out []store.SheetOrder
	for i := range l.Orders {
		out = append(out, l.sheetOrder(&l.Orders[i]))
	}
	return out, l.Cost.Total(), nil
}

// orderBy returns the last day for the sheets, which the most urgent yes on them sets.
func (l *layout) orderBy(shop *programme.Shop, so *store.SheetOrder) (first programme.Date) {
	for i := range l.jobs {
		p := l.jobs[i].Proposal
		if !slices.Contains(so.Numbers, p.Number) || !p.State.Coming() {
			continue
		}
		first = first.Earlier(p.SheetsBy(shop, l.jobs[i].Client, so.Plan.Order.Printer))
	}
	return first
}

// blanksBy returns the last day on which the supplier must have the order for the blanks
// in it; no date = there are none, or the day is not known.
func (l *layout) blanksBy(d *Draft) (first programme.Date) {
	for i := range d.Blanks {
		x := &d.Blanks[i]
		for j := range l.jobs {
			if p := l.jobs[j].Proposal; p.Number == x.Proposal && x.Pieces > 0 {
				if line := p.Line(x.SKU); line != nil {
					first = first.Earlier(line.OrderBlanksBy)
				}
			}
		}
	}
	return first
}

// neededBy returns the day by which goods must be in the shop so that all of the
// proposals arrive as promised, today at the earliest; no date where none is known.
func (l *layout) neededBy(shop *programme.Shop, numbers []int64, asOf programme.Date) (first programme.Date) {
	if l == nil {
		return 0
	}
	for i := range l.jobs {
		p := l.jobs[i].Proposal
		if !slices.Contains(numbers, p.Number) || p.Arrives.IsZero() {
			continue
		}
		first = first.Earlier(max(asOf, reorder.LeadOfClient(shop, l.jobs[i].Client).GoodsBy(p.Arrives)))
	}
	return first
}

// pressable reports whether anything of the proposal is to be bought: a yes that
// is not ordered, or pieces to be made again.
func pressable(p *reorder.Proposal) bool {
	return p.State == reorder.Accepted ||
		onOrder(p.State) && slices.ContainsFunc(p.Lines, func(l reorder.Line) bool { return l.ToRemake > 0 })
}
