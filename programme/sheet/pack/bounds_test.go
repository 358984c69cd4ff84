package pack_test

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// dissected cuts a rectangle into pieces by random straight cuts, so that it is known
// how they fit; some may be turned and are turned by chance.
func dissected(t *rapid.T, w, h int64, cuts int) (pieces []pack.Piece) {
	side := rapid.Bool()
	if long := max(w, h); cuts == 0 || long < 2 {
		p := pack.Piece{W: w, H: h, Count: 1, Turn: side.Draw(t, "may turn")}
		if p.Turn && side.Draw(t, "turned") {
			p.W, p.H = p.H, p.W
		}
		return []pack.Piece{p}
	}
	if w > h || w == h && side.Draw(t, "upright") {
		at := rapid.Int64Range(1, w-1).Draw(t, "x")
		return append(dissected(t, at, h, cuts-1), dissected(t, w-at, h, cuts-1)...)
	}
	at := rapid.Int64Range(1, h-1).Draw(t, "y")
	return append(dissected(t, w, at, cuts-1), dissected(t, w, h-at, cuts-1)...)
}

// No bound is above what is known to be possible: pieces that sheets and strips were cut into.
func TestABoundIsNeverAboveWhatFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Int64Range(1, 40).Draw(t, "width"), rapid.Int64Range(1, 40).Draw(t, "height")
		sheets := rapid.IntRange(1, 3).Draw(t, "sheets")
		var pieces []pack.Piece
		for range sheets {
			pieces = append(pieces, dissected(t, w, h, rapid.IntRange(0, 4).Draw(t, "cuts"))...)
		}
		require.LessOrEqual(t, pack.Bound(pieces, w, h), sheets)
		require.LessOrEqual(t, pack.StripBound(pieces, w), h*int64(sheets))
	})
}

// Bounds that are the optimum, though the area says less (own arithmetic): on a sheet of 100 by 100
// lies one square of more than a half, four of more than a third, nine of more than a quarter.
// Of a strip it is what rows of one, two or three side by side come to, the last row counted as far as it is full.
func TestBoundsThatAreTheOptimum(t *testing.T) {
	for _, c := range []struct {
		w, h   int64
		n      int
		turn   bool
		sheets int
		strip  int64
	}{
		{51, 51, 7, true, 7, 357}, {34, 34, 9, true, 3, 153}, {26, 26, 19, true, 3, 165}, {21, 21, 33, true, 3, 174},
		{50, 50, 9, true, 3, 225}, {100, 100, 2, false, 2, 200}, {25, 25, 33, true, 3, 207},
		{60, 30, 4, false, 2, 120}, {30, 60, 7, false, 3, 140}, {100, 1, 101, true, 2, 101},
		{90, 5, 21, false, 2, 105}, {5, 90, 21, false, 2, 95}, {1, 1, 10000, true, 1, 100}, {1, 1, 10001, true, 2, 101},
	} {
		pieces := []pack.Piece{{W: 300, H: 300}, {W: c.w, H: c.h, Count: c.n, Turn: c.turn}}
		require.Equal(t, c.sheets, pack.Bound(pieces, 100, 100), "%v", c)
		require.Equal(t, c.strip, pack.StripBound(pieces, 100), "%v", c)
	}
	// Beside a square of 70 nothing of more than 30 goes: twelve of 31 by 31 take two sheets of their own.
	pieces := []pack.Piece{{W: 70, H: 70, Count: 3}, {W: 31, H: 31, Count: 18}}
	require.Equal(t, 5, pack.Bound(pieces, 100, 100))
	// A strip is as long as the longest piece as it must lie.
	long := pack.Piece{W: 40, H: 250, Count: 1}
	require.Equal(t, int64(250), pack.StripBound([]pack.Piece{long}, 100))
	long.Turn = true
	require.Equal(t, int64(250), pack.StripBound([]pack.Piece{long}, 100), "too long to lie across")
	require.Equal(t, int64(40), pack.StripBound([]pack.Piece{long}, 250))
	long.W, long.H = 250, 40
	require.Equal(t, int64(250), pack.StripBound([]pack.Piece{long}, 100))
	require.Zero(t, pack.StripBound(nil, 100))
	require.Zero(t, pack.Bound(nil, 100, 100))
}

// Free are the largest empty rectangles, all of them, each once: against every rectangle there is.
func TestFreeIsEveryLargestEmptyRectangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Int64Range(1, 7).Draw(t, "width"), rapid.Int64Range(1, 6).Draw(t, "height")
		places := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) pack.Place {
			x, y := rapid.Int64Range(0, w-1).Draw(t, "x"), rapid.Int64Range(0, h-1).Draw(t, "y")
			return pack.Place{X: x, Y: y, W: rapid.Int64Range(1, w-x).Draw(t, "w"),
				H: rapid.Int64Range(1, h-y).Draw(t, "h")}
		}), 0, 5).Draw(t, "places")
		empty := func(r pack.Rect) bool {
			return r.X >= 0 && r.Y >= 0 && r.X+r.W <= w && r.Y+r.H <= h &&
				!slices.ContainsFunc(places, func(p pack.Place) bool {
					return p.X < r.X+r.W && r.X < p.X+p.W && p.Y < r.Y+r.H && r.Y < p.Y+p.H
				})
		}
		var want []pack.Rect
		for y := range h {
			for x := range w {
				for across := range w - x {
					for down := range h - y {
						r := pack.Rect{X: x, Y: y, W: across + 1, H: down + 1}
						if empty(r) && !empty(pack.Rect{X: x - 1, Y: y, W: r.W + 1, H: r.H}) &&
							!empty(pack.Rect{X: x, Y: y, W: r.W + 1, H: r.H}) &&
							!empty(pack.Rect{X: x, Y: y - 1, W: r.W, H: r.H + 1}) &&
							!empty(pack.Rect{X: x, Y: y, W: r.W, H: r.H + 1}) {
							want = append(want, r)
						}
					}
				}
			}
		}
		got := pack.Free(places, w, h)
		require.True(t, slices.IsSortedFunc(got, func(a, b pack.Rect) int {
			return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X), cmp.Compare(a.W, b.W))
		}))
		require.ElementsMatch(t, want, got)
	})
}

