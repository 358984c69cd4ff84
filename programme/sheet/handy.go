package sheet

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// handy is a roll in one piece for a trimmer, with the work of cutting it apart:
// its islands, the artworks that lie both ways and the settings of the fence.
type handy struct {
	pack.Packing
	work int
}

// keepHandy keeps, of the rolls that cost nearly as little as the best, those that
// are less work than every shorter one. What is chosen of them never gets longer, so
// that a longer search never ends dearer than a shorter one.
func (t *rollTask) keepHandy() {
	if t.kind.Cut != programme.Trimmer || t.trial || t.strip == nil {
		return
	}
	places, length := t.strip.Best()
	longest := t.height
	if h, ok := t.handiest(); ok {
		longest = h.Height
	}
	paid := t.cost([]int64{length}).Total().Float()
	dear := func(h handy) bool {
		return h.Height > longest || float64(h.Height) > float64(length)*(1+pack.Nearly) ||
			t.cost([]int64{h.Height}).Total().Float() > paid*(1+pack.Nearly)
	}
	t.handy = slices.DeleteFunc(t.handy, dear)
	for _, p := range append(t.strip.Near(), pack.Packing{Places: places, Height: length}) {
		h := handy{Packing: p, work: math.MaxInt}
		if dear(h) {
			continue
		}
		h.work = t.handsOn(p)
		if !slices.ContainsFunc(t.handy, h.noBetterThan) {
			t.handy = append(slices.DeleteFunc(t.handy, func(g handy) bool { return g.noBetterThan(h) }), h)
		}
	}
}

// handsOn counts what a person who cuts a roll apart has to think of.
func (t *rollTask) handsOn(p pack.Packing) int {
	islands, both := pack.Islands(p.Places)
	hands, _ := HandsOf(&Layout{Width: t.size.Width, Height: t.tariff.charged(t.outer(p.Height)),
		Items: t.items(p.Places)})
	return islands + both + hands.Settings
}

func (h handy) noBetterThan(g handy) bool { return g.Height <= h.Height && g.work <= h.work }

// handiest returns the roll that is least work; ok is false when there is none.
func (t *rollTask) handiest() (least handy, ok bool) {
	for i, h := range t.handy {
		if i == 0 || h.work < least.work {
			least = h
		}
	}
	return least, len(t.handy) > 0
}
