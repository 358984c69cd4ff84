package sheet

import (
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

// fitEfforts are the numbers of tries for the question whether images fit one sheet.
// The next one begins when asking again about all sheets that did not fit would
// take no longer than about fitPerTry times the tries so far.
var fitEfforts = []int{9, 25, 60, 150, 400, 1000}

const fitPerTry = 8

// aloneShare is the part of the tries that goes to the clients one by one, 1/aloneShare; their
// layouts together are one more candidate, so that pooling is chosen only
// where it is cheaper.
const aloneShare = 5

func (t *gangTask) improve(tries int) int {
	n := 0
	if next := slices.IndexFunc(fitEfforts, func(e int) bool { return e > t.effort }); next >= 0 &&
		t.search.Unfit()*fitEfforts[next] <= fitPerTry*t.tries {
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

// choice is the solution chosen for some of the artworks.
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
