package study

import (
	"math"
	"sort"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// Plan is what to simulate.
type Plan struct {
	Shops   int
	Clients int // of each shop
	Weeks   int
	Seed    uint64
	Start   programme.Date
	Spread  simulate.Spread
	// Terms changes what all ways share, client by client; nil keeps the usual terms.
	Terms func(shop *programme.Shop, client *programme.Client, t *simulate.Terms)
	// Knowing is the proposals told the truth, shown as the bound of what better
	// learning could save; nil leaves it out.
	Knowing Way
	// Workers is how many shops run at a time; Progress is called now and then.
	Workers  int
	Progress func(what string, part float64)
}

// Result is one way of ordering over all shops.
type Result struct {
	Name     string   `json:"name"`
	Settings Settings `json:"settings"`
	// FillRate is over all needs of all shops; the rest are means per shop and year.
	FillRate      float64 `json:"fill_rate"`
	Stock         float64 `json:"stock_pieces"` // on the shelf on an average day
	ScrappedEarly float64 `json:"scrapped_early"`
	ShortWeeks    float64 `json:"short_weeks"`
	Emergencies   float64 `json:"emergencies"` // orders in haste
	Rushed        float64 `json:"rushed"`      // pieces in them
	Orders        float64 `json:"orders"`
	Pieces        float64 `json:"pieces"`
	// Money in whole units of currency.
	Goods    float64 `json:"goods"`
	Ordering float64 `json:"ordering"`
	Rush     float64 `json:"rush"`
	Holding  float64 `json:"holding"`
	Cost     float64 `json:"cost"`
	// Against is the program's cost against this way's, shop by shop.
	Against *Comparison `json:"against,omitempty"`
}

// Comparison is the saving of the program's proposals against a habit, as a
// share of the habit's cost: over all shops, and its spread over shops.
type Comparison struct {
	Saving   float64 `json:"saving"`
	P10      float64 `json:"p10"`
	P50      float64 `json:"p50"`
	P90      float64 `json:"p90"`
	Better   float64 `json:"better"` // share of shops in which the program costs less
	Handling float64 `json:"handling_saving"`
	// WeekPrice is the price of one worn-out piece-week at which both cost the
	// same; 0 when one of them is cheaper at every price.
	WeekPrice float64 `json:"week_price"`
}

// Report is the whole study; the program's proposals come first.
type Report struct {
	Format  int      `json:"format"`
	Shops   int      `json:"shops"`
	Clients int      `json:"clients"`
	Weeks   int      `json:"weeks"`
	Seed    uint64   `json:"seed"`
	Results []Result `json:"results"`
}

// Names of the ways in a report.
const (
	Proposals     = "proposals"
	Calendar      = "calendar rule"
	MovingAverage = "moving average"
	Reacting      = "reacting"
	TruthKnown    = "truth known"
)

// nearly is how much lower than the proposals' a habit's fill rate may be to
// count as equal, in the habit's favour: the last point is the dearest.
const nearly = 0.01

// Money runs the program's proposals and the habits on the same shops. The
// moving average and the calendar rule are brought to the proposals' fill rate,
// less one point, by the shelf they keep; reacting keeps no shelf, so it has the fill rate it has.
// The proposals told the truth come last, at their own fill rate.
func Money(p Plan, ours Way) Report {
	b := newBench(p)
	rep := Report{Format: 1, Shops: p.Shops, Clients: p.Clients, Weeks: p.Weeks, Seed: p.Seed}
	p.tell("our proposals", 0)
	own := b.run(ours)
	sum := total(own)
	fill := sum.FillRate() - nearly
	years := float64(p.Weeks) * 7 / 365.25
	rep.Results = append(rep.Results, summarise(Proposals, Settings{Every: 1}, own, years))
	p.tell("calendar rule", 0.5)
	calendar := b.cheapest(calendarSettings(p.Weeks), fill)
	p.tell("moving average", 0.8)
	average := b.cheapest([]Settings{{Every: 2}, {Every: 4}, {Every: 8}, {Every: 13}}, fill)
	p.tell("reacting", 0.95)
	react := b.cheapestReacting()
	for _, h := range []struct {
		name string
		tuned
	}{{Calendar, calendar}, {MovingAverage, average}, {Reacting, react}} {
		r := summarise(h.name, h.Settings, h.scores, years)
		r.Against = compare(own, h.scores)
		rep.Results = append(rep.Results, r)
	}
	if p.Knowing != nil {
		p.tell("our proposals, the truth known", 0.97)
		known := b.run(p.Knowing)
		r := summarise(TruthKnown, Settings{Every: 1}, known, years)
		r.Against = compare(own, known)
		rep.Results = append(rep.Results, r)
	}
	p.tell("done", 1)
	return rep
}

func (p *Plan) tell(what string, part float64) {
	if p.Progress != nil {
		p.Progress(what, part)
	}
}

func newBench(p Plan) *bench {
	studies := simulate.NewStudies(p.Shops, p.Clients, p.Spread, p.Start, p.Seed)
	if p.Terms != nil {
		for i := range studies {
			for j := range studies[i].Subjects {
				s := &studies[i].Subjects[j]
				p.Terms(&studies[i].Shop, &s.Client, &s.Terms)
			}
		}
	}
	return &bench{studies: studies, weeks: p.Weeks, workers: p.Workers}
}

// calendarSettings are ages that come round at least once, and not only at the
// very end of the weeks.
func calendarSettings(weeks int) []Settings {
	var list []Settings
	for _, months := range []int{6, 9, 12, 18, 24} {
		for _, every := range []int{4, 8} {
			if float64(months)*365.25/12/7 < 0.8*float64(weeks) {
				list = append(list, Settings{Every: every, Months: months})
			}
		}
	}
	return list
}

// cheapestReacting orders what wore out, as often as costs least.
func (b *bench) cheapestReacting() tuned {
	var best tuned
	for i, every := range []int{1, 2, 4} {
		s := Settings{Every: every}
		scores := b.run(by(s))
		if t := (tuned{s, scores, total(scores)}); i == 0 || t.total.Cost() < best.total.Cost() {
			best = t
		}
	}
	return best
}

func summarise(name string, s Settings, scores []simulate.Score, years float64) Result {
	t := total(scores)
	per := 1 / (float64(len(scores)) * years)
	r := Result{
		Name: name, Settings: s, FillRate: t.FillRate(),
		Stock:         t.StockWeeks / float64(t.Weeks) / float64(len(scores)),
		ScrappedEarly: float64(t.ScrappedEarly) * per, ShortWeeks: t.ShortWeeks * per, Emergencies: float64(t.Emergencies) * per, Rushed: float64(t.Rushed) * per,
		Orders: float64(t.Orders) * per, Pieces: float64(t.Pieces) * per,
		Goods: t.Goods.Float() * per, Ordering: t.Ordering.Float() * per, Rush: t.Rush.Float() * per, Holding: t.Holding.Float() * per,
	}
	r.Cost = r.Goods + r.Ordering + r.Rush + r.Holding
	return r
}

// compare sets the program's scores beside a habit's, shop by shop.
func compare(own, other []simulate.Score) *Comparison {
	a, b := total(own), total(other)
	c := &Comparison{Saving: saving(a.Cost(), b.Cost()), Handling: saving(a.Cost()-a.Goods, b.Cost()-b.Goods)}
	each := make([]float64, len(own))
	for i := range own {
		each[i] = saving(own[i].Cost(), other[i].Cost())
		if each[i] > 0 {
			c.Better += 1 / float64(len(own))
		}
	}
	sort.Float64s(each)
	at := func(p float64) float64 { return each[int(math.Round(p*float64(len(each)-1)))] }
	c.P10, c.P50, c.P90 = at(0.1), at(0.5), at(0.9)
	if weeks, dearer := b.ShortWeeks-a.ShortWeeks, (a.Cost() - b.Cost()).Float(); weeks*dearer > 0 {
		c.WeekPrice = dearer / weeks
	}
	return c
}

func saving(ours, theirs programme.Money) float64 { return 1 - float64(ours)/float64(theirs) }
