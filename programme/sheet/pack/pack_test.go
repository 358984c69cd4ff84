package pack_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// drawPieces invents a few kinds of rectangles, none larger than a sheet of 60 by 60.
func drawPieces(t *rapid.T) []pack.Piece {
	side := rapid.Int64Range(1, 60)
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) pack.Piece {
		return pack.Piece{W: side.Draw(t, "w"), H: side.Draw(t, "h"), Count: rapid.IntRange(0, 6).Draw(t, "count"),
			Turn: rapid.Bool().Draw(t, "turn")}
	}), 1, 12).Draw(t, "pieces")
}

func drawOptions(t *rapid.T) pack.Options {
	return pack.Options{Seed: rapid.Uint64().Draw(t, "seed"), Iterations: rapid.IntRange(0, 60).Draw(t, "iterations"),
		Guillotine: rapid.Bool().Draw(t, "guillotine")}
}

// sound checks what was placed: sizes, turns, edges, overlaps and counts.
func sound(t require.TestingT, pieces []pack.Piece, sheets [][]pack.Place, w, h int64, straight bool) {
	left := make([]int, len(pieces))
	for i, p := range pieces {
		left[i] = p.Count
	}
	for _, places := range sheets {
		for i, p := range places {
			q := pieces[p.Piece]
			left[p.Piece]--
			if p.Turned {
				require.True(t, q.Turn)
				q.W, q.H = q.H, q.W
			}
			require.Equal(t, [2]int64{q.W, q.H}, [2]int64{p.W, p.H})
			require.True(t, p.X >= 0 && p.Y >= 0 && p.X+p.W <= w && p.Y+p.H <= h)
			for _, o := range places[:i] {
				require.False(t, p.X < o.X+o.W && o.X < p.X+p.W && p.Y < o.Y+o.H && o.Y < p.Y+p.H,
					"%v and %v overlap", p, o)
			}
		}
		if straight {
			require.True(t, cuttable(places))
		}
	}
	for _, n := range left {
		require.Zero(t, n)
	}
}

// cuttable tries every straight cut at an edge of a piece.
func cuttable(places []pack.Place) bool {
	if len(places) <= 1 {
		return true
	}
	for _, p := range places {
		for _, axis := range []func(pack.Place) (int64, int64){
			func(q pack.Place) (int64, int64) { return q.X, q.X + q.W },
			func(q pack.Place) (int64, int64) { return q.Y, q.Y + q.H },
		} {
			_, at := axis(p)
			var before, after []pack.Place
			crossed := false
			for _, q := range places {
				from, to := axis(q)
				switch {
				case to <= at:
					before = append(before, q)
				case from >= at:
					after = append(after, q)
				default:
					crossed = true
				}
			}
			if !crossed && len(after) > 0 {
				return cuttable(before) && cuttable(after)
			}
		}
	}
	return false
}

func TestStripsAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces, opt := drawPieces(t), drawOptions(t)
		places, height, err := pack.Strip(pieces, 60, opt)
		require.NoError(t, err)
		sound(t, pieces, [][]pack.Place{places}, 60, height, opt.Guillotine)
	})
}

func TestSheetsAreSoundAndNotBelowTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces, opt := drawPieces(t), drawOptions(t)
		sheets, err := pack.Bins(pieces, 60, 60, opt)
		require.NoError(t, err)
		sound(t, pieces, sheets, 60, 60, opt.Guillotine)
		n := 0
		for _, s := range sheets {
			if len(s) > 0 {
				n++
			}
		}
		require.GreaterOrEqual(t, n, pack.Bound(pieces, 60, 60))
	})
}

func TestFitSaysYesOnlyWithAPacking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces, opt := drawPieces(t), drawOptions(t)
		if places, ok := pack.Fit(pieces, 60, 60, opt); ok {
			sound(t, pieces, [][]pack.Place{places}, 60, 60, opt.Guillotine)
		}
	})
}

