package sheet

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// gangTask chooses layouts and copies of fixed sheets for a screen-printed kind.
type gangTask struct {
	*field
	problem *gang.Problem
	search  *gang.Search
	alone   []*gang.Search // each client by itself
	clients [][]int        // the artworks of each
	tries   int
}

func newGangTask(f *field, b Budget) (*gangTask, error) {
	f.effort, f.stop, f.fitted = fitEfforts[0], b.Stop, map[string][]pack.Place{}
	t := &gangTask{field: f, problem: f.problem()}
	opt := gang.Options{Seed: b.Seed, Stop: b.Stop}
	t.search = gang.NewSearch(t.problem, opt)
	t.apart(opt)
	t.pool()
	_, err := t.search.Best()
	return t, err
}

// fitEfforts are how hard the question is tried whether images fit one sheet.
// The next one begins when asking again about all sheets that did not fit would
// take no longer than about fitPerTry times the tries so far.
var fitEfforts = []int{9, 25, 60, 150, 400, 1000}

const fitPerTry = 8

// aloneShare is which part of the tries go to the clients one by one; their
// layouts together are one more candidate, so that pooling is chosen only
// where it is cheaper.
const aloneShare = 5

func (t *gangTask) improve(tries int) int {
	n := 0
	if next := slices.IndexFunc(fitEfforts, func(e int) bool { return e > t.effort }); next >= 0 && t.search.Unfit()*fitEfforts[next] <= fitPerTry*t.tries {
		t.effort = fitEfforts[next]
		maps.DeleteFunc(t.fitted, func(_ string, places []pack.Place) bool { return places == nil })
		t.search.AskAgain()
		for _, s := range t.alone {
			s.AskAgain()
		}
	}
	if len(t.alone) > 0 {
		for _, s := range t.alone {
			n += s.Improve(max(1, tries/aloneShare/len(t.alone)))
		}
		t.pool()
	}
	n += t.search.Improve(tries)
	t.tries += n
	return n
}

// apart begins a search for each client.
func (t *gangTask) apart(opt gang.Options) {
	clients := map[string][]int{}
	for j, w := range t.wants {
		clients[w.line.Client] = append(clients[w.line.Client], j)
	}
	if len(clients) < 2 {
		return
	}
	for _, c := range slices.Sorted(maps.Keys(clients)) {
		t.clients = append(t.clients, clients[c])
		t.alone = append(t.alone, gang.NewSearch(t.problem.Part(clients[c]), opt))
	}
}

// pool offers the clients' own layouts together.
func (t *gangTask) pool() {
	var layouts []gang.Layout
	for i, s := range t.alone {
		best, err := s.Best()
		if err != nil {
			return
		}
		layouts = append(layouts, t.problem.Spread(best.Layouts, t.clients[i])...)
	}
	if len(layouts) > 0 {
		t.search.Offer(t.problem.Cost(layouts))
	}
}

func (t *gangTask) best() gang.Solution {
	s, _ := t.search.Best() // there was one from the start
	return s
}

func (t *gangTask) net() float64 {
	s := t.best()
	return max(s.SetUp+s.Print, float64(t.kind.MinimumOrder)) - s.OverWorth
}

func (t *gangTask) floor() float64 {
	if t.best().Proven {
		return t.net()
	}
	return t.search.Floor()
}

func (t *gangTask) work() int { return len(t.wants) * 4 }

// order adds the layouts of this part; prices and reasons follow when all parts are there.
func (t *gangTask) order(o *Order) {
	for _, l := range t.best().Layouts {
		places, _ := t.fit(l.Copies, pack.Options{Iterations: t.effort})
		places = t.tidy(places, t.height)
		out := Layout{
			Copies: l.Run, Width: t.size.Width, Height: t.size.Height,
			Items: t.items(places), Inks: t.inks(l.Copies), setUp: t.setUp(l.Copies),
		}
		o.Cost.SetUp += out.setUp
		o.Layouts = append(o.Layouts, out)
	}
}

// settle prices the copies of all parts together and says why.
func (w *way) settle(o *Order, shop *programme.Shop) {
	f := w.field
	if len(w.tasks) > 1 && f.kind.BreaksPerOrder {
		o.Layouts[0].Copies += f.toNextBreak(o.Sheets())
	}
	f.priceCopies(o)
	var worth float64
	chosen := make([]choice, len(w.tasks))
	for i, p := range w.tasks {
		t := p.task.(*gangTask)
		chosen[i] = choice{t.best(), t.search.Cheapest(), t.problem}
		worth += chosen[i].OverWorth
	}
	o.Cost.OverWorth = programme.Money(math.Round(worth))
	o.Cost.TopUp = max(0, f.kind.MinimumOrder-o.Cost.SetUp-o.Cost.Print)
	o.Why = reasons(shop, chosen, o)
}

// choice is what was chosen for some of the artworks.
type choice struct {
	gang.Solution
	cheapest gang.Solution // in cash
	problem  *gang.Problem
}

// priceCopies prices the printed copies, each layout by its own run or all by
// the sheets of the order.
func (f *field) priceCopies(o *Order) {
	all := o.Sheets()
	for i := range o.Layouts {
		l := &o.Layouts[i]
		n := l.Copies
		if f.kind.BreaksPerOrder {
			n = all
		}
		l.print = programme.Money(math.Round(f.eachOf(float64(n)) * float64(l.Copies)))
		o.Cost.Print += l.print
	}
}

