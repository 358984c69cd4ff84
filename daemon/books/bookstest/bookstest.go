// Package bookstest gives tests the open books of a small shop, and all that
// stands in them to compare.
package bookstest

import (
	"bytes"
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
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// Days of the books, in order: all four people had started on the first, the
// ledger and the stock are of the second.
var (
	Hired  = programme.NewDate(2021, 3, 15)
	Spring = programme.NewDate(2025, 4, 1)
	Summer = programme.NewDate(2025, 7, 1)
	Autumn = programme.NewDate(2025, 10, 1)
)

// What people hold: 0001 three of the first, 0002 two of the second.
var (
	PoloM = programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}
	PoloL = programme.SKU{Garment: "polo", Colour: "navy", Size: "L"}
)

// Shelf is some of everything: blanks here and on order, finished pieces,
// transfers of two ages.
var Shelf = []programme.StockLine{
	{Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M"}, Pieces: 12, AsOf: Spring},
	{Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M"}, Pieces: 24, AsOf: Spring,
		Expected: Summer},
	{Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M"}, Pieces: 6, AsOf: Spring,
		Expected: Autumn},
	{Goods: programme.Goods{Kind: programme.Finished, Client: "harbour", Code: "polo", Colour: "navy", Size: "M"},
		Pieces: 2, AsOf: Spring},
	{Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-mark"}, Pieces: 40, AsOf: Spring, Made: Hired},
	{Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-mark"}, Pieces: 10, AsOf: Spring, Made: Spring},
}

// New returns the shop of testdata/bakery with its client harbour, a second client
// quay that has agreed the same, Staff and some pieces in the hands of each,
// and the Shelf. It is for packages two folders below the top.
func New(t testing.TB) *books.Books {
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
			require.NoError(t, tx.PutPeople(client, Staff()))
			_, _, err := tx.AddMovements(client, []programme.Movement{
				{Date: Spring, Kind: programme.Issued, StaffID: "0001", SKU: PoloM, Pieces: 3},
				{Date: Spring, Kind: programme.Issued, StaffID: "0002", SKU: PoloL, Pieces: 2},
			}, 0)
			require.NoError(t, err)
		}
		return tx.ReplaceStock(Shelf)
	}))
	return books.With(home, shop, st)
}

// Put stores a client of an invented world: programme, roster and ledger.
func Put(tx *store.Tx, c *simulate.Case) error {
	if err := tx.PutClient(c.Client.Code, setup.WriteClient(&c.Client)); err != nil {
		return err
	}
	if err := tx.PutPeople(c.Client.Code, c.Roster); err != nil {
		return err
	}
	_, _, err := tx.AddMovements(c.Client.Code, c.Ledger, 0)
	return err
}

// Staff returns the roster of both clients, ordered by staff number.
func Staff() []programme.Person {
	return []programme.Person{
		{StaffID: "0001", Name: "Ada Brackenholt", Role: "barista", Site: "Harbour", Start: Hired,
			Sizes: map[string]string{"top": "M", "head": "7 1/4"}},
		{StaffID: "0002", Name: "Bodhi Cresswater", Role: "barista", Site: "Harbour", Start: Hired,
			Sizes: map[string]string{"top": "L"}},
		{StaffID: "0003", Name: "Calla Dunmarrow", Role: "baker", Start: Hired}, // nothing is known of her sizes
		{StaffID: "0004", Name: "Dario Eastlake", Role: "baker", Start: Hired, End: Spring,
			Sizes: map[string]string{"top": "2XL", "bottom": "38/32"}},
	}
}

// Content is all that hand-overs and entries can change, by client.
type Content struct {
	People    map[string][]programme.Person
	Movements map[string][]programme.Movement
	Imports   map[string][]store.Import // those of no client under ""
	Stock     []programme.StockLine
}

// Of reads what stands in the books.
func Of(t require.TestingT, b *books.Books) Content {
	ctx := context.Background()
	c := Content{map[string][]programme.Person{}, map[string][]programme.Movement{}, map[string][]store.Import{}, nil}
	for _, client := range []string{"harbour", "quay", ""} {
		var err error
		c.Imports[client], err = b.Store.Imports(ctx, client, 1000)
		require.NoError(t, err)
		c.People[client], err = b.Store.People(ctx, client)
		require.NoError(t, err)
		c.Movements[client], err = b.Store.Movements(ctx, client)
		require.NoError(t, err)
	}
	var err error
	c.Stock, err = b.Store.Stock(ctx)
	require.NoError(t, err)
	return c
}

// DiskFull is the error text of a statement that Break has broken.
const DiskFull = "the disk is full"

// Break makes statements fail from now on: "UPDATE ON import" or "INSERT ON
// person WHEN new.staff_id = '0011'".
func Break(t testing.TB, b *books.Books, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(b.Home, books.DatabaseFile))
	require.NoError(t, err)
	_, err = db.Exec("CREATE TRIGGER broken BEFORE " + statement + " BEGIN SELECT RAISE(ABORT, '" +
		DiskFull + "'); END")
	require.NoError(t, err)
	require.NoError(t, db.Close())
}

// BreakAt makes the n-th write (0 = the first) of the next entry fail, whatever it
// writes to; Mend takes that back.
func BreakAt(t testing.TB, b *books.Books, n int) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(b.Home, books.DatabaseFile))
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	_, err = db.Exec(`CREATE TABLE IF NOT EXISTS writes_left (n INTEGER); DELETE FROM writes_left; INSERT INTO writes_left VALUES (?)`, n)
	require.NoError(t, err)
	rows, err := db.Query(`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name <> 'writes_left'`)
	require.NoError(t, err)
	defer func() { require.NoError(t, rows.Close()) }()
	var tables []string
	for rows.Next() {
		var name string
		require.NoError(t, rows.Scan(&name))
		tables = append(tables, name)
	}
	require.NoError(t, rows.Err())
	require.NoError(t, rows.Close())
	for _, table := range tables {
		for _, op := range []string{"INSERT", "UPDATE", "DELETE"} {
			_, err = db.Exec(`CREATE TRIGGER IF NOT EXISTS count_` + op + `_` + table + ` BEFORE ` + op + ` ON "` + table + `" BEGIN
				UPDATE writes_left SET n = n - 1; SELECT RAISE(ABORT, '` + DiskFull + `') WHERE (SELECT n FROM writes_left) < 0; END`)
			require.NoError(t, err)
		}
	}
}

// Mend lets all writes pass again.
func Mend(t testing.TB, b *books.Books) { BreakAt(t, b, 1<<40) }

// NewInTwoCuts is New where harbour's baristas wear the polo in a ladies' cut too; more
// is put behind harbour's programme.
func NewInTwoCuts(t testing.TB, more string) *books.Books {
	t.Helper()
	b := New(t)
	polo, ok := b.Shop.Garment("polo")
	require.True(t, ok)
	ladies := *polo
	ladies.Code, ladies.Name, ladies.SizeFamily = "polo-ladies", "Ladies' polo", "ladies-top"
	b.Shop.Garments = append(b.Shop.Garments, ladies)
	text, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	const apron = "      - {garment: apron, colour: black, each: 2, wears_a_week: 5}\n"
	cut := bytes.Replace(text, []byte(apron),
		[]byte("      - {garment: polo-ladies, colour: navy, each: 3, wears_a_week: 5, cut_of: polo/navy}\n"+apron), 1)
	require.NotEqual(t, text, cut)
	require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		return tx.PutClient("harbour", append(cut, more...))
	}))
	return b
}
