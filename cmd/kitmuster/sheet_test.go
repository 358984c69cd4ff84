package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const sheetShop = `name: Corner Press
currency: USD
owner: {name: Ann Tilling, email: ann@cornerpress.example}
suppliers: [{code: films, lead_days: 4}]
transfer_kinds:
  - code: film
    decoration: direct-to-film
    process: digital
    printer: films
    sheets: [{code: roll, width: 22in, height: 240in, roll: yes}]
    prices: [{price: 14.00}]
artworks:
  - {code: bun-chest, client: bunshop, kind: film, width: 3.5in, height: 3in, file: missing.png}
  - {code: oak-chest, client: oakyard, kind: film, width: 3in, height: 3in}
`

// sheetRun runs a command in a folder with a shop file, a list of needs and rectangles.
func sheetRun(t *testing.T, args ...string) (status int, out, errs string, dir string) {
	t.Helper()
	dir = t.TempDir()
	for name, text := range map[string]string{
		"shop.yaml": sheetShop,
		"need.csv":  "artwork,pieces\nbun-chest,40\noak-chest,25\n",
		"rects.csv": "w,h,count,label\n2,12\n7,12\n8,6,2,flag\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	t.Chdir(dir)
	var o, e bytes.Buffer
	status = run(t.Context(), args, nil, &o, &e)
	return status, o.String(), e.String(), dir
}

func TestSheetPrintsAPlanForPrograms(t *testing.T) {
	status, out, errs, _ := sheetRun(t, "sheet", "--need", "need.csv", "--shop", "shop.yaml", "--iterations", "50",
		"--json", "--as-of", "2026-03-09")
	require.Zero(t, status, errs)
	var plan sheetsJSON
	require.NoError(t, json.Unmarshal([]byte(out), &plan))
	require.Equal(t, 1, plan.Format)
	require.Equal(t, "in", plan.Unit)
	require.Len(t, plan.Sheets, 1)
	require.InDelta(t, 22.0, plan.Sheets[0].Width, 1e-9)
	require.InDelta(t, plan.Sheets[0].Height, plan.UsedLength, 1e-9)
	require.Equal(t, plan.Cost.Total, plan.Cost.SetUp+plan.Cost.Print+plan.Cost.TopUp)
	counts := map[string]int{}
	for _, it := range plan.Sheets[0].Items {
		counts[it.Label]++
	}
	require.Equal(t, map[string]int{"bun-chest": plan.Lines[0].Print, "oak-chest": plan.Lines[1].Print}, counts)
	require.Equal(t, map[string]int{"bun-chest": 0, "oak-chest": 0}, plan.Over)
}

func TestSheetWritesItsPapersAndSaysWhichPictureIsMissing(t *testing.T) {
	status, out, errs, dir := sheetRun(t, "sheet", "--need", "need.csv", "--iterations", "20", "--proof", "proof.pdf",
		"--svg", "drawings", "--list", "list.csv")
	require.Zero(t, status, errs)
	require.Contains(t, out, "Transfers cost $")
	require.Contains(t, errs, "the picture of bun-chest is left out")
	for _, name := range []string{"proof.pdf", "drawings/film-01.svg", "list.csv"} {
		info, err := os.Stat(filepath.Join(dir, name))
		require.NoError(t, err)
		require.Positive(t, info.Size())
	}
}

func TestSheetSaysWhatIsWrong(t *testing.T) {
	for name, c := range map[string]struct {
		args   []string
		status int
		want   string
	}{
		"no list":         {[]string{"sheet"}, 2, "--need FILE"},
		"an unknown kind": {[]string{"sheet", "--need", "need.csv", "--kind", "foil"}, 2, "the shop file has film"},
		"no such file":    {[]string{"sheet", "--need", "other.csv"}, 1, "other.csv"},
		"no shop":         {[]string{"sheet", "--need", "need.csv", "--shop", "other.yaml"}, 1, "other.yaml"},
		"a wrong word":    {[]string{"sheet", "fold"}, 2, "no command"},
		"no width":        {[]string{"sheet", "pack", "--rects", "rects.csv"}, 2, "--width"},
		"a width in words": {[]string{"sheet", "pack", "--rects", "rects.csv", "--width", "wide"}, 2,
			"a length is a number"},
		"too narrow":         {[]string{"sheet", "pack", "--rects", "rects.csv", "--width", "5"}, 1, "does not fit"},
		"an unlikely moment": {[]string{"sheet", "--need", "need.csv", "--seconds", "-1"}, 2, "--seconds"},
	} {
		status, _, errs, _ := sheetRun(t, c.args...)
		require.Equal(t, c.status, status, name)
		require.Contains(t, errs, c.want, name)
	}
}

func TestSheetPackTellsPlacesAndLength(t *testing.T) {
	status, out, errs, _ := sheetRun(t, "sheet", "pack", "--width", "20", "--rects", "rects.csv", "--iterations",
		"200", "--json")
	require.Zero(t, status, errs)
	var packed sheetsJSON
	require.NoError(t, json.Unmarshal([]byte(out), &packed))
	require.InDelta(t, 12.0, packed.UsedLength, 1e-9)
	require.Len(t, packed.Sheets[0].Items, 4)
	status, out, errs, _ = sheetRun(t, "sheet", "pack", "--width", "20", "--height", "14", "--gutter", "0.5",
		"--margin", "1", "--trimmer", "--rects", "rects.csv", "--iterations", "200", "--json")
	require.Zero(t, status, errs)
	require.NoError(t, json.Unmarshal([]byte(out), &packed))
	for _, s := range packed.Sheets {
		for i, a := range s.Items {
			require.True(t, a.X >= 1 && a.Y >= 1 && a.X+a.W <= 19 && a.Y+a.H <= 13)
			for _, b := range s.Items[:i] {
				require.False(t, a.X < b.X+b.W+0.5 && b.X < a.X+a.W+0.5 && a.Y < b.Y+b.H+0.5 && b.Y < a.Y+a.H+0.5)
			}
		}
	}
}

// Bare rectangles are drawn as transfers are; a drawing at true scale needs a unit.
func TestSheetPackDrawsWhatItPacked(t *testing.T) {
	args := []string{"sheet", "pack", "--rects", "rects.csv", "--iterations", "50", "--proof", "packed.pdf",
		"--svg", "drawings"}
	status, _, errs, _ := sheetRun(t, append(args, "--width", "20")...)
	require.Equal(t, 2, status)
	require.Contains(t, errs, "need a unit")
	status, _, errs, dir := sheetRun(t, append(args, "--width", "20cm")...)
	require.Zero(t, status, errs)
	pdf, err := os.ReadFile(filepath.Join(dir, "packed.pdf"))
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(pdf, []byte("%PDF-")))
	svg, err := os.ReadFile(filepath.Join(dir, "drawings", "rectangles-01.svg"))
	require.NoError(t, err)
	require.Contains(t, string(svg), "flag")
	require.Contains(t, string(svg), "80 mm × 60 mm")
}