// problem states the choice of layouts; money is in hundredths.
func (f *field) problem() *gang.Problem {
	p := &gang.Problem{SetUp: func(c []int) float64 { return float64(f.setUp(c)) }, PerOrder: f.kind.BreaksPerOrder}
	p.Fits = func(copies []int) bool {
		_, ok := f.fit(copies, pack.Options{Iterations: f.effort})
		return ok
	}
	p.TryHard = func(copies []int, effort int) bool {
		_, ok := f.fit(copies, pack.Options{Seed: uint64(effort), Iterations: effort, Stop: f.stop})
		return ok
	}
	floor := f.floor()
	for _, w := range f.wants {
		p.Need = append(p.Need, w.line.Print)
		p.Size = append(p.Size, f.share(w))
	}
	one := f.tariff.quantity(f.size.Height, 1)
	for _, b := range f.tariff.breaks {
		p.Breaks = append(p.Breaks, gang.Break{From: int(math.Ceil(b.From/one - 1e-9)), Price: float64(b.Price) * one})
	}
	if f.kind.BreaksPerOrder && f.whole > floor { // the sheets of other parts count towards the break
		p.Breaks = []gang.Break{{From: 1, Price: f.eachAbout(math.Ceil(f.whole))}}
	}
	if slots, ok := f.slots(); ok {
		p.Slots = slots
		for j := range p.Size {
			p.Size[j] = 1 / float64(slots)
		}
	}
	if f.kind.OverWorth > 0 {
		each := f.eachAbout(math.Ceil(floor))
		for j, w := range f.wants {
			p.Worth = append(p.Worth, f.kind.OverWorth*each*p.Size[j])
			p.Useful = append(p.Useful, f.useful(w))
		}
	}
	return p
}

// share is the part of a sheet that one copy takes up at the least.
func (f *field) share(w want) float64 {
	piece := f.piece(w, 1)
	return float64(piece.W) * float64(piece.H) / (float64(f.width) * float64(f.height))
}

// floor is the least number of sheets by area alone.
func (f *field) floor() (sheets float64) {
	for _, w := range f.wants {
		sheets += float64(w.line.Print) * f.share(w)
	}
	return sheets
}

// eachOf is what a sheet costs when n are printed.
func (f *field) eachOf(n float64) float64 {
	one := f.tariff.quantity(f.size.Height, 1)
	return float64(priceAt(f.tariff.breaks, n*one)) * one
}

// eachAbout is what a sheet costs when about n are printed: the price at the
// next break where ordering up to it is no dearer.
func (f *field) eachAbout(n float64) float64 {
	one := f.tariff.quantity(f.size.Height, 1)
	return f.eachOf(f.tariff.filled(n*one) / one)
}

// useful is how many overs of an artwork will be used before they are too old.
func (f *field) useful(w want) int {
	months := f.kind.MaxOversMonths
	if f.kind.ShelfDays > 0 {
		months = min(months, float64(f.kind.ShelfDays)/30.44)
	}
	return int(months * w.perMonth)
}

// setUp is what one layout costs to set up: once, and once for each ink colour.
func (f *field) setUp(copies []int) programme.Money {
	return f.kind.SetUp + f.kind.SetUpPerInk*programme.Money(f.inks(copies))
}

// inks counts the ink colours on a layout. Artworks of one ink set share their
// colours; an artwork without an ink set brings its own.
func (f *field) inks(copies []int) (n int) {
	if f.kind.Process != programme.ScreenPrinted {
		return 0
	}
	for j, c := range copies {
		if c == 0 {
			continue
		}
		a := f.wants[j].art
		if a.InkSet == "" {
			n += a.Inks
			continue
		}
		// Count the set once, with the most colours any of its artworks here uses,
		// at the first artwork that reaches it.
		first := true
		for i := range copies {
			b := f.wants[i].art
			if copies[i] > 0 && b.InkSet == a.InkSet && (b.Inks > a.Inks || (b.Inks == a.Inks && i < j)) {
				first = false
				break
			}
		}
		if first {
			n += a.Inks
		}
	}
	return n
}

// fit lays the copies out on one sheet, remembering what it found, so that a
// layout that was chosen can be drawn.
func (f *field) fit(copies []int, opt pack.Options) ([]pack.Place, bool) {
	key := fmt.Sprint(copies)
	if places, known := f.fitted[key]; known && (places != nil || opt.Iterations <= f.effort) {
		return places, places != nil
	}
	pieces := make([]pack.Piece, len(copies))
	for j, c := range copies {
		pieces[j] = f.piece(f.wants[j], c)
	}
	opt.Guillotine = f.kind.Cut == programme.Trimmer
	places, ok := pack.Fit(pieces, f.width, f.height, opt)
	if ok || f.fitted[key] == nil {
		f.fitted[key] = places // nil says that the usual effort was in vain
	}
	return places, ok
}

// slots is how many images one sheet holds when all are of one size.
func (f *field) slots() (int, bool) {
	first := f.piece(f.wants[0], 1)
	for _, w := range f.wants[1:] {
		if f.piece(w, 1) != first {
			return 0, false
		}
	}
	n := 0
	for {
		first.Count = n + 1
		if _, ok := pack.Fit([]pack.Piece{first}, f.width, f.height, pack.Options{Iterations: f.effort, Guillotine: f.kind.Cut == programme.Trimmer}); !ok {
			return n, true
		}
		n++
	}
}
