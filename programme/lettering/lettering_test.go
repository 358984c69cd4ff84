package lettering_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"github.com/kitmuster/kitmuster/notify/vector"
	"github.com/kitmuster/kitmuster/programme/lettering"
)

// The width of the ink must be what another reader of the same font file
// (golang.org/x/image/font/opentype) measures, in heights of its H.
func TestMeasuresAreThoseOfTheFont(t *testing.T) {
	f, err := opentype.Parse(gobold.TTF)
	require.NoError(t, err)
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: 1000, DPI: 72, Hinting: font.HintingNone})
	require.NoError(t, err)
	units := func(x fixed.Int26_6) float64 { return float64(x) / 64 }
	h, _ := font.BoundString(face, "H")
	capital := units(h.Max.Y - h.Min.Y)
	for _, name := range []string{"Ana", "Jörg", "Peggy Quill", "Éva", "Жанна", "Λυδία"} {
		line, err := lettering.Set(name)
		require.NoError(t, err)
		ink, _ := font.BoundString(face, name)
		require.InDelta(t, units(ink.Max.X-ink.Min.X)/capital, line.Width, 0.02, name)
		require.InDelta(t, units(ink.Max.Y-ink.Min.Y)/capital, line.Height, 0.02, name)
	}
}

func TestTheOutlinesFillTheirPicture(t *testing.T) {
	for _, name := range []string{"Ana", "Jörg", "דוד", "Nguyễn", "O'Neill-Żak"} {
		line, err := lettering.Set(lettering.Normal(name))
		require.NoError(t, err, name)
		pic, err := vector.Read(line.SVG("#ff0000"))
		require.NoError(t, err, name)
		require.InDelta(t, line.Width/line.Height, pic.Width/pic.Height, 1e-3)
		least, most := [2]float64{1e9, 1e9}, [2]float64{}
		for _, s := range pic.Shapes {
			require.Equal(t, [3]uint8{255, 0, 0}, [3]uint8(s.Fill.RGB))
			for _, step := range s.Path {
				for _, p := range step.To {
					least = [2]float64{min(least[0], p.X), min(least[1], p.Y)}
					most = [2]float64{max(most[0], p.X), max(most[1], p.Y)}
				}
			}
		}
		require.InDelta(t, 0, least[0], 0.02, name)
		require.InDelta(t, 0, least[1], 0.02, name)
		require.InDelta(t, pic.Width, most[0], 0.02, name)
		require.InDelta(t, pic.Height, most[1], 0.02, name)
	}
}

// Right-to-left names stand mirrored in order, and accents that were typed apart are
// the letters they make (Unicode, annexes 9 and 15).
func TestScriptsAndAccents(t *testing.T) {
	hebrew, err := lettering.Set("אב")
	require.NoError(t, err)
	reverse, err := lettering.Set("בא")
	require.NoError(t, err)
	require.NotEqual(t, hebrew.SVG("#000000"), reverse.SVG("#000000"))
	require.Equal(t, "José", lettering.Normal(" Jose\u0301 "))
	_, err = lettering.Set("王伟")
	var missing *lettering.Missing
	require.ErrorAs(t, err, &missing)
	require.Equal(t, []rune("王伟"), missing.Letters)
	_, err = lettering.Set("42")
	require.ErrorContains(t, err, "no letter")
}

func FuzzSet(f *testing.F) {
	for _, s := range []string{"Ana", "דוד כהן", "\u200fA", "a\u0301", "ﬁ", "", " "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		s = lettering.Normal(s)
		line, err := lettering.Set(s)
		if err != nil {
			return
		}
		if pic, err := vector.Read(line.SVG("#000000")); err != nil || len(pic.Shapes) == 0 || line.Width <= 0 ||
			line.Height <= 0 {
			t.Fatalf("%q: %v, %v", s, err, line)
		}
	})
}
