package sheet

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// gangMost is how many artworks are ganged together at the most. The search
// over their layouts takes time in proportion to the square of their number,
// and a sheet holds a few dozen images: choosing among hundreds saves hardly more.
const gangMost = 48

// parts divides the wants so that a large need is planned in time in proportion
// to it: at most gangMost artworks each, in the order of clients, about equally
// many, and a client's artworks never apart. A need that is small enough is one part.
func (f *field) parts() []*field {
	if len(f.wants) <= gangMost {
		return []*field{f}
	}
	n := (len(f.wants) + gangMost - 1) / gangMost
	fair := (len(f.wants) + n - 1) / n
	var out []*field
	from := 0
	for at := 0; at < len(f.wants); {
		next := at + 1
		for next < len(f.wants) && f.wants[next].line.Client == f.wants[at].line.Client {
			next++
		}
		if at > from && (at-from >= fair || next-from > gangMost) {
			out = append(out, f.part(from, at))
			from = at
		}
		at = next
	}
	return append(out, f.part(from, len(f.wants)))
}

func (f *field) part(from, to int) *field {
	p := *f
	p.wants, p.whole = f.wants[from:to], f.floor()
	return &p
}

// toNextBreak is how many more sheets to order when n are wanted, because as
// many as the next price break asks for cost no more.
func (f *field) toNextBreak(n int) int {
	cost, more := priceAt(f.kind.Prices, float64(n)).Times(float64(n)), 0
	for _, b := range f.kind.Prices {
		if from := int(math.Ceil(b.From)); from > n+more && b.Price.Times(float64(from)) <= cost {
			cost, more = b.Price.Times(float64(from)), from-n
		}
	}
	return more
}

// searchImages is up to how many images the quick search tries with all its
// steps; a step takes time in proportion to them, so more images get fewer.
const searchImages = 2000

// options are those of packing so many images.
func (f *field) options(b Budget, images int) pack.Options {
	opt := pack.Options{Seed: b.Seed, Iterations: b.iterations(), Stop: b.Stop, Guillotine: f.kind.Cut == programme.Trimmer}
	if b.Iterations <= 0 && images > searchImages {
		opt.Iterations = max(1, opt.Iterations*searchImages/images)
	}
	return opt
}

// images counts what must be printed.
func (f *field) images() (n int) {
	for _, w := range f.wants {
		n += w.line.Print
	}
	return n
}
