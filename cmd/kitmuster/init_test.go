package main

import (
	"bufio"
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func TestAScriptStartsAShopWithItsFirstClient(t *testing.T) {
	home := t.TempDir()
	args := []string{"init", "--name", "Corner Press", "--owner", "Ann Tilling", "--email", "ann@cornerpress.example",
		"--time-zone", "America/New_York",
		"--client", "Fernhill Gardens", "--client-contact", "Olive Marsh", "--client-email", "olive@fernhill.example",
		"--trade", "grounds", "--place", "mobile", "--setting", "outdoor", "--duty", "heavy", "--people", "9"}
	status, out, errs := kit(t, home, args...)
	require.Zero(t, status, errs)
	require.Contains(t, out, "kitmuster roster import fernhill-gardens staff.csv")
	require.Contains(t, out, "Where some wear a ladies' cut and others a men's")
	shop, err := books.ReadShop(home)
	require.NoError(t, err)
	require.Equal(t, programme.MonthFirst, shop.DateStyle)
	require.NotEmpty(t, shop.Artworks)
	text, err := os.ReadFile(filepath.Join(home, books.ShopFile))
	require.NoError(t, err)
	goldentest.Equal(t, "init-shop.yaml", text)

	status, out, errs = kit(t, home, "programme", "apply")
	require.Zero(t, status, errs)
	require.Contains(t, out, "Applied: fernhill-gardens.")
	_, out, _ = kit(t, home, "check")
	require.Contains(t, out, "has no price; put it under prices: in programmes/fernhill-gardens.yaml")
	require.Contains(t, out, "look  fernhill-gardens: its mails and order forms show no prices while one is missing")
	status, _, errs = kit(t, home, args...)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "there is a shop.yaml")
}

// The first catalogue's polyester polo under its hot transfer is what check must not pass over.
func TestCheckLooksAtHotTransfersOnPolyester(t *testing.T) {
	home := t.TempDir()
	mustKit(t, home, "init", "--name", "Corner Press", "--owner", "Ann Tilling", "--email", "ann@cornerpress.example",
		"--currency", "EUR", "--time-zone", "Europe/Berlin", "--units", "millimetres",
		"--client", "Fernhill Gardens", "--client-contact", "Olive Marsh", "--client-email", "olive@fernhill.example",
		"--trade", "grounds", "--setting", "outdoor", "--people", "9")
	require.NotContains(t, mustKit(t, home, "check"), "all polyester")
	rewrite(t, programmeFile(home, "fernhill-gardens"), func(text string) string {
		return strings.Replace(text, "garment: polo\n        colour: black", "garment: cool-polo\n        colour: navy",
			1)
	})
	require.NotContains(t, mustKit(t, home, "check"), "all polyester", "the draft takes transfers for low heat")
	rewrite(t, filepath.Join(home, books.ShopFile), func(text string) string {
		return strings.ReplaceAll(text, "kind: screen-low,", "kind: screen,")
	})
	require.Contains(t, mustKit(t, home, "check"),
		"look  fernhill-gardens: cool-polo is all polyester and fernhill-gardens-chest is pressed at 185 °C; above 138 °C the dye may move into the print: choose a transfer that needs less heat\n")
	rewrite(t, filepath.Join(home, books.ShopFile), func(text string) string {
		return strings.ReplaceAll(text, "kind: screen,", "kind: film-low,")
	})
	require.NotContains(t, mustKit(t, home, "check"), "all polyester")
}

func TestAScriptIsToldAllThatIsMissing(t *testing.T) {
	home := t.TempDir()
	status, _, errs := kit(t, home, "init", "--currency", "dollars")
	require.Equal(t, exitUsage, status)
	for _, want := range []string{"--name is missing", "--owner is missing", "--email is missing",
		"three capital letters"} {
		require.Contains(t, errs, want)
	}
	left, err := os.ReadDir(home)
	require.NoError(t, err)
	require.Empty(t, left, "nothing was written")
}

func TestATerminalIsAskedAgainUntilTheAnswerWillDo(t *testing.T) {
	t.Setenv("TZ", "Europe/Lisbon")
	typed := strings.Join([]string{"Corner Press", "Ann", "not an address", "ann@cornerpress.example", "EUR",
		"Europe/Berlin", "", "", "dear", "40", "ten", "5", "The Bun Shop", "Tom Alder", "tom@bunshop.example", "food",
		"", "", "dirty", "", "many", "6", "some", "2", "perhaps", "no"}, "\n") + "\n"
	var out bytes.Buffer
	in := &interview{}
	err := in.run(&asker{in: bufio.NewReader(strings.NewReader(typed)), out: &out,
		given: func(string) bool { return false }})
	require.NoError(t, err)
	require.Equal(t, setup.Start{Name: "Corner Press", Currency: "EUR", TimeZone: "Europe/Berlin",
		Units: programme.Millimetres, DateStyle: programme.DayFirst,
		Owner: programme.Contact{Name: "Ann", Email: "ann@cornerpress.example"}, Ordering: 4000,
		Unused: 0.05}, in.start())
	sheet := in.intake()
	require.Equal(t, "the-bun-shop", sheet.Code)
	require.Equal(t, programme.Dirty, sheet.Work.Duty)
	require.Equal(t, 6, sheet.Staff())
	require.Equal(t, 2, sheet.Pool)
	require.False(t, sheet.ShowPrices)
	require.Contains(t, out.String(), "write one mail address")
	require.Contains(t, out.String(), "write a whole number")
	goldentest.Equal(t, "init-questions.txt", out.Bytes())

	cut := (&interview{}).run(&asker{in: bufio.NewReader(strings.NewReader("Corner Press\n")), out: &out,
		given: func(string) bool { return false }})
	require.ErrorContains(t, cut, "nothing was written")
}

// Units are taken as rulers have them: an owner who types cm is not asked again.
func TestUnitsMayBeWrittenShort(t *testing.T) {
	for short, want := range map[string]string{"cm": "\nunits: centimetres ", "MM": "\nunits: millimetres ",
		"in": " drop: 3.5in}"} {
		home := t.TempDir()
		mustKit(t, home, "init", "--name", "Corner Press", "--owner", "Ann", "--email", "ann@cornerpress.example",
			"--units", short)
		text, err := os.ReadFile(filepath.Join(home, books.ShopFile))
		require.NoError(t, err)
		require.Contains(t, string(text), want, short)
	}
}

func TestAShopCanStartWithoutAClient(t *testing.T) {
	home := filepath.Join(t.TempDir(), "new", "shop")
	status, out, errs := kit(t, home, "init", "--name", "Corner Press", "--owner", "Ann", "--email",
		"ann@cornerpress.example")
	require.Zero(t, status, errs)
	require.Contains(t, out, filepath.Join(intakeDir, "blank.yaml"))
	status, _, errs = kit(t, home, "programme", "draft", filepath.Join(home, intakeDir, "blank.yaml"))
	require.Zero(t, status, errs)
}
