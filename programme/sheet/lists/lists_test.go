package lists_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/lists"
)

var shop = &programme.Shop{Artworks: []programme.Artwork{{Code: "bun-chest"}, {Code: "oak-back"}}}

func TestNeedsAreReadAsPeopleWriteThem(t *testing.T) {
	want := []sheet.Need{{Artwork: "bun-chest", Pieces: 12, PerMonth: 4.5}, {Artwork: "oak-back", Pieces: 3}}
	for _, text := range []string{
		"artwork,pieces,per_month\nbun-chest,12,4.5\noak-back,3,\n",
		"\ufeffPieces;Per month;Artwork\r\n12;4.5;bun-chest\r\n3;;oak-back\r\n",
	} {
		got, err := lists.ReadNeeds("need.csv", []byte(text), shop)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
}

func TestEveryBadNeedIsReported(t *testing.T) {
	_, err := lists.ReadNeeds("need.csv",
		[]byte("artwork,pieces,per_month\nbun-chesst,1,\noak-back,1.5,\noak-back,2,often\n"), shop)
	for _, want := range []string{
		`need.csv line 2, column artwork: read "bun-chesst", but the shop file has no such artwork; did you mean bun-chest?`,
		`need.csv line 3, column pieces: read "1.5", but a whole number`,
		`need.csv line 4, column per_month: read "often", but`,
	} {
		require.ErrorContains(t, err, want)
	}
	_, err = lists.ReadNeeds("need.csv", []byte("artwork,pieces\n"), shop)
	require.ErrorContains(t, err, "no rows")
}

func TestRectsAreReadWithAndWithoutUnits(t *testing.T) {
	var bare lists.Measure
	got, err := lists.ReadRects("r.csv", []byte("# a remark; with a semicolon\nw,h,count,label\n3.5,2,4,chest\n1,7\n"),
		&bare)
	require.NoError(t, err)
	require.Equal(t, []lists.Rect{{W: 3.5, H: 2, Count: 4, Label: "chest"}, {W: 1, H: 7, Count: 1, Label: "2"}}, got)
	require.Empty(t, bare.Unit)
	var inches lists.Measure
	got, err = lists.ReadRects("r.csv", []byte("3.5in;25.4mm;2\n"), &inches)
	require.NoError(t, err)
	require.Equal(t, []lists.Rect{{W: 3.5, H: 1, Count: 2, Label: "1"}}, got)
	require.Equal(t, "in", inches.Unit)
}

func TestEveryBadRectIsReported(t *testing.T) {
	_, err := lists.ReadRects("r.csv", []byte("3,x\n3\n1,2,0\n0,2\n1,2,3,a,b\n"), &lists.Measure{})
	for _, want := range []string{"line 1, column h", "line 2: the line has 1 values", "line 3, column count",
		"line 4, column w", "line 5"} {
		require.ErrorContains(t, err, want)
	}
	_, err = lists.ReadRects("r.csv", nil, &lists.Measure{})
	require.ErrorContains(t, err, "no rectangles")
	_, err = lists.ReadRects("r.csv", []byte("1,1,60000\n1,1,60000\n"), &lists.Measure{})
	require.ErrorContains(t, err, "at most")
}

func FuzzReadRects(f *testing.F) {
	f.Add([]byte("w,h,count,label\n3.5,2,4,chest\n"))
	f.Add([]byte("3in;2mm\n"))
	f.Add([]byte("# remark\n1\t2\n\"a"))
	f.Fuzz(func(t *testing.T, data []byte) {
		rects, err := lists.ReadRects("x", data, &lists.Measure{})
		if err != nil {
			return
		}
		for _, r := range rects {
			require.True(t, r.W > 0 && r.H > 0 && r.Count > 0 && r.Label != "")
		}
	})
}

func FuzzReadNeeds(f *testing.F) {
	f.Add([]byte("artwork,pieces\nbun-chest,3\n"))
	f.Add([]byte("pieces;artwork\n3;oak-back\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		needs, err := lists.ReadNeeds("x", data, shop)
		if err != nil {
			return
		}
		for _, n := range needs {
			_, known := shop.Artwork(n.Artwork)
			require.True(t, known && n.Pieces >= 0 && n.PerMonth >= 0)
		}
	})
}
