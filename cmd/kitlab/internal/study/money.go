package study

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// Plan says how many shops to simulate, for how long, and against what.
type Plan struct {
	Shops   int
	Clients int // of each shop
	// House gives each shop the clients of the demo and two small ones instead.
	House  bool
	Weeks  int
	Seed   uint64
	Start  programme.Date
	Spread simulate.Spread
	// Terms changes what all ways share, client by client; nil keeps the usual terms.
	Terms func(shop *programme.Shop, client *programme.Client, t *market.Terms)
	// Knowing is the proposals told the truth, shown as the bound of what better
	// learning could save; nil leaves it out.
	Knowing Way
	// Workers is the number of shops that run at a time; Progress is called now and then.
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
	ShortWeeks    float64 `json:"short_weeks"`   // of wearers, whether the shop could know or not
	MissingWeeks  float64 `json:"missing_weeks"` // of needs that the shop knew of
	Emergencies   float64 `json:"emergencies"`   // rush orders
	Rushed        float64 `json:"rushed"`        // pieces in them
	Orders        float64 `json:"orders"`
	Pieces        float64 `json:"pieces"`
	// Money in whole units of currency. Handling is all but the goods put to use.
	Goods    float64 `json:"goods"`
	Ordering float64 `json:"ordering"`
	Rush     float64 `json:"rush"`
	Holding  float64 `json:"holding"`
	Missing  float64 `json:"missing"`
	Unused   float64 `json:"unused"`
	Handling float64 `json:"handling"`
	Cost     float64 `json:"cost"`
	// AtEnd names the settings that lie at the end of what was tried; none is as it should be.
	AtEnd []string `json:"at_end,omitempty"`
	// Against is the program's cost against this way's, shop by shop.
	Against *Comparison `json:"against,omitempty"`
}

// Comparison is the saving of the program's proposals against another way, as a
// share of what that costs: over all shops, and its spread over shops.
type Comparison struct {
	Handling float64 `json:"handling_saving"`
	P10      float64 `json:"p10"` // of the saving of handling, shop by shop
	P50      float64 `json:"p50"`
	P90      float64 `json:"p90"`
	Better   float64 `json:"better"` // share of shops in which the program's handling costs less
	Error    float64 `json:"error"`  // standard error of the saving, from the scatter over shops
	All      float64 `json:"saving"` // with the goods
}

// Report is the whole study; the program's proposals come first.
type Report struct {
	Format  int    `json:"format"`
	Shops   int    `json:"shops"`
	Clients int    `json:"clients"`
	Weeks   int    `json:"weeks"`
	Seed    uint64 `json:"seed"`
	// Results are the ways at the settings that cost least in handling.
	Results []Result `json:"results"`
	// NoMoreMissing are those that keep a shelf, at the settings that cost least
	// among those with no more missing weeks than the proposals.
	NoMoreMissing []Result `json:"no_more_missing"`
}

// Names of the ways in a report.
const (
	Proposals     = "proposals"
	Levels        = "order point"
	Calendar      = "calendar rule"
	MovingAverage = "moving average"
	Reacting      = "reacting"
	TruthKnown    = "truth known"
)

// way is one of the others with what it may be tuned by, from a start.
type way struct {
	name     string
	part     float64 // of the work that is done before it
	settings Settings
	at       []int
	axes     []axis
	shelf    bool // it keeps one, and so can be made to miss less
}

func ways(weeks int) []way {
	ages := kitAges(weeks)
	months := oneOf("age of kits", "", ages, func(s *Settings) *int { return &s.Months })
	return []way{
		{Levels, 0.2, Settings{Every: 1, Window: 52, Points: true}, []int{10, 3, 1, 0},
			[]axis{zAxis, coverAxis, unwornAxis, eachAxis}, true},
		{Calendar, 0.4, Settings{}, []int{9, len(ages) - 1, 2, 0, 2, 0},
			[]axis{bufferAxis, months, everyAxis, unwornAxis, windowAxis, roundAxis}, true},
		{MovingAverage, 0.6, Settings{}, []int{9, 2, 0, 2, 0}, []axis{bufferAxis, everyAxis, unwornAxis, windowAxis,
			roundAxis}, true},
		{Reacting, 0.8, Settings{}, []int{1}, []axis{oneOf("", "weeks between looks", []int{1, 2, 4, 8}, every)},
			false},
	}
}

