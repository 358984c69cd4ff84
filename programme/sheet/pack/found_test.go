package pack_test

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/tabwriter"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// published reads rectangles and the numbers of the heading from a file of testdata/sheets;
// of a file with many instances, those of the one that is named.
func published(t *testing.T, file, instance string) (pieces []pack.Piece, head map[string]int64) {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/sheets/" + file + ".csv")
	require.NoError(t, err)
	head = map[string]int64{}
	for line := range strings.Lines(string(data)) {
		if rest, ok := strings.CutPrefix(line, "#"); ok {
			key, value, _ := strings.Cut(rest, ":")
			head[strings.TrimSpace(key)], _ = strconv.ParseInt(strings.TrimSpace(value), 10, 64)
			continue
		}
		cells := strings.Split(strings.TrimSpace(line), ",")
		if instance != "" {
			if cells[0] != instance {
				continue
			}
			cells = cells[1:]
		}
		n := [3]int64{2: 1}
		for i, c := range cells {
			n[i], err = strconv.ParseInt(c, 10, 64)
			require.NoError(t, err, line)
		}
		pieces = append(pieces, pack.Piece{W: n[0], H: n[1], Count: int(n[2]), Turn: true})
	}
	require.NotEmpty(t, pieces, "%s %s", file, instance)
	return pieces, head
}

// shopPieces are a few sizes of which many are needed, to a tenth of a millimetre.
func shopPieces(seed uint64, kinds, most int) []pack.Piece {
	rng := rand.New(rand.NewPCG(seed, 5))
	var pieces []pack.Piece
	for range kinds {
		pieces = append(pieces, pack.Piece{W: 400 + rng.Int64N(1200), H: 400 + rng.Int64N(1200),
			Count: 1 + rng.IntN(most), Turn: rng.IntN(4) > 0})
	}
	return pieces
}

// mostTries are after how many tries in all a search is looked at.
var mostTries = []int{0, 30, 120, 360}

// row is what a search of one problem finds: how long or how many, against what is
// known not to be beaten.
func row(out *tabwriter.Writer, name string, known int64, found func(tries int) (value int64, taken int)) {
	_, _ = fmt.Fprintf(out, "%s\t%d", name, known)
	from := 0
	for _, n := range mostTries {
		value, taken := found(n - from)
		from = n
		_, _ = fmt.Fprintf(out, "\t%d (%d)", value, taken)
	}
	_, _ = fmt.Fprintln(out, "\t")
}

func heading(out *tabwriter.Writer, known string) {
	_, _ = fmt.Fprintf(out, "problem\t%s", known)
	for _, n := range mostTries {
		_, _ = fmt.Fprintf(out, "\t%d tries", n)
	}
	_, _ = fmt.Fprintln(out, "\t")
}

// TestWhatIsFoundOnStrips is the record of how low strips get, by tries: the published
// optimum, or a bound for shops' needs, beside what is found and, in brackets, how many
// tries it took. A change of the search shows here what it does to the length of rolls.
func TestWhatIsFoundOnStrips(t *testing.T) {
	var text bytes.Buffer
	out := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	heading(out, "at best")
	for _, way := range []struct {
		name           string
		turn, straight bool
		longest        int64 // in widths
	}{{"", true, false, 0}, {", none turned", false, false, 0}, {", straight cuts", true, true, 0},
		{", short cuts", true, true, 1}} {
		record := func(name string, pieces []pack.Piece, width, least int64) {
			for i := range pieces {
				pieces[i].Turn = pieces[i].Turn && way.turn
			}
			opt := pack.Options{Guillotine: way.straight, LongestCut: way.longest * width}
			s, err := pack.NewStrip(pieces, width, opt)
			require.NoError(t, err)
			row(out, name+way.name, least, func(tries int) (int64, int) {
				taken := s.Improve(tries)
				places, height := s.Best()
				sound(t, pieces, [][]pack.Place{places}, width, height, way.straight)
				require.GreaterOrEqual(t, height, least)
				if opt.LongestCut > 0 {
					requireShortCuts(t, places, opt.LongestCut)
				}
				return height, taken
			})
		}
		for _, file := range []string{"strip/C1-3", "strip/C3-2", "strip/C4-1", "strip-burke/BKW2",
			"strip-burke/BKW6"} {
			pieces, head := published(t, file, "")
			record(file, pieces, head["strip_width"], head["optimum_height"])
		}
		for seed, kinds := range []int{3, 6, 10, 18} {
			pieces := shopPieces(uint64(seed), kinds, 16)
			record(fmt.Sprint("need ", seed), pieces, 5500, pack.StripBound(pieces, 5500))
		}
	}
	require.NoError(t, out.Flush())
	goldentest.Equal(t, "strips.txt", text.Bytes())
}

// requireShortCuts sees to it that lines across the strip part it so that no cut along it
// is longer than allowed, unless a piece is.
func requireShortCuts(t *testing.T, places []pack.Place, longest int64) {
	t.Helper()
	lines := map[int64]bool{0: true}
	for _, p := range places {
		lines[p.Y+p.H] = true
		longest = max(longest, p.H)
	}
	var from int64
	for _, y := range slices.Sorted(maps.Keys(lines)) {
		crossed := slices.ContainsFunc(places, func(p pack.Place) bool { return p.Y < y && p.Y+p.H > y })
		if !crossed {
			require.LessOrEqual(t, y-from, longest)
			from = y
		}
	}
}

