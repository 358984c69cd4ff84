package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
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
		"right.svg": fmt.Sprintf(`viewBox="0 0 %g %g"><rect width="1" height="1"/>`, inches(art[0].Width),
			inches(art[0].Height)),
		"wide.svg":      `viewBox="0 0 9 1"><rect width="1" height="1"/>`,
		"lettering.svg": `viewBox="0 0 1 1"><text>a</text>`,
	} {
		require.NoError(t, os.WriteFile(filepath.Join(home, name),
			[]byte(`<svg xmlns="http://www.w3.org/2000/svg" `+inside+`</svg>`), 0o600))
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
	for i, says := range []string{"it is 9.00 times as wide as it is high, its artwork",
		"it has text; turn text into outlines; proofs show a box instead", "there is no such file beside shop.yaml",
		"it cannot be read, so proofs show a box instead: "} {
		require.Contains(t, out, fmt.Sprintf("look  the picture of %s, %s: ", art[i+1].Code, names[i+1]))
		require.Contains(t, out, says)
	}

	require.NotContains(t, out, "has not approved it")
	art[0].Versions = []programme.ArtworkVersion{{Version: "1", File: art[0].File,
		Approved: programme.NewDate(2025, 1, 8)}, {Version: "2", File: "wide.svg"}}
	art[0].File = ""
	out = look()
	require.Contains(t, out, fmt.Sprintf("look  %s, version 2: the client has not approved it", art[0].Code))
	require.Contains(t, out, "version 1 is printed until then")
	require.Contains(t, out, "ok    1 of 5 pictures of artworks are drawn on proofs as they are\n", "the approved one")

	day := programme.NewDate(2020, 12, 25)
	w.Shop.Closed = programme.ClosedDays{{First: day, Last: day}}
	require.Contains(t, look(), "look  the closed days of shop.yaml end with Dec 25, 2020: add the holidays to come")
	later := programme.NewDate(2199, 12, 24)
	w.Shop.Closed = append(w.Shop.Closed, programme.DaySpan{First: later, Last: later + 2})
	require.Contains(t, look(), "ok    closed days are listed up to Dec 26, 2199\n")
}

// Records that leave much out are said where an owner asks whether all is well.
// Two faults of one file stand below each other, under the word that tells what they are.
func TestCheckSetsFurtherLinesBelowTheFirst(t *testing.T) {
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(1))
	home := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(home, "shop.yaml"), setup.WriteShop(&w.Shop), 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(home, "programmes"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(home, "programmes", "quay.yaml"),
		[]byte("code: quay\nnmae: Quay\ntrde: food\n"), 0o600))
	_, out, _ := say(t, home, "check")
	require.Regexp(t, `(?m)^mend  \S+quay.yaml line 1: .*\n      \S+quay.yaml line 1: `, out)
}

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

// Each thing that 'check --help' promises to look at is promised in these words, and said in a shop where it is amiss.
func TestCheckDoesWhatItsHelpPromises(t *testing.T) {
	home := namedBakery(t)
	require.NoError(t, os.Mkdir(filepath.Join(home, books.ProgrammesDir), 0o700))
	file := write(t, home, books.ProgrammesDir+"/bakery.yaml",
		"code: bakery\nname: Copper Hearth\ncustomer: {name: Nell Abara, email: nell@copperhearth.example}\nprices: [{garment: polo, price: 1.00}]\nroles:\n  - code: baker\n    kit:\n      - {garment: polo, colour: navy, each: 3, wears_a_week: 5}\n      - {garment: apron, colour: black, each: 2, wears_a_week: 5}\n")
	mustKit(t, home, "programme", "apply", file)
	more := write(t, home, "more.csv", "date,movement,staff_id,garment,colour,size,pieces\n2024-05-01,issued,0001,polo,navy,M,3\n2024-09-01,issued,0001,polo,navy,M,3\n2025-02-01,issued,0001,polo,navy,M,3\n")
	mustKit(t, home, "ledger", "import", "bakery", more)
	mustKit(t, home, "hire", "bakery", "Ada Brackenholt", "--number", "0077", "--role", "baker")
	require.NoError(t, os.Chmod(filepath.Join(home, "kitmuster.db"), 0o644))
	before := content(t, home)
	status, out, _ := say(t, home, "check")
	require.Equal(t, before, content(t, home), "It changes nothing")
	require.Equal(t, 1, status, "permissions must be mended")
	c, _, err := newRoot(&app{}).Find([]string{"check"})
	require.NoError(t, err)
	help := strings.Join(strings.Fields(c.Long), " ")
	for promise, says := range map[string]string{
		"Reads shop.yaml, config.yaml and every programme": "ok    shop.yaml: ",
		"looks at permissions":                             "mend  ",
		"the database, the disk":                           "ok    database: whole",
		"how mail goes out":                                "ok    mail: written to ",
		"which prices are missing":                         "apron has no price",
		"or below cost":                                    "sells for $1.00 and costs up to ",
		"whose records leave much out":                     "look  bakery: 9 pieces were handed out beyond the kits",
		"whose sizes are not known":                        "look  bakery: no size is known of 1 person",
		"It changes nothing and sends":                     "",
		"ends with status 1 when something must be mended": "",
		"connects to the mail servers and logs in":         "",
	} {
		require.Contains(t, help, promise)
		require.Contains(t, out, says)
	}
}