// Money runs the program's proposals and the other ways on the same shops, each
// at the settings that cost least in hindsight, and those that keep a shelf once more
// at the ones that cost least while no more is missing than with the proposals. The
// proposals told the truth come last.
func Money(p Plan, ours Way) Report {
	b := newBench(p)
	rep := Report{Format: 2, Shops: p.Shops, Clients: len(b.studies[0].Subjects), Weeks: p.Weeks, Seed: p.Seed}
	years := float64(p.Weeks) * 7 / 365.25
	p.tell("our proposals", 0)
	own := b.run(ours)
	rep.Results = append(rep.Results, summarise(Proposals, Settings{Every: 1}, own, years))
	for _, o := range ways(p.Weeks) {
		p.tell(o.name, o.part)
		free := b.cheapest(o.settings, slices.Clone(o.at), math.Inf(1), o.axes...)
		rep.Results = append(rep.Results, against(own, o.name, &free, years))
		rep.Results[len(rep.Results)-1].AtEnd = free.atEnd(o.axes)
		if !o.shelf {
			continue
		}
		p.tell(o.name+", at no more missing weeks", o.part)
		most := total(own).MissingWeeks
		if free.total.MissingWeeks > most {
			free = b.cheapest(free.Settings, free.at, most, o.axes...)
		}
		r := against(own, o.name, &free, years)
		r.AtEnd = free.atEnd(o.axes)
		rep.NoMoreMissing = append(rep.NoMoreMissing, r)
	}
	if p.Knowing != nil {
		p.tell("our proposals, the truth known", 0.9)
		rep.Results = append(rep.Results, against(own, TruthKnown,
			&tuned{Settings: Settings{Every: 1}, scores: b.run(p.Knowing)}, years))
	}
	p.tell("done", 1)
	return rep
}

// against describes a tuned way beside the proposals' scores.
func against(own []market.Score, name string, t *tuned, years float64) Result {
	r := summarise(name, t.Settings, t.scores, years)
	r.Against = compare(own, t.scores)
	return r
}

func (p *Plan) tell(what string, part float64) {
	if p.Progress != nil {
		p.Progress(what, part)
	}
}

func newBench(p Plan) *bench {
	studies := market.NewStudies(p.Shops, p.Clients, p.Spread, p.Start, p.Seed)
	if p.House {
		for i := range studies {
			studies[i] = market.NewHouse(p.Spread, p.Start, p.Seed+uint64(i))
		}
	}
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

func every(s *Settings) *int { return &s.Every }

// The choices of the habits, apart from the shelf that they keep.
var (
	everyAxis  = oneOf("", "weeks between looks", []int{1, 2, 4, 8, 13, 19, 26}, every)
	unwornAxis = oneOf("", "pieces of unworn sizes", []float64{0, 4, 20, 60, 200, 600, 1800, 5400},
		func(s *Settings) *float64 { return &s.Unworn })
	windowAxis = oneOf("weeks looked back", "weeks looked back", []int{3, 6, 12, 26, 52, 104},
		func(s *Settings) *int { return &s.Window })
	roundAxis = oneOf("", "", []bool{false, true}, func(s *Settings) *bool { return &s.RoundUp })
	eachAxis  = oneOf("", "", []bool{false, true}, func(s *Settings) *bool { return &s.Each })
)

// kitAges returns months that come round at least once, and not only at the very end
// of the weeks.
func kitAges(weeks int) (ages []int) {
	for _, months := range []int{6, 9, 12, 18, 24, 36} {
		if float64(months)*365.25/12/7 < 0.8*float64(weeks) {
			ages = append(ages, months)
		}
	}
	return ages
}

func summarise(name string, s Settings, scores []market.Score, years float64) Result {
	t := total(scores)
	per := 1 / (float64(len(scores)) * years)
	money := func(m programme.Money) float64 { return m.Float() * per }
	return Result{
		Name: name, Settings: s, FillRate: t.FillRate(),
		Stock:         t.StockWeeks / float64(t.Weeks) / float64(len(scores)),
		ScrappedEarly: float64(t.ScrappedEarly) * per, ShortWeeks: t.ShortWeeks * per,
		MissingWeeks: t.MissingWeeks * per,
		Emergencies:  float64(t.Emergencies) * per, Rushed: float64(t.Rushed) * per,
		Orders: float64(t.Orders) * per, Pieces: float64(t.Pieces) * per,
		Goods: money(t.Goods), Ordering: money(t.Ordering), Rush: money(t.Rush), Holding: money(t.Holding),
		Missing: money(t.Missing), Unused: money(t.Unused), Handling: money(t.Handling()), Cost: money(t.Cost()),
	}
}

// compare sets the program's scores beside another way's, shop by shop.
func compare(own, other []market.Score) *Comparison {
	a, b := total(own), total(other)
	c := &Comparison{Handling: saving(a.Handling(), b.Handling()), All: saving(a.Cost(), b.Cost())}
	each := make([]float64, len(own))
	n, square := float64(len(own)), 0.0
	for i := range own {
		mine, theirs := float64(own[i].Handling()), float64(other[i].Handling())
		each[i] = 1 - mine/theirs
		if each[i] > 0 {
			c.Better += 1 / n
		}
		// The saving is one less a ratio of sums; its error is that of the mean of
		// what each shop is off that ratio.
		off := mine - (1-c.Handling)*theirs
		square += off * off
	}
	c.Error = math.Sqrt(square) / float64(b.Handling())
	slices.Sort(each)
	at := func(p float64) float64 { return each[int(math.Round(p*(n-1)))] }
	c.P10, c.P50, c.P90 = at(0.1), at(0.5), at(0.9)
	return c
}

func saving(ours, theirs programme.Money) float64 { return 1 - float64(ours)/float64(theirs) }
