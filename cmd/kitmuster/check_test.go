package main

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

func TestCheckLooksAtPicturesAndClosedDays(t *testing.T) {
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(1))
	home := t.TempDir()
	art := w.Shop.Artworks
	names := []string{"right.svg", "wide.svg", "lettering.svg", "gone.png", "../outside.svg"}
	for i, name := range names {
		art[i].File = name
	}
	inches := func(v programme.Length) float64 { return float64(v) / float64(programme.Inch) }
	for name, inside := range map[string]string{
		"right.svg":     fmt.Sprintf(`viewBox="0 0 %g %g"><rect width="1" height="1"/>`, inches(art[0].Width), inches(art[0].Height)),
		"wide.svg":      `viewBox="0 0 9 1"><rect width="1" height="1"/>`,
		"lettering.svg": `viewBox="0 0 1 1"><text>a</text>`,
	} {
		require.NoError(t, os.WriteFile(filepath.Join(home, name), []byte(`<svg xmlns="http://www.w3.org/2000/svg" `+inside+`</svg>`), 0o600))
	}
	look := func() string {
		require.NoError(t, os.WriteFile(filepath.Join(home, "shop.yaml"), setup.WriteShop(&w.Shop), 0o600))
		status, out, complaint := say(t, home, "check")
		require.Zero(t, status, complaint, "a box on a proof is no fault")
		return out
	}
	out := look()
	require.NotContains(t, out, "closed days", "a shop without a list is not told to begin one")
	require.Contains(t, out, "ok    1 of 5 pictures of artworks are drawn on proofs as they are\n")
	for i, says := range []string{"it is 9.00 times as wide as it is high, its artwork", "it has text; turn text into outlines; proofs show a box instead", "there is no such file beside shop.yaml", "it cannot be read, so proofs show a box instead: "} {
		require.Contains(t, out, fmt.Sprintf("look  the picture of %s, %s: ", art[i+1].Code, names[i+1]))
		require.Contains(t, out, says)
	}

	day := programme.NewDate(2020, 12, 25)
	w.Shop.Closed = programme.ClosedDays{{First: day, Last: day}}
	require.Contains(t, look(), "look  the closed days of shop.yaml end with Dec 25, 2020: add the holidays to come")
	later := programme.NewDate(2199, 12, 24)
	w.Shop.Closed = append(w.Shop.Closed, programme.DaySpan{First: later, Last: later + 2})
	require.Contains(t, look(), "ok    closed days are listed up to Dec 26, 2199\n")
}

// Records that leave much out are said where an owner asks whether all is well.
func TestCheckSaysWhereRecordsLeaveMuchOut(t *testing.T) {
	home := namedBakery(t)
	require.NotContains(t, mustKit(t, home, "check"), "handed out beyond the kits")
	more := write(t, home, "more.csv", "date,movement,staff_id,garment,colour,size,pieces\n"+
		"2024-05-01,issued,0001,polo,navy,M,3\n2024-09-01,issued,0001,polo,navy,M,3\n2025-02-01,issued,0001,polo,navy,M,3\n")
	mustKit(t, home, "ledger", "import", "bakery", more)
	out := mustKit(t, home, "check")
	require.Contains(t, out, "look  bakery: 9 pieces were handed out beyond the kits with no ending on record")
	require.NotContains(t, out, "All is well")
}
