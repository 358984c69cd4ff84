package replay

import "math"

// Interval sets what a forecast claims for a central interval against what came.
// Whole numbers make an interval claim more than its nominal share; it is fair
// to compare what came with what was claimed.
type Interval struct {
	Nominal float64 `json:"nominal"`
	Claimed float64 `json:"claimed"`
	Came    float64 `json:"came"`
}

// Score is the result of one way of forecasting over all its cells.
type Score struct {
	Cells     int        `json:"cells"`
	Intervals []Interval `json:"intervals"`
	// Pinball is the mean quantile loss over the levels 5, 10 ... 95 %, in pieces;
	// less is better (Koenker and Bassett 1978, from memory).
	Pinball float64 `json:"pinball"`
	// Bias is the mean of expected less came, as a share of what came.
	Bias float64 `json:"bias"`
	// Expected and Came are the sums over all cells.
	Expected float64 `json:"expected"`
	Came     float64 `json:"came"`
}

// nominal levels of the intervals that are reported.
var nominal = []float64{0.5, 0.8, 0.95}

// tally gathers cells.
type tally struct {
	n               int
	claimed, inside [3]float64
	pinball         float64
	expected, came  float64
}

// add judges one forecast by what came.
func (t *tally) add(pmf []float64, came int) {
	cdf := cumulate(pmf)
	t.n++
	for i, level := range nominal {
		lo, hi := quantile(cdf, (1-level)/2), quantile(cdf, (1+level)/2)
		below := 0.0
		if lo > 0 {
			below = cdf[lo-1]
		}
		t.claimed[i] += cdf[hi] - below
		if lo <= came && came <= hi {
			t.inside[i]++
		}
	}
	t.pinball += Pinball(cdf, came)
	for n, p := range pmf {
		t.expected += float64(n) * p
	}
	t.came += float64(came)
}

func (t *tally) score() Score {
	s := Score{Cells: t.n, Expected: t.expected, Came: t.came}
	if t.n == 0 {
		return s
	}
	n := float64(t.n)
	for i, level := range nominal {
		s.Intervals = append(s.Intervals, Interval{level, t.claimed[i] / n, t.inside[i] / n})
	}
	s.Pinball = t.pinball / n
	if t.came > 0 {
		s.Bias = (t.expected - t.came) / t.came
	}
	return s
}

func cumulate(pmf []float64) []float64 {
	cdf, sum := make([]float64, len(pmf)), 0.0
	for i, p := range pmf {
		sum += p
		cdf[i] = math.Min(sum, 1)
	}
	return cdf
}

// quantile returns the smallest whole number that the chance level does not exceed.
func quantile(cdf []float64, level float64) int {
	for q, c := range cdf {
		if c >= level-1e-12 {
			return q
		}
	}
	return len(cdf) - 1
}

// Pinball returns the mean over the levels 0.05, 0.10 ... 0.95 of the loss
// (came-q)·level above the quantile q and (q-came)·(1-level) below it, in pieces.
func Pinball(cdf []float64, came int) float64 {
	sum := 0.0
	for i := 1; i < 20; i++ {
		level := float64(i) / 20
		d := float64(came - quantile(cdf, level))
		sum += math.Max(d*level, -d*(1-level))
	}
	return sum / 19
}