// TestSheetPackSaysWhatIsProven: four squares of half the width fill two rows, by
// their area the least; five leave half a row empty, which no bound rules out, but on
// sheets of four they take two.
func TestSheetPackSaysWhatIsProven(t *testing.T) {
	for _, c := range []struct {
		count, height string
		want          bool
	}{{"4", "", true}, {"5", "", false}, {"5", "20", true}} {
		rects := filepath.Join(t.TempDir(), "squares.csv")
		require.NoError(t, os.WriteFile(rects, []byte("w,h,count\n10,10,"+c.count+"\n"), 0o600))
		args := []string{"sheet", "pack", "--width", "20", "--rects", rects, "--iterations", "200"}
		if c.height != "" {
			args = append(args, "--height", c.height)
		}
		status, out, errs, _ := sheetRun(t, args...)
		require.Zero(t, status, errs)
		require.Equal(t, c.want, strings.Contains(out, "No packing takes less: this was proven."), out)
		status, out, errs, _ = sheetRun(t, append(args, "--json")...)
		require.Zero(t, status, errs)
		var packed sheetsJSON
		require.NoError(t, json.Unmarshal([]byte(out), &packed))
		for _, s := range packed.Sheets {
			require.Equal(t, c.want, s.Proven)
		}
	}
}

func TestSheetWritesAPrintFileForEachLayout(t *testing.T) {
	status, _, errs, dir := sheetRun(t, "sheet", "--need", "need.csv", "--iterations", "8", "--print", "print",
		"--list", "list.csv")
	require.Equal(t, 1, status)
	require.Contains(t, errs, "cannot go into a print file", "a printer is not sent a guess")
	require.NoDirExists(t, filepath.Join(dir, "print"), "what is refused writes nothing")
	require.NoFileExists(t, filepath.Join(dir, "list.csv"))
	square := `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 7 6"><path d="M0 0h7v6h-7z" fill="#123456"/></svg>`
	shop := strings.ReplaceAll(sheetShop, "width: 3in, height: 3in}", "width: 3.5in, height: 3in, file: missing.png}")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "shop.yaml"), []byte(shop), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "missing.png"), []byte(square), 0o600))
	var o, e bytes.Buffer
	require.Zero(t, run(t.Context(), []string{"sheet", "--need", "need.csv", "--iterations", "8", "--print", "print"},
		nil, &o, &e), e.String())
	files, err := filepath.Glob(filepath.Join(dir, "print", "film-a-*.pdf"))
	require.NoError(t, err)
	require.Len(t, files, 1)
}