// TestSmallStripsAreOptimal compares with a full search over all bottom-left
// sequences and turns, which holds an optimum of few rectangles
// (Baker, Coffman & Rivest, SIAM J. Computing 9(4), 1980, show that some
// sequences do not, so the planner may even be better).
func TestSmallStripsAreOptimal(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 25 {
		pieces := make([]pack.Piece, 5)
		for i := range pieces {
			pieces[i] = pack.Piece{W: 1 + rng.Int64N(7), H: 1 + rng.Int64N(7), Count: 1, Turn: true}
		}
		_, height, err := pack.Strip(pieces, 8, pack.Options{Iterations: 20_000})
		require.NoError(t, err)
		require.LessOrEqual(t, height, bruteStrip(pieces, nil, 8))
	}
}

// bruteStrip places the rest of the pieces at the lowest, then leftmost place
// where each fits, in every order and turn.
func bruteStrip(rest []pack.Piece, placed []pack.Place, width int64) int64 {
	if len(rest) == 0 {
		var top int64
		for _, p := range placed {
			top = max(top, p.Y+p.H)
		}
		return top
	}
	best := int64(1 << 40)
	for i, p := range rest {
		others := append(append([]pack.Piece(nil), rest[:i]...), rest[i+1:]...)
		for _, q := range [][2]int64{{p.W, p.H}, {p.H, p.W}} {
			at := bottomLeft(placed, q[0], q[1], width)
			best = min(best, bruteStrip(others, append(append([]pack.Place(nil), placed...), at), width))
		}
	}
	return best
}

func bottomLeft(placed []pack.Place, w, h, width int64) pack.Place {
	for y := int64(0); ; y++ {
	next:
		for x := int64(0); x+w <= width; x++ {
			for _, p := range placed {
				if x < p.X+p.W && p.X < x+w && y < p.Y+p.H && p.Y < y+h {
					continue next
				}
			}
			return pack.Place{X: x, Y: y, W: w, H: h}
		}
	}
}

func TestAPieceThatIsTooLargeIsNamed(t *testing.T) {
	pieces := []pack.Piece{{W: 3, H: 3, Count: 1}, {W: 12, H: 2, Count: 1}}
	_, _, err := pack.Strip(pieces, 10, pack.Options{})
	var large pack.TooLarge
	require.ErrorAs(t, err, &large)
	require.Equal(t, 1, large.Piece)
	_, err = pack.Bins(pieces, 10, 10, pack.Options{})
	require.ErrorIs(t, err, pack.ErrTooLarge)
	_, ok := pack.Fit(pieces, 10, 10, pack.Options{})
	require.False(t, ok)
}

func TestEqualSeedsGiveEqualPackings(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var pieces []pack.Piece
	for range 30 {
		pieces = append(pieces, pack.Piece{W: 1 + rng.Int64N(40), H: 1 + rng.Int64N(40), Count: 1 + rng.IntN(3),
			Turn: true})
	}
	opt := pack.Options{Seed: 5, Iterations: 500}
	a, _, err := pack.Strip(pieces, 100, opt)
	require.NoError(t, err)
	b, _, err := pack.Strip(pieces, 100, opt)
	require.NoError(t, err)
	require.Equal(t, a, b)
}

func TestStopEndsTheSearch(t *testing.T) {
	asked := 0
	pieces := []pack.Piece{{W: 7, H: 5, Count: 20, Turn: true}, {W: 3, H: 4, Count: 20, Turn: true},
		{W: 11, H: 2, Count: 9, Turn: true}}
	places, height, err := pack.Strip(pieces, 31,
		pack.Options{Iterations: 1 << 40, Stop: func() bool { asked++; return asked > 50 }})
	require.NoError(t, err)
	sound(t, pieces, [][]pack.Place{places}, 31, height, false)
}

// many is n rectangles of a shop's sizes, in quarter inches.
func many(n int) []pack.Piece {
	rng := rand.New(rand.NewPCG(2, 3))
	pieces := make([]pack.Piece, n)
	for i := range pieces {
		pieces[i] = pack.Piece{W: 4 + rng.Int64N(40), H: 4 + rng.Int64N(40), Count: 1, Turn: true}
	}
	return pieces
}

