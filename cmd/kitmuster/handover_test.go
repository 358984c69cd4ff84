package main

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
)

// bakeryHome is a shop's folder with one client, harbour, and its staff.
func bakeryHome(t testing.TB) string {
	t.Helper()
	home := t.TempDir()
	text, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), text, 0o600))
	programme, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	ctx := context.Background()
	b, err := books.Create(ctx, home)
	require.NoError(t, err)
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("harbour", programme) }))
	require.NoError(t, b.Close())
	mustKit(t, home, "roster", "import", "harbour", "../../testdata/rosters/base.csv", "--as-of", "2026-03-09")
	return home
}

// content is every row of the shop's database as text.
func content(t testing.TB, home string) string {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(home, books.DatabaseFile)+"?mode=ro")
	require.NoError(t, err)
	defer db.Close()
	var b strings.Builder
	for _, table := range []string{"client", "person", "movement", "import", "stock", "proposal"} {
		addRows(t, db, table, &b)
	}
	return b.String()
}

func addRows(t testing.TB, db *sql.DB, table string, b *strings.Builder) {
	t.Helper()
	rows, err := db.Query("SELECT * FROM " + table + " ORDER BY 1, 2")
	require.NoError(t, err)
	defer func() { _ = rows.Close() }()
	cols, err := rows.Columns()
	require.NoError(t, err)
	for rows.Next() {
		cells, into := make([]any, len(cols)), make([]any, len(cols))
		for k := range cells {
			into[k] = &cells[k]
		}
		require.NoError(t, rows.Scan(into...))
		fmt.Fprintln(b, table, cells)
	}
	require.NoError(t, rows.Err())
}

const day = "2026-03-09"

func TestMalformedFilesChangeNothing(t *testing.T) {
	home := bakeryHome(t)
	before := content(t, home)
	for _, kind := range []string{"roster", "ledger", "stock"} {
		files, err := filepath.Glob("../../testdata/malformed/" + kind + "/*")
		require.NoError(t, err)
		require.NotEmpty(t, files)
		long := filepath.Join(t.TempDir(), "ten-megabytes.csv")
		require.NoError(t, os.WriteFile(long, bytes.Repeat([]byte("x"), 10<<20), 0o600))
		for _, f := range append(files, long) {
			args := []string{kind, "import", "harbour", f, "--as-of", day}
			if kind == "stock" {
				args = []string{kind, "import", f, "--as-of", day}
			}
			status, out, errs := kit(t, home, args...)
			require.Equal(t, exitWork, status, f)
			require.Empty(t, out, f)
			require.Equal(t, 1, strings.Count(errs, "\n"), "one clear error: %s", errs)
			require.Contains(t, errs, filepath.Base(f))
			require.Contains(t, errs, "Nothing was imported.")
		}
	}
	require.Equal(t, before, content(t, home))
}

