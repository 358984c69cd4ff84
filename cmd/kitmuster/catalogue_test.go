package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// A list comes from the supplier as it is; a later, shorter one changes what it
// names and nothing else, and shop.yaml keeps its every byte.
func TestPriceListsAreTakenAsTheyCome(t *testing.T) {
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(1))
	home := t.TempDir()
	text := append([]byte("# our own remarks\n"), setup.WriteShop(&w.Shop)...)
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), text, 0o600))
	file := filepath.Join(home, "prices.csv")
	take := func(list string, flags ...string) (int, string, string) {
		require.NoError(t, os.WriteFile(file, []byte(list), 0o600))
		return say(t, home, append([]string{"catalogue", "import", file}, flags...)...)
	}
	status, _, complaint := take("Style,Color,Size,Price\ntee,navy,M,4.25\n")
	require.Equal(t, 1, status)
	require.Contains(t, complaint, `"Style" probably means garment`)
	maps := []string{"--map", "Style=garment", "--map", "Color=colour", "--map", "Price=cost", "--map",
		"Item No=item_number"}
	const first = "Style,Color,Size,Item No,Price\ntee,navy,M,T1,4.25\ntee,navy,L,T2,4.40\nfancy,red,M,F1,3.00\n"

	status, out, complaint := take(first, append(maps, "--dry-run")...)
	require.Zero(t, status, complaint)
	require.Contains(t, out, "nothing was kept")
	require.NoFileExists(t, filepath.Join(home, books.CatalogueFile))

	status, out, complaint = take(first, maps...)
	require.Zero(t, status, complaint)
	require.Contains(t, out, "Items that change: 2. Items that stay as they are: 0.")
	require.Contains(t, out, "Rows of garments that shop.yaml does not have: 1.")

	status, out, complaint = take("garment,colour,size,cost\ntee,navy,,4.25\ntee,navy,M,4.25\n", "--dry-run")
	require.Zero(t, status, complaint)
	require.Contains(t, out, "without a size or colour, which say nothing of any one (write a row for each): 1\n  line 2: tee, navy\n")
	status, _, complaint = take("garment,colour,cost\ntee,navy,4.25\n")
	require.Equal(t, 1, status)
	require.Contains(t, complaint, "no row of your garments names both colour and size, as each cost and item number must (line 2: tee, navy)")

	status, out, complaint = take("garment,colour,size,cost,availability\ntee,navy,M,4.30,discontinued\n", "--json")
	require.Zero(t, status, complaint)
	var said struct {
		Changes []priceJSON `json:"changes"`
		Stored  bool        `json:"stored"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &said))
	require.True(t, said.Stored)
	require.Equal(t, []priceJSON{{Garment: "tee", Colour: "navy", Size: "M", Number: "T1", Was: 425, Cost: 430,
		Supply: "discontinued"}}, said.Changes)

	status, out, complaint = say(t, home, "catalogue", "export")
	require.Zero(t, status, complaint)
	require.Equal(t, "garment,colour,size,item_number,cost,availability\ntee,navy,L,T2,4.40,\ntee,navy,M,T1,4.30,discontinued\n", out)
	shop, err := books.ReadShop(home)
	require.NoError(t, err)
	for k, want := range map[programme.SKU]programme.Money{{Garment: "tee", Colour: "navy", Size: "M"}: 430,
		{Garment: "tee", Colour: "navy", Size: "L"}: 440, {Garment: "tee", Colour: "black", Size: "M"}: 390} {
		cost, ok := shop.BlankCost(k)
		require.True(t, ok)
		require.Equal(t, want, cost, k)
	}
	_, out, _ = say(t, home, "check")
	require.Contains(t, out, "look  tee/navy/M is discontinued by its supplier")
	after, err := os.ReadFile(filepath.Join(home, books.ShopFile))
	require.NoError(t, err)
	require.Equal(t, text, after)
}