// TestWhatIsFoundOnSheets is the same of sheets, against the bound of their area.
func TestWhatIsFoundOnSheets(t *testing.T) {
	var text bytes.Buffer
	out := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	heading(out, "by area")
	for _, straight := range []bool{false, true} {
		for _, of := range []struct{ file, instance string }{
			{"bin/class01", "040_03"}, {"bin/class02", "100_01"}, {"bin/class03", "060_02"}, {"bin/class05", "040_05"},
			{"bin/class07", "060_03"}, {"bin/class09", "020_04"}, {"bin/class10", "080_06"},
		} {
			pieces, head := published(t, of.file, of.instance)
			w, h := head["bin_width"], head["bin_height"]
			s, err := pack.NewBins(pieces, w, h, pack.Options{Guillotine: straight})
			require.NoError(t, err)
			name := of.file + " " + of.instance
			if straight {
				name += ", straight cuts"
			}
			var area int64
			for _, p := range pieces {
				area += p.W * p.H * int64(p.Count)
			}
			row(out, name, (area+w*h-1)/(w*h), func(tries int) (int64, int) {
				taken := s.Improve(tries)
				sheets := s.Best()
				sound(t, pieces, sheets, w, h, straight)
				require.GreaterOrEqual(t, len(sheets), s.Bound())
				return int64(len(sheets)), taken
			})
		}
	}
	require.NoError(t, out.Flush())
	goldentest.Equal(t, "sheets.txt", text.Bytes())
}

// TestWhatIsFoundOnRolls is the same of needs that take several lengths of a roll, in
// tenths of a millimetre, against the bound of a single strip.
func TestWhatIsFoundOnRolls(t *testing.T) {
	var text bytes.Buffer
	out := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	heading(out, "one strip")
	for seed := range uint64(5) {
		pieces := shopPieces(seed, 4+int(seed)*2, 25)
		const width, longest = 5500, 6000
		r, err := pack.NewRolls(pieces, width, longest, pack.Options{})
		require.NoError(t, err)
		row(out, fmt.Sprint("need ", seed), pack.StripBound(pieces, width), func(tries int) (sum int64, taken int) {
			taken = r.Improve(tries)
			rolls, lengths := r.Best()
			sound(t, pieces, rolls, width, longest, false)
			for i, l := range lengths {
				var top int64
				for _, p := range rolls[i] {
					top = max(top, p.Y+p.H)
				}
				require.Equal(t, top, l)
				sum += l
			}
			require.GreaterOrEqual(t, sum, pack.StripBound(pieces, width))
			return sum, taken
		})
	}
	require.NoError(t, out.Flush())
	goldentest.Equal(t, "rolls.txt", text.Bytes())
}

// TestWhatIsFoundToFit is the record of how many of thirty sheets are put together again that
// were cut without waste, by tries: a sheet more is a layout that costs less.
func TestWhatIsFoundToFit(t *testing.T) {
	var text bytes.Buffer
	for _, c := range []struct{ turn, straight bool }{{false, false}, {true, false}, {false, true}, {true, true}} {
		_, _ = fmt.Fprintf(&text, "turned %v, straight cuts %v:", c.turn, c.straight)
		for _, tries := range []int{0, 24, 60, 99, 160} {
			rng := rand.New(rand.NewPCG(4, 6))
			found := 0
			for range 30 {
				pieces := cutSheet(rng, 60, 40, 5+rng.IntN(7))
				for i := range pieces {
					if p := &pieces[i]; c.turn && rng.IntN(2) == 0 {
						p.W, p.H = p.H, p.W
					}
					pieces[i].Turn = c.turn
				}
				places, ok := pack.Fit(pieces, 60, 40, pack.Options{Iterations: tries, Guillotine: c.straight})
				if ok {
					found++
					sound(t, pieces, [][]pack.Place{places}, 60, 40, c.straight)
				}
				pieces[0].Count++
				_, ok = pack.Fit(pieces, 60, 40, pack.Options{Iterations: tries})
				require.False(t, ok, "one more than there is room for")
			}
			_, _ = fmt.Fprintf(&text, " %d (%d)", found, tries)
		}
		_, _ = fmt.Fprintln(&text)
	}
	goldentest.Equal(t, "fit.txt", text.Bytes())
}

// cutSheet cuts a sheet apart by random straight cuts of its largest piece.
func cutSheet(rng *rand.Rand, w, h int64, cuts int) []pack.Piece {
	pieces := []pack.Piece{{W: w, H: h, Count: 1}}
	for range cuts {
		at := 0
		for i, p := range pieces {
			if p.W*p.H > pieces[at].W*pieces[at].H {
				at = i
			}
		}
		p := &pieces[at]
		rest := *p
		if p.W > p.H {
			cut := 1 + rng.Int64N(p.W-1)
			p.W, rest.W = cut, p.W-cut
		} else {
			cut := 1 + rng.Int64N(p.H-1)
			p.H, rest.H = cut, p.H-cut
		}
		pieces = append(pieces, rest)
	}
	return pieces
}
