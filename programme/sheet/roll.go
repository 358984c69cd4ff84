package sheet

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// pieces lists all wants with what must be printed.
func (f *field) pieces() []pack.Piece {
	out := make([]pack.Piece, len(f.wants))
	for i, w := range f.wants {
		out[i] = f.piece(w, w.line.Print)
	}
	return out
}

// rollTask packs every image once per need on the least length of roll.
type rollTask struct {
	*field
	// strip packs one piece of roll; rolls several, where one is too short.
	strip *pack.StripSearch
	rolls *pack.RollSearch
	// level is the length from which it is tidied; see note.
	level int64
	// handy are the rolls to choose from for a trimmer; see keepHandy.
	handy []handy
}

func newRollTask(f *field, b Budget) (*rollTask, error) {
	t := &rollTask{field: f}
	opt := f.options(b)
	var err error
	if opt.Guillotine || pack.StripBound(f.pieces(), f.width) <= f.height {
		if opt.Guillotine && (opt.LongestCut == 0 || opt.LongestCut > f.height) {
			opt.LongestCut = f.height
		}
		if t.strip, err = pack.NewStrip(f.pieces(), f.width, opt); err != nil {
			return nil, err
		}
	}
	if _, length := t.stripBest(); t.strip == nil || length > f.height {
		t.rolls, err = pack.NewRolls(f.pieces(), f.width, f.height, opt)
	}
	if err == nil {
		t.note()
		t.keepHandy()
	}
	return t, err
}

func (t *rollTask) stripBest() ([]pack.Place, int64) {
	if t.strip == nil {
		return nil, 0
	}
	return t.strip.Best()
}

func (t *rollTask) improve(tries int) int {
	defer t.keepHandy()
	defer t.note()
	switch {
	case t.strip == nil:
		return t.rolls.Improve(tries)
	case t.rolls == nil || t.kind.Cut == programme.Trimmer:
		return t.strip.Improve(tries)
	default:
		return t.strip.Improve((tries+1)/2) + t.rolls.Improve((tries+1)/2)
	}
}

// best returns the places on each piece of roll and its length without margins.
func (t *rollTask) best() (rolls [][]pack.Place, lengths []int64) {
	places, length := t.stripBest()
	switch {
	case t.strip != nil && length <= t.height:
		return [][]pack.Place{places}, []int64{length}
	case t.strip != nil && t.kind.Cut == programme.Trimmer:
		if rolls, lengths, ok := pack.Bands(places, t.height); ok {
			return rolls, lengths
		}
	}
	return t.rolls.Best()
}

// outer returns the height of a piece of roll whose images take up a length.
func (f *field) outer(length int64) programme.Length {
	return programme.Length(length) - f.kind.Gutter + 2*f.kind.Margin
}

func (t *rollTask) net() float64 {
	_, lengths := t.best()
	return float64(t.cost(lengths).Total())
}

// cost returns what pieces of roll of these lengths cost.
func (t *rollTask) cost(lengths []int64) Cost {
	c := Cost{SetUp: t.kind.SetUp}
	var quantity float64
	for _, l := range lengths {
		if len(t.tariff.lengths) > 0 {
			c.Print += t.tariff.setPrice(t.outer(l))
		}
		quantity += t.tariff.quantity(t.tariff.charged(t.outer(l)), 1)
	}
	if len(t.tariff.lengths) == 0 {
		c.Print = t.tariff.price(t.tariff.filled(quantity))
	}
	c.TopUp = max(0, t.kind.MinimumOrder-c.SetUp-c.Print)
	return c
}

func (t *rollTask) floor() float64 {
	bound := pack.StripBound(t.pieces(), t.width)
	if len(t.tariff.lengths) > 0 {
		least := math.Inf(1)
		for _, l := range t.tariff.lengths {
			least = min(least, float64(l.Price)/float64(l.Length))
		}
		return max(float64(t.kind.MinimumOrder), float64(t.kind.SetUp)+least*float64(t.outer(bound)))
	}
	c := Cost{SetUp: t.kind.SetUp, Print: t.tariff.price(t.tariff.filled(t.tariff.quantity(t.outer(bound), 1)))}
	return max(float64(t.kind.MinimumOrder), float64(c.Total()))
}

func (t *rollTask) work() int { return t.images() * len(t.wants) }

// order makes the order: pieces of roll as long as they are paid.
func (t *rollTask) order(o *Order) {
	rolls, lengths := t.best()
	t.tidyOne(rolls, lengths)
	if h, ok := t.handiest(); ok {
		rolls, lengths = [][]pack.Place{h.Places}, []int64{h.Height}
	}
	o.Cost = t.cost(lengths)
	var quantity float64
	for i, places := range rolls {
		height := t.tariff.charged(t.outer(lengths[i]))
		quantity += t.tariff.quantity(height, 1)
		o.Layouts = append(o.Layouts, Layout{Copies: 1, Width: t.size.Width, Height: height, Items: t.items(places)})
		o.Used += t.outer(lengths[i])
	}
	if full := t.tariff.filled(quantity); len(t.tariff.lengths) == 0 && full > quantity {
		o.asUsed = t.tariff.price(quantity)
		t.lengthen(o, t.tariff.height(full)-t.tariff.height(quantity))
	}
	for _, l := range o.Layouts {
		o.Length += l.Height
	}
	for i := range o.Layouts {
		l := &o.Layouts[i]
		l.print = o.Cost.Print.Times(float64(l.Height) / float64(o.Length))
		l.setUp = l.print
	}
}

// lengthen adds to the pieces of roll what a cheaper break asks for beyond what is used.
func (t *rollTask) lengthen(o *Order, more programme.Length) {
	for i := len(o.Layouts) - 1; i >= 0 && more > 0; i-- {
		l := &o.Layouts[i]
		add := min(more, t.size.Height-l.Height)
		l.Height += add
		more -= add
	}
	for more > 0 {
		add := min(more, t.size.Height)
		o.Layouts = append(o.Layouts, Layout{Copies: 1, Width: t.size.Width, Height: add})
		more -= add
	}
}
