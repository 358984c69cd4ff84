package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestZZ(t *testing.T) {
	for _, unseen := range []float64{0, 0.0001, 0.1, 0.3, 0.6} {
		var a, b, c, am, bm, n, ages, trueages, np, tp, wy float64
		for i := range 150 {
			rng := rand.New(rand.NewPCG(1, uint64(i)))
			w := newWorld(Study{FromYears: 2, ToYears: 3, Unseen: unseen, Factor: 1, Weeks: 10}, rng)
			in, _ := w.input()
			for _, k := range in.Learnt {
				ty := k.Cloth.Typical()
				a += math.Log(ty.Median() / (w.cloth.scale * math.Pow(math.Ln2, 1/w.cloth.shape)))
				ty = k.Prints[0].Typical()
				b += math.Log(ty.Median() / (w.print.scale * math.Pow(math.Ln2, 1/w.print.shape)))
				c += math.Log(k.Mishap.Mean() / (w.mishap * daysPerYear))
			}
			n++
			for _, p := range in.History.InService {
				ages += p.Washes
				np++
			}
			for _, p := range w.people {
				for _, x := range p.pieces {
					trueages += x.washes
					tp++
				}
			}
			wy += in.Muster(10).Total.Mean - float64(w.future(70))
		}
		_, _ = am, bm
		fmt.Printf("unseen %.4f cloth %.3f print %.3f mishap %.3f pieces %.0f/%.0f age %.2f true %.2f bias %.2f\n", unseen, a/n, b/n, c/n, np, tp, ages/np, trueages/tp, wy/n)
	}
}
