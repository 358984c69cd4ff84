package replenish

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"
)

// future is one drawn course of use: at each review which lines use how much.
// Reviews without use are not listed.
type future struct{ uses []use }

type use struct{ review, line, pieces int32 } // of which a problem has a hundred thousand

// drawing draws futures from a fixed seed, so that the same problem always has
// the same ones.
type drawing struct {
	*cycle
	rng   *rand.Rand
	above []float64 // running sums of the lines' rates of separate needs, a piece of the total
	guide [64]int32 // the first line of which the sum reaches so many parts of the last
	theta []float64 // of the logarithmic distribution of pieces in one need
	log   []float64 // of 1 - theta
	uses  []use     // scratch of draw
}

func newDrawing(c *cycle) *drawing {
	d := &drawing{cycle: c, rng: rand.New(rand.NewPCG(60, 91)), above: make([]float64, len(c.Lines)),
		theta: make([]float64, len(c.Lines)), log: make([]float64, len(c.Lines))}
	sum := 0.0
	for i := range c.Lines {
		a, rate := c.excess[i].PerPiece, c.share[i]
		if a > 1e-9 {
			// A negative binomial is a Poisson number of needs, each of a logarithmic
			// number of pieces (Quenouille, Biometrics 5, 1949, from memory).
			rate *= math.Log1p(a) / a
			d.theta[i] = a / (1 + a)
			d.log[i] = math.Log1p(-d.theta[i])
		}
		sum += rate
		d.above[i] = sum
	}
	for k := range d.guide {
		d.guide[k] = int32(sort.SearchFloat64s(d.above, sum*float64(k)/float64(len(d.guide))))
	}
	return d
}

// line returns the line that a need falls to, u even in [0, 1).
func (d *drawing) line(u float64) int32 {
	i, last := d.guide[int(u*float64(len(d.guide)))], len(d.above)-1
	for at := u * d.above[last]; int(i) < last && d.above[i] < at; {
		i++
	}
	return i
}

// draw makes a future of at most so many pieces; means are the expected pieces
// of each review.
func (d *drawing) draw(means []float64, most int) future {
	factor := 1.0
	if c := d.common(); c > 1e-9 {
		factor = gammaOf(d.rng, 1/c) * c
	}
	needs := d.above[len(d.above)-1]
	d.uses = d.uses[:0]
	for k, n := 0, 0; k < len(means) && n < most; k++ {
		for range poissonOf(d.rng, means[k]*factor*needs) {
			i := d.line(d.rng.Float64())
			pieces := logarithmic(d.rng, d.theta[i], d.log[i])
			d.uses = append(d.uses, use{review: int32(k), line: i, pieces: int32(pieces)})
			n += pieces
		}
	}
	return future{slices.Clone(d.uses)}
}

func (d *drawing) common() float64 { return d.total.Common }

// logarithmic draws from the logarithmic distribution (Kemp, Applied Statistics
// 30, 1981, from memory), log that of 1 - theta; theta 0 always gives 1.
func logarithmic(rng *rand.Rand, theta, log float64) int {
	if theta <= 0 {
		return 1
	}
	v := rng.Float64()
	if v >= theta {
		return 1
	}
	q := -math.Expm1(log * rng.Float64())
	switch {
	case v <= q*q:
		return max(1, int(1+math.Log(v)/math.Log(q)))
	case v <= q:
		return 2
	}
	return 1
}

// poissonOf counts arrivals, in parts whose chance of none can be held.
func poissonOf(rng *rand.Rand, mean float64) (n int) {
	for ; mean > 20; mean -= 20 {
		n += poissonOf(rng, 20)
	}
	limit := math.Exp(-mean)
	for p := rng.Float64(); p > limit; p *= rng.Float64() {
		n++
	}
	return n
}

// gammaOf draws from a gamma distribution of scale 1 (Marsaglia and Tsang, ACM
// Transactions on Mathematical Software 26, 2000, from memory).
func gammaOf(rng *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gammaOf(rng, shape+1) * math.Pow(rng.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	for {
		x := rng.NormFloat64()
		v := 1 + x/math.Sqrt(9*d)
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(rng.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
