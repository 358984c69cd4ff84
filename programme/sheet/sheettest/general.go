package sheettest

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// tile is one piece for a general packer.
type tile struct{ w, h int64 }

// GeneralSheets is the fewest sheets that two packers for general use need, as they are
// known from the literature (J. Jylanki, "A Thousand Ways to Pack the Bin", 2010):
// maximal rectangles with the best short side, and straight cuts with the best area,
// each with the better of four orders.
func GeneralSheets(req sheet.Request) int {
	k := &req.Shop.Kinds[0]
	page := k.Sheets[0]
	w, h := int64(page.Width-2*k.Margin+k.Gutter), int64(page.Height-2*k.Margin+k.Gutter)
	var tiles []tile
	for i, n := range req.Needs {
		a := &req.Shop.Artworks[i]
		for range n.Pieces {
			tiles = append(tiles, tile{int64(a.Width + k.Gutter), int64(a.Height + k.Gutter)})
		}
	}
	best := len(tiles)
	for _, key := range []func(t tile) int64{
		func(t tile) int64 { return t.w * t.h }, func(t tile) int64 { return max(t.w, t.h) },
		func(t tile) int64 { return min(t.w, t.h) }, func(t tile) int64 { return t.w + t.h },
	} {
		slices.SortStableFunc(tiles, func(a, b tile) int { return cmp.Compare(key(b), key(a)) })
		best = min(best, maximalRectangles(tiles, w, h), straightCuts(tiles, w, h))
	}
	return best
}

// maximalRectangles puts each tile into the free rectangle of any sheet that leaves
// the shortest side.
func maximalRectangles(tiles []tile, w, h int64) int {
	var sheets [][]pack.Place
	var free [][]pack.Rect
	for _, t := range tiles {
		at, least, place := -1, int64(1<<62), pack.Place{}
		try := func(i int, r pack.Rect, tw, th int64) {
			if tw <= r.W && th <= r.H && min(r.W-tw, r.H-th) < least {
				at, least, place = i, min(r.W-tw, r.H-th), pack.Place{X: r.X, Y: r.Y, W: tw, H: th}
			}
		}
		for i := range free {
			for _, r := range free[i] {
				try(i, r, t.w, t.h)
				try(i, r, t.h, t.w)
			}
		}
		if at < 0 {
			at = len(sheets)
			sheets, free = append(sheets, nil), append(free, nil)
			whole := pack.Rect{W: w, H: h}
			try(at, whole, t.w, t.h)
			try(at, whole, t.h, t.w)
		}
		sheets[at] = append(sheets[at], place)
		free[at] = pack.Free(sheets[at], w, h)
	}
	return len(sheets)
}

// straightCuts puts each tile into the smallest free rectangle that holds it and
// cuts the rest along its longer side.
func straightCuts(tiles []tile, w, h int64) int {
	type free struct {
		sheet int
		w, h  int64
	}
	var list []free
	sheets := 0
	for _, t := range tiles {
		at, turned := -1, false
		for i, r := range list {
			for _, turn := range []bool{false, true} {
				tw, th := t.w, t.h
				if turn {
					tw, th = th, tw
				}
				if tw <= r.w && th <= r.h && (at < 0 || r.w*r.h < list[at].w*list[at].h) {
					at, turned = i, turn
				}
			}
		}
		if at < 0 {
			at, turned = len(list), t.w > w || t.h > h
			list = append(list, free{sheets, w, h})
			sheets++
		}
		r := list[at]
		tw, th := t.w, t.h
		if turned {
			tw, th = th, tw
		}
		list = slices.Delete(list, at, at+1)
		a, b := free{r.sheet, r.w - tw, r.h}, free{r.sheet, tw, r.h - th}
		if r.w-tw < r.h-th {
			a, b = free{r.sheet, r.w - tw, th}, free{r.sheet, r.w, r.h - th}
		}
		for _, rest := range []free{a, b} {
			if rest.w > 0 && rest.h > 0 {
				list = append(list, rest)
			}
		}
	}
	return sheets
}
