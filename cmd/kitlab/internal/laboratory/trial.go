package laboratory

import (
	"math"
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Trial is one series of invented clients of a world.
type Trial struct {
	World   World
	Clients int
	Weeks   int // ahead of the forecast
	Seed    uint64
	// Report, when set, is told after each client.
	Report func(done int)
}

// Result compares what came with what was claimed.
type Result struct {
	World   string `json:"world"`
	Name    string `json:"name"`
	Clients int    `json:"clients"`
	// Shares of clients, and of their lines, whose needs fell into the central
	// 80 % interval, and what the distributions claimed for it.
	Cover80     float64 `json:"cover80"`
	Claim80     float64 `json:"claim80"`
	LineCover80 float64 `json:"line_cover80"`
	LineClaim80 float64 `json:"line_claim80"`
	// Bias is the sum of mean forecasts over the sum of what came, less 1; BiasError its standard error.
	Bias      float64 `json:"bias"`
	BiasError float64 `json:"bias_error"`
	// Fill is the share of needs met by shelves that held each line's 0.875
	// quantile, Cost what was missing (7 a piece) and left over (1) a client.
	Fill float64 `json:"fill"`
	Cost float64 `json:"cost"`
	// PIT is the mean of the randomised probability integral transform: 0.5 when right.
	PIT float64 `json:"pit"`
}

// orderedTo is the quantile to which shelves are filled, and missing what a
// piece that is not there costs, in pieces left over: the quantile follows. It meets
// 94.5 % of needs where all endings are recorded, which is the yardstick of the others.
const (
	orderedTo = 0.875
	missing   = 7
)

// Run does a trial; the same trial gives the same result.
func Run(t Trial) (Result, error) {
	s := scores{Result: Result{World: t.World.Code, Name: t.World.Name, Clients: t.Clients}}
	for i := range t.Clients {
		rng := rand.New(rand.NewPCG(t.Seed, uint64(i)))
		c := newClient(&t.World, rng)
		c.live()
		m, err := c.forecast(t.Weeks)
		if err != nil {
			return s.Result, err
		}
		s.add(m, c.ahead(t.Weeks), rng)
		if t.Report != nil {
			t.Report(i + 1)
		}
	}
	return s.finish(), nil
}

// forecast asks the program, which is told only what the world has written down.
func (c *client) forecast(weeks int) (*demand.Muster, error) {
	in, err := demand.Prepare(c.shop, c.terms, c.roster(), c.ledger, nil, nil, c.date())
	if err != nil {
		return nil, err
	}
	m := in.Muster(weeks)
	return &m, nil
}

type scores struct {
	Result
	said, came, lines float64
	gaps              []float64
	short, left       float64
}

func (s *scores) add(m *demand.Muster, needs map[programme.SKU]int, rng *rand.Rand) {
	total := 0
	for i := range m.Lines {
		l := &m.Lines[i]
		n := needs[l.SKU]
		total += n
		in, claim, _ := interval(l.PMF, n, 0)
		s.LineCover80, s.LineClaim80, s.lines = s.LineCover80+in, s.LineClaim80+claim, s.lines+1
		ready := demand.Quantile(l.PMF, orderedTo)
		s.short, s.left = s.short+float64(max(0, n-ready)), s.left+float64(max(0, ready-n))
	}
	in, claim, pit := interval(m.Total.PMF, total, rng.Float64())
	s.Cover80, s.Claim80, s.PIT = s.Cover80+in, s.Claim80+claim, s.PIT+pit
	s.said, s.came = s.said+m.Total.Mean, s.came+float64(total)
	s.gaps = append(s.gaps, m.Total.Mean-float64(total))
}

// interval returns whether n lies in the central 80 % interval (1 or 0), what the
// distribution claims for it, and the transform of n at the random share u.
func interval(pmf []float64, n int, u float64) (inside, claim, transform float64) {
	lo, hi := demand.Quantile(pmf, 0.1), demand.Quantile(pmf, 0.9)
	for i := lo; i <= hi && i < len(pmf); i++ {
		claim += pmf[i]
	}
	if lo <= n && n <= hi {
		inside = 1
	}
	for i := range min(n, len(pmf)) {
		transform += pmf[i]
	}
	if n < len(pmf) {
		transform += u * pmf[n]
	}
	return inside, claim, transform
}

func (s *scores) finish() Result {
	n := float64(s.Clients)
	s.Bias = s.said/s.came - 1
	v := 0.0
	for _, g := range s.gaps {
		d := g - (s.said-s.came)/n
		v += d * d
	}
	s.BiasError = math.Sqrt(v) / s.came
	for _, x := range []*float64{&s.Cover80, &s.Claim80, &s.PIT} {
		*x /= n
	}
	s.LineCover80, s.LineClaim80 = s.LineCover80/s.lines, s.LineClaim80/s.lines
	s.Fill, s.Cost = 1-s.short/s.came, (s.left+missing*s.short)/n
	return s.Result
}
