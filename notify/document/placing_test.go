package document

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// The print is drawn at the garment's own scale: its width, and its distance
// from the seam, are what the shop file says.
func TestPrintIsDrawnToScale(t *testing.T) {
	for shape, o := range outlines {
		for place := range o.print {
			g := Placing{Shape: shape, Place: place, Width: 80 * programme.Millimetre,
				Height: 50 * programme.Millimetre, Drop: 60 * programme.Millimetre, From: "the shoulder seam",
				Measure: "60 mm"}
			d, ok := g.drawing(nil)
			require.True(t, ok)
			var contour, print mark
			for _, m := range d.marks {
				switch {
				case m.kind == polygonMark:
					contour = m
				case m.kind == boxMark && m.filled && m.stroke == markRGB:
					print = m
				}
			}
			least, most := contour.points[0], contour.points[0]
			for _, p := range contour.points {
				least[0], most[0] = min(least[0], p[0]), max(most[0], p[0])
				least[1], most[1] = min(least[1], p[1]), max(most[1], p[1])
			}
			k := (most[1] - least[1]) / o.height
			require.InDelta(t, 80*k, print.w, 1e-9, "%s %s", shape, place)
			if shape == Cap {
				require.InDelta(t, least[1]+(visor-60)*k, print.y+print.h, 1e-9, "up from the visor")
			} else {
				require.InDelta(t, least[1]+60*k, print.y, 1e-9, "%s %s", shape, place)
			}
			for _, m := range d.marks {
				if m.kind != textMark {
					require.True(t, m.x >= 0 && m.x+m.w <= placingWide+1e-9 && m.y >= 0 && m.y+m.h <= placingHigh,
						"%s %s stays in its room", shape, place)
				}
			}
		}
	}
}

func TestNoDrawingOfWhatIsNotKnown(t *testing.T) {
	for _, g := range []Placing{
		{Shape: NoSilhouette, Place: "left-chest", Width: 1, Height: 1},
		{Shape: Tee, Place: "elbow", Width: 1, Height: 1},
		{Shape: Tee, Place: "left-chest"},
	} {
		_, ok := g.drawing(nil)
		require.False(t, ok)
	}
}
