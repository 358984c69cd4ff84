package sheet

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Cut is one straight cut of a trimmer, from edge to edge of the part in hand.
// Step counts from 1. Fence is how far from that part's outer edge it lies: what a
// fence is set to.
type Cut struct {
	Step           int
	X0, Y0, X1, Y1 programme.Length
	Fence          programme.Length
}

// Cuts returns the trimmer's cuts that take a layout apart, in order; ok is
// false when straight cuts cannot, as on sheets laid out for scissors. A cut
// runs in the middle of the free band between the images on both its sides.
// The frame is cut like the rest: a part's last cuts free the image itself.
// The first cuts run across the longer side and give handy strips. Parts that want
// the fence where it stands are cut first, then those of the setting that most images
// wait for, so that it is seldom set anew.
func Cuts(l *Layout) (cuts []Cut, ok bool) {
	c := cutter{}
	if !c.add(l.Items, rectangle{0, 0, l.Width, l.Height}, l.Width <= l.Height) {
		return nil, false
	}
	wanted := map[programme.Length]int{} // images of the parts that want a setting
	for _, p := range c.parts {
		wanted[p.cut.Fence] += len(p.items)
	}
	var fence programme.Length
	for len(c.parts) > 0 {
		if wanted[fence] == 0 {
			fence = c.parts[0].cut.Fence
			for _, p := range c.parts {
				if wanted[p.cut.Fence] > wanted[fence] {
					fence = p.cut.Fence
				}
			}
		}
		at := slices.IndexFunc(c.parts, func(p part) bool { return p.cut.Fence == fence })
		p := c.parts[at]
		c.parts = slices.Delete(c.parts, at, at+1)
		wanted[fence] -= len(p.items)
		p.cut.Step = len(cuts) + 1
		cuts = append(cuts, p.cut)
		before, after := p.at, p.at
		if p.across {
			before.y1, after.y0 = p.cut.Y0, p.cut.Y0
		} else {
			before.x1, after.x0 = p.cut.X0, p.cut.X0
		}
		from := len(c.parts)
		if !c.add(p.items[:p.n], before, !p.across) || !c.add(p.items[p.n:], after, p.across) {
			return nil, false
		}
		for _, p := range c.parts[from:] {
			wanted[p.cut.Fence] += len(p.items)
		}
	}
	return cuts, true
}

type rectangle struct{ x0, y0, x1, y1 programme.Length }

// part is images that are still together, with the cut that comes next: n of them
// lie before it.
type part struct {
	items  []Item
	at     rectangle
	n      int
	cut    Cut
	across bool // the cut runs across the sheet
}

type cutter struct{ parts []part }

// add takes a part into hand unless it is a single image, and finds its next cut:
// the way that is asked for, or else the other.
func (c *cutter) add(items []Item, r rectangle, across bool) bool {
	if len(items) <= 1 {
		return true
	}
	p := part{items: slices.Clone(items), at: r}
	for _, p.across = range []bool{across, !across} {
		var at programme.Length
		var ok bool
		if p.across {
			p.n, at, ok = level(p.items)
			p.cut = Cut{X0: r.x0, Y0: at, X1: r.x1, Y1: at, Fence: at - r.y0}
		} else {
			p.n, at, ok = upright(p.items)
			p.cut = Cut{X0: at, Y0: r.y0, X1: at, Y1: r.y1, Fence: at - r.x0}
		}
		if ok {
			c.parts = append(c.parts, p)
			return true
		}
	}
	return false
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
