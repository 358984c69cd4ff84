package record_test

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// Days of the tests, in order.
var (
	hired  = programme.NewDate(2021, 3, 15)
	spring = programme.NewDate(2025, 4, 1)
	summer = programme.NewDate(2025, 7, 1)
	autumn = programme.NewDate(2025, 10, 1)
)

var (
	poloM = programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}
	poloL = programme.SKU{Garment: "polo", Colour: "navy", Size: "L"}
)

// shelf is some of everything: blanks here and on order, finished pieces,
// transfers of two ages.
var shelf = []programme.StockLine{
	{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M", Pieces: 12, AsOf: spring},
	{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M", Pieces: 24, AsOf: spring, Expected: summer},
	{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M", Pieces: 6, AsOf: spring, Expected: autumn},
	{Kind: programme.Finished, Client: "harbour", Code: "polo", Colour: "navy", Size: "M", Pieces: 2, AsOf: spring},
	{Kind: programme.Transfer, Code: "harbour-mark", Pieces: 40, AsOf: spring, Made: hired},
	{Kind: programme.Transfer, Code: "harbour-mark", Pieces: 10, AsOf: spring, Made: spring},
}

// newBooks is the shop of testdata/bakery with its client harbour, a second
// client, four people each, some pieces in their hands and some on the shelf.
func newBooks(t testing.TB) *books.Books {
	t.Helper()
	text, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	require.NoError(t, err)
	shop, err := setup.ReadShop("shop.yaml", text)
	require.NoError(t, err)
	harbour, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	ctx := context.Background()
	home := t.TempDir()
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	require.NoError(t, st.InTx(ctx, func(tx *store.Tx) error {
		for _, client := range []string{"harbour", "quay"} {
			require.NoError(t, tx.PutClient(client, harbour))
			require.NoError(t, tx.PutPeople(client, staff()))
			_, _, err := tx.AddMovements(client, []programme.Movement{
				{Date: spring, Kind: programme.Issued, StaffID: "0001", SKU: poloM, Pieces: 3},
				{Date: spring, Kind: programme.Issued, StaffID: "0002", SKU: poloL, Pieces: 2},
			}, 0)
			require.NoError(t, err)
		}
		return tx.ReplaceStock(shelf)
	}))
	return books.With(home, shop, st)
}

func staff() []programme.Person {
	return []programme.Person{
		{StaffID: "0001", Name: "Ada Brackenholt", Role: "barista", Site: "Harbour", Start: hired, Sizes: map[string]string{"top": "M", "head": "7 1/4"}},
		{StaffID: "0002", Name: "Bodhi Cresswater", Role: "barista", Site: "Harbour", Start: hired, Sizes: map[string]string{"top": "L"}},
		{StaffID: "0003", Name: "Calla Dunmarrow", Role: "baker", Start: hired}, // nothing is known of her sizes
		{StaffID: "0004", Name: "Dario Eastlake", Role: "baker", Start: hired, End: spring, Sizes: map[string]string{"top": "2XL", "bottom": "38/32"}},
	}
}

// content is all that the entries of this package could change.
type content struct {
	People    [2][]programme.Person
	Movements [2][]programme.Movement
	Imports   [3][]store.Import
	Stock     []programme.StockLine
}

func contentOf(t require.TestingT, b *books.Books) (c content) {
	ctx := context.Background()
	var err error
	for i, client := range []string{"harbour", "quay", ""} {
		c.Imports[i], err = b.Store.Imports(ctx, client, 1000)
		require.NoError(t, err)
		if client == "" {
			continue
		}
		c.People[i], err = b.Store.People(ctx, client)
		require.NoError(t, err)
		c.Movements[i], err = b.Store.Movements(ctx, client)
		require.NoError(t, err)
	}
	c.Stock, err = b.Store.Stock(ctx)
	require.NoError(t, err)
	return c
}

// breakAtTheEnd makes the last statement of every entry fail.
func breakAtTheEnd(t testing.TB, b *books.Books) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(b.Home, books.DatabaseFile))
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TRIGGER broken BEFORE UPDATE ON import BEGIN SELECT RAISE(ABORT, 'the disk is full'); END;
		CREATE TRIGGER stuck BEFORE DELETE ON import BEGIN SELECT RAISE(ABORT, 'the disk is full'); END`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
}