// Bands moves whole parts only, onto lengths that are long enough, and says no where a part is longer.
func TestBandsKeepPartsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := drawPieces(t)
		places, height, err := pack.Strip(pieces, 60, pack.Options{Guillotine: true})
		require.NoError(t, err)
		var parts []int64 // heights between lines across that meet nothing
		var from int64
		for y := int64(1); y <= height; y++ {
			if !slices.ContainsFunc(places, func(p pack.Place) bool { return p.Y < y && y < p.Y+p.H }) {
				if slices.ContainsFunc(places, func(p pack.Place) bool { return p.Y < y && y <= p.Y+p.H }) {
					parts = append(parts, y-from)
				}
				from = y
			}
		}
		longest := rapid.Int64Range(1, max(1, height+5)).Draw(t, "longest")
		rolls, lengths, ok := pack.Bands(places, longest)
		require.Equal(t, len(parts) == 0 || slices.Max(parts) <= longest, ok)
		if !ok {
			return
		}
		var sum int64
		for i, l := range lengths {
			require.LessOrEqual(t, l, longest)
			sum += l
			var top int64
			for _, p := range rolls[i] {
				top = max(top, p.Y+p.H)
			}
			require.Equal(t, l, top)
		}
		for _, p := range parts {
			sum -= p
		}
		require.Zero(t, sum, "nothing lost between parts")
		for i := 1; i < len(lengths); i++ { // first fit: what begins a length fitted none before
			first := lengths[i]
			for _, p := range rolls[i] {
				if p.Y > 0 && !slices.ContainsFunc(rolls[i],
					func(q pack.Place) bool { return q.Y < p.Y && p.Y < q.Y+q.H }) {
					first = min(first, p.Y)
				}
			}
			require.Greater(t, lengths[0]+first, longest)
		}
		sound(t, pieces, rolls, 60, longest, true)
	})
}

// Islands against a flood over unit squares.
func TestIslandsAgainstAFlood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := []pack.Piece{{W: 2, H: 1, Count: rapid.IntRange(0, 5).Draw(t, "a"), Turn: true},
			{W: 3, H: 2, Count: rapid.IntRange(0, 4).Draw(t, "b"), Turn: true},
			{W: 1, H: 1, Count: rapid.IntRange(0, 4).Draw(t, "c")}}
		places, height, err := pack.Strip(pieces, 6, pack.Options{Seed: rapid.Uint64Range(0, 9).Draw(t, "seed"),
			Iterations: 5})
		require.NoError(t, err)
		if height > 0 && rapid.Bool().Draw(t, "one less") { // a hole
			places = places[:len(places)-1]
		}
		type cell struct{ x, y int64 }
		on := map[cell]int{}
		for i, p := range places {
			for x := range p.W {
				for y := range p.H {
					on[cell{p.X + x, p.Y + y}] = i + 1
				}
			}
		}
		like := func(a, b int) bool {
			return a > 0 && b > 0 && places[a-1].Piece == places[b-1].Piece && places[a-1].Turned == places[b-1].Turned
		}
		seen := map[cell]bool{}
		var flood func(c cell)
		flood = func(c cell) {
			if seen[c] {
				return
			}
			seen[c] = true
			for _, d := range []cell{{c.x + 1, c.y}, {c.x - 1, c.y}, {c.x, c.y + 1}, {c.x, c.y - 1}} {
				if like(on[c], on[d]) {
					flood(d)
				}
			}
		}
		want := 0
		ways := [3]map[bool]bool{{}, {}, {}}
		for c, i := range on {
			ways[places[i-1].Piece][places[i-1].Turned] = true
			if !seen[c] {
				want++
				flood(c)
			}
		}
		both := 0
		for _, w := range ways {
			if len(w) == 2 {
				both++
			}
		}
		islands, twice := pack.Islands(places)
		require.Equal(t, [2]int{want, both}, [2]int{islands, twice})
	})
}

// Lengths in another unit give the same packings, in that unit; what is left of the width
// beyond whole units is of no use.
func TestTheUnitMakesNoDifference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces, opt := drawPieces(t), drawOptions(t)
		unit := rapid.Int64Range(2, 9).Draw(t, "unit")
		larger := slices.Clone(pieces)
		for i := range larger {
			larger[i].W, larger[i].H = larger[i].W*unit, larger[i].H*unit
		}
		times := func(places []pack.Place) []pack.Place {
			out := slices.Clone(places)
			for i := range out {
				out[i].X, out[i].Y, out[i].W, out[i].H = out[i].X*unit, out[i].Y*unit, out[i].W*unit, out[i].H*unit
			}
			return out
		}
		small, height, err := pack.Strip(pieces, 60, opt)
		require.NoError(t, err)
		large, high, err := pack.Strip(larger, 60*unit, opt)
		require.NoError(t, err)
		require.Equal(t, height*unit, high)
		require.Equal(t, times(small), large)
	})
}
