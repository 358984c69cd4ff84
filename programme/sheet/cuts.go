package sheet

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Cut is one straight cut of a trimmer, from edge to edge of the part in hand.
// Step counts from 1; after each cut the part towards the origin is cut up first.
type Cut struct {
	Step           int
	X0, Y0, X1, Y1 programme.Length
}

// Cuts returns the trimmer's cuts that take a layout apart, in order; ok is
// false when straight cuts cannot, as on sheets laid out for scissors. A cut
// runs in the middle of the free band between the images on both its sides.
// The frame is cut like the rest: a part's last cuts free the image itself.
func Cuts(l *Layout) (cuts []Cut, ok bool) {
	c := cutter{}
	ok = c.part(slices.Clone(l.Items), 0, 0, l.Width, l.Height)
	return c.cuts, ok
}

type cutter struct{ cuts []Cut }

// part cuts the images of one part of the sheet from each other: the longer
// side is tried first, so that the first cuts give handy strips.
func (c *cutter) part(items []Item, x0, y0, x1, y1 programme.Length) bool {
	if len(items) <= 1 {
		return true
	}
	if x1-x0 > y1-y0 {
		if n, at, ok := upright(items); ok {
			return c.upright(items, n, at, x0, y0, x1, y1)
		}
	}
	if n, at, ok := level(items); ok {
		c.add(x0, at, x1, at)
		return c.part(slices.Clone(items[:n]), x0, y0, x1, at) && c.part(slices.Clone(items[n:]), x0, at, x1, y1)
	}
	if n, at, ok := upright(items); ok {
		return c.upright(items, n, at, x0, y0, x1, y1)
	}
	return false
}

func (c *cutter) upright(items []Item, n int, at, x0, y0, x1, y1 programme.Length) bool {
	c.add(at, y0, at, y1)
	return c.part(slices.Clone(items[:n]), x0, y0, at, y1) && c.part(slices.Clone(items[n:]), at, y0, x1, y1)
}

func (c *cutter) add(x0, y0, x1, y1 programme.Length) {
	c.cuts = append(c.cuts, Cut{len(c.cuts) + 1, x0, y0, x1, y1})
}

func upright(items []Item) (n int, at programme.Length, ok bool) {
	return band(items, func(i *Item) (programme.Length, programme.Length) { return i.X, i.X + i.W })
}

func level(items []Item) (n int, at programme.Length, ok bool) {
	return band(items, func(i *Item) (programme.Length, programme.Length) { return i.Y, i.Y + i.H })
}

// band sorts items along an axis and finds the first line that crosses none;
// n of them lie before it.
func band(items []Item, ends func(*Item) (from, to programme.Length)) (n int, at programme.Length, ok bool) {
	slices.SortStableFunc(items, func(a, b Item) int {
		fa, _ := ends(&a)
		fb, _ := ends(&b)
		return cmp.Compare(fa, fb)
	})
	_, reach := ends(&items[0])
	for i := 1; i < len(items); i++ {
		from, to := ends(&items[i])
		if from >= reach {
			return i, (reach + from) / 2, true
		}
		reach = max(reach, to)
	}
	return 0, 0, false
}