func BenchmarkOnePass200(b *testing.B)  { benchmarkStrip(b, 200, 0) }
func BenchmarkOnePass3000(b *testing.B) { benchmarkStrip(b, 3000, 0) }
func BenchmarkSearch200(b *testing.B)   { benchmarkStrip(b, 200, 1000) }

func benchmarkStrip(b *testing.B, n, iterations int) {
	pieces := many(n)
	for b.Loop() {
		_, _, err := pack.Strip(pieces, 88, pack.Options{Iterations: iterations})
		require.NoError(b, err)
	}
}

// straightCuts is the most equal rectangles that straight cuts get from a sheet,
// by a plain dynamic programme over every whole length.
func straightCuts(w, h, width, height int) int {
	most := make([][]int, width+1)
	for x := range most {
		most[x] = make([]int, height+1)
		for y := range most[x] {
			if x >= w && y >= h || x >= h && y >= w {
				most[x][y] = 1
			}
			for c := 1; 2*c <= x; c++ {
				most[x][y] = max(most[x][y], most[c][y]+most[x-c][y])
			}
			for c := 1; 2*c <= y; c++ {
				most[x][y] = max(most[x][y], most[x][c]+most[x][y-c])
			}
		}
	}
	return most[width][height]
}

// TestOneSizeIsNoFewerThanByStraightCuts compares with a plain dynamic programme.
func TestOneSizeIsNoFewerThanByStraightCuts(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for range 60 {
		w, h, width, height := 4+rng.IntN(20), 4+rng.IntN(20), 30+rng.IntN(70), 30+rng.IntN(70)
		want := straightCuts(w, h, width, height)
		p := pack.Piece{W: int64(w), H: int64(h), Turn: true, Count: max(1, want)}
		places, ok := pack.OneSize(p, int64(width), int64(height), true)
		require.True(t, ok)
		require.Len(t, places, want)
		require.True(t, cuttable(places))
		free, ok := pack.OneSize(p, int64(width), int64(height), false)
		require.True(t, ok)
		require.GreaterOrEqual(t, len(free), want)
		p.Count = len(free)
		sound(t, []pack.Piece{p}, [][]pack.Place{free}, int64(width), int64(height), false)
		if want == 0 {
			continue
		}
		for _, straight := range []bool{true, false} {
			p.Count = 3 * want
			sheets, err := pack.Bins([]pack.Piece{p}, int64(width), int64(height), pack.Options{Guillotine: straight})
			require.NoError(t, err)
			require.LessOrEqual(t, len(sheets), 3)
			sound(t, []pack.Piece{p}, sheets, int64(width), int64(height), straight)
		}
	}
}

// TestAPinwheelHoldsOneMore: four 3 by 2 round a hole on a sheet of 5 by 5
// (the smallest pinwheel, own arithmetic); straight cuts get three.
func TestAPinwheelHoldsOneMore(t *testing.T) {
	p := pack.Piece{W: 3, H: 2, Turn: true, Count: 4}
	for straight, want := range map[bool]int{true: 3, false: 4} {
		places, ok := pack.OneSize(p, 5, 5, straight)
		require.True(t, ok)
		require.Len(t, places, want)
	}
}

// TestItMakesNoDifferenceWhichSideIsCalledWidth turns pieces that may be turned.
func TestItMakesNoDifferenceWhichSideIsCalledWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces, opt := drawPieces(t), drawOptions(t)
		swapped := append([]pack.Piece(nil), pieces...)
		for i := range swapped {
			if p := &swapped[i]; p.Turn && rapid.Bool().Draw(t, "swap") {
				p.W, p.H = p.H, p.W
			}
		}
		_, a, err := pack.Strip(pieces, 60, opt)
		require.NoError(t, err)
		_, b, err := pack.Strip(swapped, 60, opt)
		require.NoError(t, err)
		require.Equal(t, a, b)
		one, err := pack.Bins(pieces, 60, 60, opt)
		require.NoError(t, err)
		two, err := pack.Bins(swapped, 60, 60, opt)
		require.NoError(t, err)
		require.Len(t, two, len(one))
	})
}
