package demand

import "math"

// starterEnds tells how many endings are to be expected of pieces that starters
// take, by the weeks since they came; worked examples leave them out.
type starterEnds struct {
	f    *forecast
	memo map[kitPiece][]float64
}

type kitPiece struct{ garment, colour string }

func (f *forecast) starterEnds() *starterEnds {
	return &starterEnds{f, map[kitPiece][]float64{}}
}

// within returns the expected endings of a piece, and of what replaces it, in
// 0, 0.5, 1.5, 2.5, ... weeks.
func (e *starterEnds) within(garment, colour string) []float64 {
	k := kitPiece{garment, colour}
	if got, ok := e.memo[k]; ok {
		return got
	}
	out := []float64{0}
	if use, ok := e.f.in.Book.Use("", garment, colour); ok && !e.f.in.Client.Known {
		p := e.f.predictors[use.Class.Class]
		for _, m := range p.renewedWeekly(Rotation{Pace: max(use.Pace(use.Each)*e.f.hardness(e.f.days), 1e-6),
			Limit: use.Limit}) {
			out = append(out, out[len(out)-1]+m.sum())
		}
	}
	e.memo[k] = out
	return out
}

// after returns the expected endings of a piece in some weeks, below 1.
func (e *starterEnds) after(garment, colour string, weeks float64) float64 {
	w := e.within(garment, colour)
	switch {
	case len(w) == 1 || weeks <= 0:
		return 0
	case weeks < 0.5:
		return w[1] * weeks / 0.5
	}
	at := weeks + 0.5
	i := min(int(at), len(w)-2) // the last half week goes on as that before it
	return min(0.9, w[i]+(at-float64(i))*(w[i+1]-w[i]))
}

// hired is the expected endings, within a number of days, of a piece of a
// starter who comes on one of them as the season goes.
func (e *starterEnds) hired(days int) func(garment, colour string) float64 {
	shares := make([]float64, (days+6)/7)
	for w := range shares {
		shares[w] = e.f.hireShare(days, w)
	}
	return func(garment, colour string) float64 {
		sum := 0.0
		for w, share := range shares {
			middle := math.Min(float64(7*w+7), float64(days))/2 + float64(7*w)/2
			sum += share * e.after(garment, colour, (float64(days)-middle)/7)
		}
		return sum
	}
}
