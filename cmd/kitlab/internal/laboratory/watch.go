package laboratory

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat"

	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Watching is a series of shops that are looked at every few weeks for pieces
// that wear faster than others.
type Watching struct {
	World World
	// Shops of so many Clients each, watched for Years after a year of records.
	Shops, Clients int
	Years          float64
	// Every is the days between looks.
	Every int
	Seed  uint64
}

// Alarms says what came of a Watching.
type Alarms struct {
	World     string  `json:"world"`
	Name      string  `json:"name"`
	ShopYears float64 `json:"shop_years"`
	// Deliveries and Changes are alarms a shop and year, told once in half a year.
	Deliveries float64 `json:"deliveries"`
	Changes    float64 `json:"changes"`
	// Error is the standard error of both together, from shop to shop; 0 of one alone.
	Error float64 `json:"error"`
	// Found is the share of clients with any alarm in the time watched, Days the mean
	// time until the first of each.
	Found float64 `json:"found"`
	Days  float64 `json:"days"`
}

// quietDays is the time after an alarm in which the same is not told again.
const quietDays = 182

// Watch lives through a Watching; the same gives the same result.
func Watch(w Watching) (Alarms, error) {
	out := Alarms{World: w.World.Code, Name: w.World.Name, ShopYears: float64(w.Shops) * w.Years}
	found, days := 0.0, 0.0
	byShop := make([]float64, w.Shops)
	for i := range w.Shops * w.Clients {
		c := newClient(&w.World, rand.New(rand.NewPCG(w.Seed, uint64(i))))
		begin := 365
		c.asOf = begin + newsDays // what happens begins with the watch
		told := map[wear.Suspicion]int{}
		first := -1
		var waiting []late
		for c.today < begin+int(w.Years*daysPerYear) {
			waiting = c.day(waiting)
			if c.today < begin || (c.today-begin)%w.Every != 0 {
				continue
			}
			p, err := demand.Recall(c.shop, c.terms, c.roster(), c.ledger, c.date())
			if err != nil {
				return out, err
			}
			for _, s := range wear.Alarms(p.Suspicions, w.Clients, w.Clients*len(c.lines)) {
				about := wear.Suspicion{Garment: s.Garment, Delivery: s.Delivery}
				if at, known := told[about]; known && c.today < at+quietDays {
					continue
				}
				byShop[i/w.Clients] += 1 / w.Years
				if told[about] = c.today; s.Delivery {
					out.Deliveries++
				} else {
					out.Changes++
				}
				if first < 0 {
					first = c.today - begin
				}
			}
		}
		if first >= 0 {
			found, days = found+1, days+float64(first)
		}
	}
	out.Days = days / max(found, 1)
	out.Found = found / float64(w.Shops*w.Clients)
	out.Deliveries, out.Changes = out.Deliveries/out.ShopYears, out.Changes/out.ShopYears
	if w.Shops > 1 {
		out.Error = stat.StdDev(byShop, nil) / math.Sqrt(float64(w.Shops))
	}
	return out, nil
}