func write(t testing.TB, home, name, text string) string {
	t.Helper()
	path := filepath.Join(home, name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

const pieces = "date,movement,staff_id,garment,colour,size,pieces,reason,ref\n" +
	"2025-03-03,issued,0001,polo,navy,M,3,,\n2025-03-03,issued,0001,apron,,,2,,\n2025-09-01,ended,0001,polo,navy,M,1,worn,\n"

func TestAFileTwiceAndItsOwnExportChangeNothing(t *testing.T) {
	home := bakeryHome(t)
	ledger := write(t, home, "pieces.csv", pieces)
	stock := write(t, home, "stock.csv", "as_of,kind,code,colour,size,pieces,expected_on,client,made_on\n2026-03-02,blank,polo,navy,M,12,,,\n2026-03-02,blank,polo,navy,M,24,2026-03-20,,\n2026-03-02,finished,polo,navy,L,2,,harbour,\n2026-03-02,transfer,harbour-mark,,,40,,,2026-01-10\n")
	require.Contains(t, mustKit(t, home, "ledger", "import", "harbour", ledger, "--as-of", day),
		"3 new, 0 known already")
	require.Contains(t, mustKit(t, home, "stock", "import", stock, "--as-of", day), "4 new, 0 known already")
	before := content(t, home)
	require.Contains(t, mustKit(t, home, "roster", "import", "harbour", "../../testdata/rosters/base.csv", "--as-of",
		day), "nothing was changed")
	require.Contains(t, mustKit(t, home, "ledger", "import", "harbour", ledger, "--as-of", day),
		"0 new, 3 known already")
	require.Contains(t, mustKit(t, home, "stock", "import", stock, "--as-of", day), "nothing was changed")
	for _, kind := range []string{"roster", "ledger"} {
		out := write(t, home, kind+"-out.csv", mustKit(t, home, kind, "export", "harbour"))
		require.Contains(t, mustKit(t, home, kind, "import", "harbour", out, "--as-of", day), "nothing was changed")
	}
	out := write(t, home, "stock-out.csv", mustKit(t, home, "stock", "export"))
	require.Contains(t, mustKit(t, home, "stock", "import", out, "--as-of", day), "nothing was changed")
	require.Equal(t, before, content(t, home))
}

func TestADryRunShowsEverythingAndChangesNothing(t *testing.T) {
	home := bakeryHome(t)
	before := content(t, home)
	out := mustKit(t, home, "roster", "import", "harbour", "../../testdata/rosters/54-full-list-half.csv", "--full",
		"--dry-run", "--as-of", day)
	require.Contains(t, out, "4 leave, 5 unchanged")
	require.Contains(t, out, "needs --yes")
	mustKit(t, home, "ledger", "import", "harbour", write(t, home, "p.csv", pieces), "--dry-run", "--as-of", day)
	require.Equal(t, before, content(t, home))
}

func TestAQuarterLeavingNeedsAYes(t *testing.T) {
	home := bakeryHome(t)
	before := content(t, home)
	args := []string{"roster", "import", "harbour", "../../testdata/rosters/54-full-list-half.csv", "--full",
		"--as-of", day}
	status, _, errs := kit(t, home, args...)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "4 of 9 people would leave at once")
	require.Contains(t, errs, "0010 Ines Juniperson", "who would leave is shown")
	require.Equal(t, before, content(t, home))
	require.Contains(t, mustKit(t, home, append(args, "--yes")...), "4 leave")
}

func TestKnownPeopleUnderNewNumbersNeedAYes(t *testing.T) {
	home := bakeryHome(t)
	before := content(t, home)
	args := []string{"roster", "import", "harbour", "../../testdata/rosters/62-new-numbers.csv", "--as-of", day}
	status, _, errs := kit(t, home, args...)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "7001 Ada Brackenholt: is this 0001?")
	require.Contains(t, errs, "2 of the people")
	require.Equal(t, before, content(t, home))
	require.Contains(t, mustKit(t, home, append(args, "--yes")...), "2 join")
}

func TestGoodRowsAreTakenAndTheRestIsMended(t *testing.T) {
	home := bakeryHome(t)
	list := write(t, home, "staff.csv", "staff_id,name,role,start_date,size_top\n0011,Jory Kettlesing,barista,2026-03-02,L\n0012,Kezia Larkfield,barrista,2026-03-02,M\n")
	out := mustKit(t, home, "roster", "import", "harbour", list, "--accept-good", "--as-of", day)
	mend := filepath.Join(home, "staff-to-mend.csv")
	require.Contains(t, out, mend)
	text, err := os.ReadFile(mend)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(mend, bytes.Replace(text, []byte("barrista,2026"), []byte("barista,2026"), 1),
		0o600))
	require.Contains(t, mustKit(t, home, "roster", "import", "harbour", mend, "--as-of", day), "1 joins")
	status, _, errs := kit(t, home, "roster", "import", "harbour", mend, "--full", "--yes", "--as-of", day)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "not a full list")

	stock := write(t, home, "stock.csv",
		"as_of,kind,code,colour,size,pieces\n2026-03-02,blank,polo,navy,M,12\n2026-03-02,blank,polo,navy,17,9\n")
	mustKit(t, home, "stock", "import", stock, "--accept-good", "--as-of", day)
	mend = filepath.Join(home, "stock-to-mend.csv")
	text, err = os.ReadFile(mend)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(mend, bytes.Replace(text, []byte("navy,17"), []byte("navy,XL"), 1), 0o600))
	mustKit(t, home, "stock", "import", mend, "--as-of", day)
	exported := mustKit(t, home, "stock", "export")
	require.Contains(t, exported, "navy,M,12", "mended rows stand beside the good ones")
	require.Contains(t, exported, "navy,XL,9")
}

