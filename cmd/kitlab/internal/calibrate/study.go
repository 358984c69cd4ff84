package calibrate

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme/demand"
)

// Study is one series of invented clients.
type Study struct {
	Clients int
	// Years of records before the forecast, drawn between the two.
	FromYears, ToYears float64
	// Unseen is the share of endings nobody writes down until a count, every half
	// year and on the day of the forecast; 0 = no counts.
	Unseen float64
	// Factor multiplies the true lives; 1 = drawn around the prior.
	Factor float64
	// Stale leaves out the count on the day of the forecast, so that endings since
	// the last half-yearly one are hidden still; they are needs of the first day.
	Stale bool
	// Weeks is the horizon.
	Weeks int
	Seed  uint64
	// Alike gives everybody four pieces that records cannot tell apart, so that
	// "an ending takes the oldest" is a guess; otherwise one piece of each colour.
	Alike bool
	// PlugIn forecasts with the best fit taken as certain, as a comparison.
	PlugIn bool
}

// Result holds the figures of a study.
type Result struct {
	Clients int
	// Cover is the share of clients whose needs fell into the interval, Claim the
	// share that the distributions themselves gave it; at 80 and 95 %.
	Cover80, Claim80, Cover95, Claim95 float64
	// PIT is the share of randomised transforms in each tenth.
	PIT     [10]float64
	PITMean float64
	// PITP is the chance of so uneven tenths if the forecast were right (chi-square).
	PITP float64
	// Bias is the mean forecast over the mean of what came, less 1.
	Bias float64
	// LogScore is the mean of minus the log chance given to what came.
	LogScore float64
}

// Run does a study; the same study gives the same result.
func Run(s Study) (Result, error) {
	r := Result{Clients: s.Clients}
	var said, came float64
	for i := range s.Clients {
		rng := rand.New(rand.NewPCG(s.Seed, uint64(i)))
		w := newWorld(s, rng)
		in, err := w.input()
		if err != nil {
			return r, err
		}
		if s.PlugIn {
			for c, k := range in.Learnt {
				in.Learnt[c] = k.PlugIn()
			}
		}
		total := in.Muster(s.Weeks).Total
		needs := w.reveal() + w.future(7*s.Weeks)
		said, came = said+total.Mean, came+float64(needs)
		r.add(total.PMF, needs, rng.Float64())
	}
	r.finish(said, came)
	return r, nil
}

func (r *Result) add(pmf []float64, needs int, u float64) {
	var below, at float64
	for n, p := range pmf {
		if n < needs {
			below += p
		} else if n == needs {
			at = p
		}
	}
	pit := math.Min(below+u*at, math.Nextafter(1, 0))
	r.PIT[int(10*pit)]++
	r.PITMean += pit
	r.LogScore -= math.Log(math.Max(at, 1e-300))
	in80, claim80 := interval(pmf, 0.8, needs)
	in95, claim95 := interval(pmf, 0.95, needs)
	r.Cover80, r.Claim80 = r.Cover80+in80, r.Claim80+claim80
	r.Cover95, r.Claim95 = r.Cover95+in95, r.Claim95+claim95
}

// interval returns whether needs lie in the central interval (1 or 0), and what the
// distribution claims for it.
func interval(pmf []float64, level float64, needs int) (inside, claim float64) {
	lo, hi := demand.Quantile(pmf, (1-level)/2), demand.Quantile(pmf, (1+level)/2)
	for n := lo; n <= hi && n < len(pmf); n++ {
		claim += pmf[n]
	}
	if lo <= needs && needs <= hi {
		inside = 1
	}
	return inside, claim
}

func (r *Result) finish(said, came float64) {
	n := float64(r.Clients)
	for _, x := range []*float64{&r.Cover80, &r.Claim80, &r.Cover95, &r.Claim95, &r.PITMean, &r.LogScore} {
		*x /= n
	}
	chi := 0.0
	for i, c := range r.PIT {
		chi += (c - n/10) * (c - n/10) / (n / 10)
		r.PIT[i] = c / n
	}
	r.PITP = 1 - distuv.ChiSquared{K: 9}.CDF(chi)
	r.Bias = said/came - 1
}

// input states the invented records as the program would read them.
func (w *world) input() (*demand.Input, error) {
	return demand.Prepare(w.shop, w.client, w.roster(), w.ledger, nil, nil, w.date(w.today))
}
