package sheet

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// sheetsTask packs every image once per need on as few fixed sheets as possible.
type sheetsTask struct {
	*field
	bins *pack.BinSearch
}

func newSheetsTask(f *field, b Budget) (*sheetsTask, error) {
	bins, err := pack.NewBins(f.pieces(), f.width, f.height, f.options(b))
	return &sheetsTask{f, bins}, err
}

func (t *sheetsTask) improve(tries int) int { return t.bins.Improve(tries) }

func (t *sheetsTask) cost(sheets int) Cost {
	c := Cost{SetUp: t.kind.SetUp, Print: t.tariff.price(t.tariff.filled(t.tariff.quantity(t.size.Height, sheets)))}
	c.TopUp = max(0, t.kind.MinimumOrder-c.SetUp-c.Print)
	return c
}

func (t *sheetsTask) net() float64 { return float64(t.cost(len(t.bins.Best())).Total()) }

func (t *sheetsTask) floor() float64 { return float64(t.cost(t.bins.Bound()).Total()) }

func (t *sheetsTask) work() int { return t.images() * len(t.wants) }

// order counts equal sheets as copies of one layout; what a cheaper break asks
// for more is more copies of the fullest.
func (t *sheetsTask) order(o *Order) {
	bins := t.bins.Best()
	for _, bin := range bins {
		o.add(Layout{Copies: 1, Width: t.size.Width, Height: t.size.Height, Items: t.items(t.tidy(bin, t.height))})
	}
	o.Cost = t.cost(len(bins))
	one := t.tariff.quantity(t.size.Height, 1)
	wanted := t.tariff.quantity(t.size.Height, len(bins))
	n := int(math.Ceil(t.tariff.filled(wanted)/one - 1e-9))
	if more := n - len(bins); more > 0 {
		o.Layouts[t.soonest(o)].Copies += more
	}
	o.Cost.Print = t.tariff.price(t.tariff.quantity(t.size.Height, n))
	o.Cost.TopUp = max(0, t.kind.MinimumOrder-o.Cost.SetUp-o.Cost.Print)
	for i := range o.Layouts {
		l := &o.Layouts[i]
		l.print = o.Cost.Print.Times(float64(l.Copies) / float64(n))
		l.setUp = l.print
	}
}

// soonest returns the layout whose images will be used up soonest: the one with the
// greatest need a month for what it carries.
func (t *sheetsTask) soonest(o *Order) int {
	perMonth := map[string]float64{}
	for _, w := range t.wants {
		perMonth[w.line.Artwork] = w.perMonth
	}
	best, most := 0, -1.0
	for i := range o.Layouts {
		var sum float64
		for _, it := range o.Layouts[i].Items {
			sum += perMonth[it.Artwork] * it.W.Millimetres() * it.H.Millimetres()
		}
		if sum > most {
			best, most = i, sum
		}
	}
	return best
}

// add appends a layout or, when an equal one is there, one copy more of it.
func (o *Order) add(l Layout) {
	for i := range o.Layouts {
		if slices.Equal(o.Layouts[i].Items, l.Items) {
			o.Layouts[i].Copies++
			return
		}
	}
	o.Layouts = append(o.Layouts, l)
}

// options returns how images of the field are packed.
func (f *field) options(b Budget) pack.Options {
	opt := pack.Options{Seed: b.Seed, Stop: b.Stop, Guillotine: f.kind.Cut == programme.Trimmer}
	if opt.Guillotine {
		opt.LongestCut = int64(f.kind.LongestCut)
	}
	return opt
}

// images counts what must be printed.
func (f *field) images() (n int) {
	for _, w := range f.wants {
		n += w.line.Print
	}
	return n
}
