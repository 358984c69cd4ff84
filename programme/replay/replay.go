package replay

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Forecast holds the probabilities that 0, 1, 2... pieces are needed in the weeks after a
// day: of all lines together (Total) and of each line.
type Forecast struct {
	Total []float64
	Lines map[programme.SKU][]float64
}

// Forecaster says what will be needed in so many weeks after a day, from what
// was known on that day.
type Forecaster func(known Records, day programme.Date, weeks int) (Forecast, error)

// Plan says for which past days forecasts are made, and how many weeks ahead.
type Plan struct {
	From, Until programme.Date // first day to ask on; last day of which the outcome is known
	Every       int            // weeks from one day to the next
	Weeks       int            // how far ahead
	// CalendarMonths is the age of the calendar rule; 0 takes the age that, in
	// hindsight, does best, which no shop could have known.
	CalendarMonths int
}

// Moment is one day that was asked about, for everything together.
type Moment struct {
	AsOf     programme.Date `json:"as_of"`
	Until    programme.Date `json:"until"`
	Expected float64        `json:"expected"`
	// Low and High bound the central 80 % of the forecast.
	Low  int `json:"low"`
	High int `json:"high"`
	Came int `json:"came"`
	// Rules holds the need that each rule of thumb expected, by name.
	Rules map[string]float64 `json:"rules"`
}

// Row is the result of one way of forecasting: on all pieces together and line by line.
type Row struct {
	Name  string `json:"name"`
	Total Score  `json:"total"`
	Lines Score  `json:"lines"`

	total, lines tally
}

// Result is the replay of one client, or of several joined.
type Result struct {
	Format         int      `json:"format"`
	Client         string   `json:"client,omitempty"`
	Weeks          int      `json:"weeks"`
	CalendarMonths int      `json:"calendar_months,omitempty"`
	Moments        []Moment `json:"moments,omitempty"`
	Rows           []Row    `json:"rows"` // the forecast first
}

// Ours is the name of the program's forecast among the rows.
const Ours = "forecast"

// Run replays one client. Days whose outcome is not wholly known are left out:
// where pieces are counted, what happened after the last count is not known yet, and
// past orders, from which holdings are assumed, tell of no ending before records begin.
func Run(shop *programme.Shop, client *programme.Client, r Records, plan Plan, ask Forecaster) (Result, error) {
	until := plan.Until
	if last := LastCount(r.Ledger); client.CountEveryWeeks > 0 && !last.IsZero() {
		until = min(until, last)
	}
	res := Result{Format: 1, Client: client.Code, Weeks: plan.Weeks}
	truth := Needs(shop, client, r)
	var cells []cell
	began, ok := recordsBegan(r.Ledger)
	for day := max(plan.From, began); ok && day.Add(7*plan.Weeks) <= until; day = day.Add(7 * plan.Every) {
		known := r.AsOf(day)
		f, err := ask(known, day, plan.Weeks)
		if err != nil {
			return res, fmt.Errorf("forecast of %s as of %v: %w", client.Code, day, err)
		}
		cells = append(cells, cell{day, known, Needs(shop, client, known), f, Came(truth, day, day.Add(7*plan.Weeks))})
	}
	res.CalendarMonths = plan.CalendarMonths
	if plan.CalendarMonths == 0 {
		res.CalendarMonths = bestCalendar(cells, plan.Weeks)
	}
	res.judge(cells, rules(res.CalendarMonths))
	return res, nil
}

// cell is one day with what was said and what came.
type cell struct {
	day      programme.Date
	known    Records
	needs    []Need
	forecast Forecast
	came     map[programme.SKU]int
}

func (res *Result) judge(cells []cell, rules []Rule) {
	res.Rows = make([]Row, 1+len(rules))
	res.Rows[0].Name = Ours
	for i, rule := range rules {
		res.Rows[1+i].Name = rule.Name
	}
	for i := range cells {
		c := &cells[i]
		m := c.moment(res.Weeks)
		res.Rows[0].total.add(c.forecast.Total, m.Came)
		lines := c.lines()
		for _, k := range lines {
			res.Rows[0].lines.add(chances(c.forecast.Lines[k]), c.came[k])
		}
		for j, rule := range rules {
			expect := rule.Expect(c.needs, c.known, c.day, res.Weeks)
			m.Rules[rule.Name] = sum(expect)
			res.Rows[1+j].total.add(poisson(m.Rules[rule.Name]), m.Came)
			for _, k := range lines {
				res.Rows[1+j].lines.add(poisson(expect[k]), c.came[k])
			}
		}
		res.Moments = append(res.Moments, m)
	}
	res.settle()
}

func (res *Result) settle() {
	for i := range res.Rows {
		res.Rows[i].Total, res.Rows[i].Lines = res.Rows[i].total.score(), res.Rows[i].lines.score()
	}
}

func chances(pmf []float64) []float64 {
	if len(pmf) == 0 {
		return []float64{1}
	}
	return pmf
}

func (c *cell) moment(weeks int) Moment {
	m := Moment{AsOf: c.day, Until: c.day.Add(7 * weeks), Rules: map[string]float64{}}
	for _, n := range c.came {
		m.Came += n
	}
	cdf := cumulate(c.forecast.Total)
	m.Low, m.High = quantile(cdf, 0.1), quantile(cdf, 0.9)
	for n, p := range c.forecast.Total {
		m.Expected += float64(n) * p
	}
	return m
}

// lines returns the lines that the forecast speaks of or that something was needed of, in order.
func (c *cell) lines() []programme.SKU {
	list := slices.AppendSeq(slices.Collect(maps.Keys(c.forecast.Lines)), maps.Keys(c.came))
	slices.SortFunc(list, programme.SKU.Compare)
	return slices.Compact(list)
}

// sum adds in order of keys, so that the last digit is the same every time.
func sum(expect map[programme.SKU]float64) float64 {
	total := 0.0
	for _, k := range slices.SortedFunc(maps.Keys(expect), programme.SKU.Compare) {
		total += expect[k]
	}
	return total
}

// bestCalendar returns the age in months, of 3 to 36, that comes nearest to what came.
func bestCalendar(cells []cell, weeks int) int {
	best, least := 12, math.Inf(1)
	for months := 3; months <= 36; months++ {
		off := 0.0
		for i := range cells {
			came := 0
			for _, n := range cells[i].came {
				came += n
			}
			off += math.Abs(sum(fallingDue(cells[i].known.Ledger, cells[i].day, weeks, months)) - float64(came))
		}
		if off < least {
			best, least = months, off
		}
	}
	return best
}

// Join adds up the scores of several clients under the same plan.
func Join(results []Result) Result {
	var all Result
	for i := range results {
		r := &results[i]
		if all.Rows == nil {
			all = Result{Format: r.Format, Weeks: r.Weeks, Rows: append([]Row(nil), r.Rows...)}
			continue
		}
		for j := range r.Rows {
			all.Rows[j].total.join(&r.Rows[j].total)
			all.Rows[j].lines.join(&r.Rows[j].lines)
		}
	}
	all.settle()
	return all
}

func (t *tally) join(o *tally) {
	t.n += o.n
	for i := range nominal {
		t.claimed[i], t.inside[i] = t.claimed[i]+o.claimed[i], t.inside[i]+o.inside[i]
	}
	t.pinball, t.expected, t.came = t.pinball+o.pinball, t.expected+o.expected, t.came+o.came
}