// Where the file to mend cannot be written, as under a name that becomes too long, the good rows are taken and it is
// said.
func TestGoodRowsAreTakenAlsoWhereTheRestCannotBeWritten(t *testing.T) {
	home := bakeryHome(t)
	name := strings.Repeat("s", 248) + ".csv"
	list := write(t, home, name, "staff_id,name,role,start_date,size_top\n0011,Jory Kettlesing,barista,2026-03-02,L\n0012,Kezia Larkfield,barrista,2026-03-02,M\n")
	status, _, errs := kit(t, home, "roster", "import", "harbour", list, "--accept-good", "--as-of", day)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "the rows without an error are taken")
	require.Contains(t, errs, "mend them in "+list)
	require.Contains(t, mustKit(t, home, "roster", "list", "harbour", "--as-of", day), "Jory Kettlesing")
}

func TestPastOrdersBecomeAnAssumedLedger(t *testing.T) {
	home := bakeryHome(t)
	orders := write(t, home, "orders.csv",
		"date,garment,colour,size,pieces,ref\n2025-05-05,polo,navy,M,6,A1\n2025-05-05,polo,navy,3XL,2,A1\n")
	out := mustKit(t, home, "ledger", "import", "harbour", orders, "--orders", "--as-of", day)
	require.Contains(t, out, "Not placed: 2 of 2 polo/navy/3XL")
	before := content(t, home)
	require.Contains(t, mustKit(t, home, "ledger", "import", "harbour", orders, "--orders", "--as-of", day),
		"nothing was changed")
	require.Equal(t, before, content(t, home))
}

func TestWrongUseIsToldApart(t *testing.T) {
	home := bakeryHome(t)
	for _, args := range [][]string{
		{"roster", "import", "harbour"}, {"roster", "import", "harbour", "a", "b"}, {"roster", "take"},
		{"roster", "import", "harbour", "x.csv", "--dates", "sideways"},
		{"roster", "import", "harbour", "x.csv", "--map", "nonsense"},
		{"ledger", "import", "harbour", "x.csv", "--as-of", "soon"}, {"stock", "import", "--nonsense"},
	} {
		status, _, errs := kit(t, home, args...)
		require.Equal(t, exitUsage, status, "%v: %s", args, errs)
	}
	status, _, errs := kit(t, home, "roster", "import", "harbour", filepath.Join(home, "nowhere.csv"))
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "there is no file")
}

// BenchmarkLedgerImport100k takes 100,000 rows into a new shop, database and
// all; .ci/import-speed compares it with the import of the sqlite3 shell.
func BenchmarkLedgerImport100k(b *testing.B) {
	var text strings.Builder
	text.WriteString("date,movement,staff_id,garment,colour,size,pieces,reason,ref\n")
	for i := range 100_000 {
		d := time.Date(2023, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, i/100)
		fmt.Fprintf(&text, "%s,issued,%04d,polo,navy,M,1,,R%d\n", d.Format(time.DateOnly), 1+i%10, i)
	}
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		home := bakeryHome(b)
		file := write(b, home, "many.csv", text.String())
		b.StartTimer()
		mustKit(b, home, "ledger", "import", "harbour", file, "--as-of", day)
	}
}
