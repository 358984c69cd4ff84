package main

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// withoutImports drops the rows of hand-overs, which tell the time.
func withoutImports(content string) string {
	return regexp.MustCompile(`(?m)^import .*\n`).ReplaceAllString(content, "")
}

// The number of pieces may stand at the garment, as at lines of proposals and orders.
func TestPiecesMayStandAtTheGarment(t *testing.T) {
	home := bakeryHome(t)
	require.Contains(t, mustKit(t, home, "issue", "harbour", "0001", "polo/navy/M=3", "--on", "2024-06-03"),
		"Issued 3 × Cotton polo, navy, M to 0001")
	require.Contains(t, mustKit(t, home, "end", "harbour", "0001", "polo=2", "--reason", "worn", "--on", "2024-11-04"),
		"Ended 2 × Cotton polo, navy, M of 0001")
	for garment, says := range map[string]string{
		"polo=two": `read "polo=two"; write it as GARMENT=PIECES`,
		"polo=0":   "the number of pieces is 0; give 1 to 1000",
	} {
		_, _, errs := kit(t, home, "issue", "harbour", "0001", garment)
		require.Contains(t, errs, says)
	}
	_, _, errs := kit(t, home, "issue", "harbour", "0001", "polo=2", "--pieces", "3")
	require.Contains(t, errs, "given twice")
}

func TestEveryEntryCanBeTakenBackLastFirst(t *testing.T) {
	home := bakeryHome(t)
	stock := write(t, home, "stock.csv", "as_of,kind,code,colour,size,pieces,expected_on,client\n2026-03-02,blank,polo,navy,M,12,,\n2026-03-02,blank,polo,navy,M,24,2026-03-20,\n2026-03-02,finished,polo,navy,M,2,,harbour\n")
	mustKit(t, home, "stock", "import", stock, "--as-of", day)
	states := []string{withoutImports(content(t, home))}
	entries := [][]string{
		{"issue", "harbour", "0001", "polo", "--pieces", "3", "--on", "2024-06-03"},
		{"issue", "harbour", "Ada Brackenholt", "Bib apron", "--on", "2024-06-03", "--washes", "4.5"},
		{"end", "harbour", "0001", "polo", "--reason", "worn", "--on", "2024-11-04"},
		{"count", "harbour", "0001", "polo/navy/M", "1", "--on", "2025-01-06"},
		{"hire", "harbour", "Kezia Larkfield", "--role", "Baker", "--start", "2026-03-02", "--size", "top=x-large"},
		{"change", "harbour", "Kezia Larkfield", "--role", "barista", "--size", "head=7.25", "--site", "Mill Lane"},
		{"leave", "harbour", "0002", "--on", "2026-03-31"},
	}
	said := []string{
		"Issued 3 × Cotton polo, navy, M to 0001 Ada Brackenholt on 2024-06-03.\nNote: 2 pieces taken off the shelf of finished stock.\n",
		"Issued 1 × Bib apron, black to 0001 Ada Brackenholt on 2024-06-03.\n",
		"Ended 1 × Cotton polo, navy, M of 0001 Ada Brackenholt on 2024-11-04 (worn).\n",
		"Counted 1 × Cotton polo, navy, M with 0001 Ada Brackenholt on 2025-01-06.\n",
		"KL260302-1dd1 Kezia Larkfield starts as baker on 2026-03-02.\nNote: no size of bottom is known yet; enter it with 'kitmuster change'.\n",
		"KL260302-1dd1 Kezia Larkfield: role barista instead of baker, site Mill Lane, size head 7 1/4, size top XL.\n",
		"0002 Bodhi Cresswater: last day 2026-03-31.\n",
	}
	said[5] = strings.Replace(said[5], ", size top XL", "", 1)
	for i, e := range entries {
		require.Equal(t, said[i], mustKit(t, home, e...))
		states = append(states, withoutImports(content(t, home)))
	}
	mustKit(t, home, "receive", "blank", "polo/navy/M", "20", "--on", "2025-03-10")
	require.Contains(t, mustKit(t, home, "stock", "export"), "polo,navy,M,32,,,")
	require.Contains(t, mustKit(t, home, "stock", "export"), "polo,navy,M,4,2026-03-20,,")
	mustKit(t, home, "undo")
	for i := range slices.Backward(entries) {
		require.Equal(t, states[i+1], withoutImports(content(t, home)))
		require.Contains(t, mustKit(t, home, "undo", "harbour"), "Taken back: ")
	}
	require.Equal(t, states[0], withoutImports(content(t, home)))
	status, _, errs := kit(t, home, "undo", "harbour")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "no entry by hand")
}

func TestTwoEqualEntriesAreTwoPieces(t *testing.T) {
	home := bakeryHome(t)
	for range 2 {
		mustKit(t, home, "issue", "harbour", "0001", "polo", "--on", "2024-06-03")
	}
	require.Equal(t, 2, strings.Count(mustKit(t, home, "ledger", "export", "harbour"), "issued"))
}

func TestWrongEntriesSayWhatWouldBeRightAndEnterNothing(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "issue", "harbour", "0001", "polo", "--on", "2024-06-03")
	mustKit(t, home, "issue", "harbour", "0001", "polo/navy/L", "--on", "2024-06-03")
	mustKit(t, home, "leave", "harbour", "0009", "--on", "2024-01-31")
	before := content(t, home)
	for _, c := range []struct {
		args string
		want string
	}{
		{"issue harbour 0001 pole",
			`read "pole", but there is no such garment in the shop's catalogue; polo comes nearest`},
		{"issue harbour 0001 polo/mauve/M",
			`read "mauve", but there is no such colour of polo; write one of navy, white`},
		{"issue harbour 0001 polo/navy/9XL", `read "9XL", but the sizes are XS, S, M, L, XL, 2XL, 3XL (polo)`},
		{"issue harbour 0002 trouser", `the size is missing; trouser comes in`},
		{"issue harbour Adda_Brackenholt polo", `did you mean "Ada Brackenholt"?`},
		{"issue harbour 0009 polo/white/L", `left on 2024-01-31`},
		{"end harbour 0001 polo --reason worn", `holds 1 polo/navy/L, 1 polo/navy/M`},
		{"end harbour 0001 polo/navy/L --pieces 2 --reason worn", `holds 1 of polo/navy/L`},
		{"end harbour 0002 polo --reason worn", `holds nothing that the ledger knows of`},
		{"hire harbour Ada_Brackenholt --role baker", `give a staff number with --number`},
		{"hire harbour Kezia_Larkfield --role welder", `write one of barista, baker, supervisor`},
		{"hire harbour Kezia_Larkfield --role baker --size top=huge", `but the sizes are`},
		{"hire harbour Kezia_Larkfield --role baker --number 0003", `is that of 0003 Calla Dunmarrow already`},
		{"leave harbour 0001 --on 2020-01-01", `started on 2021-03-15`},
		{"receive finished polo/navy/L 3", `say whose they are with --client`},
		{"receive transfer unicorn 3", `write one of harbour-mark`},
		{"issue nobody 0001 polo", `nobody`},
	} {
		args := strings.Fields(c.args)
		for i := range args {
			args[i] = strings.ReplaceAll(args[i], "_", " ")
		}
		status, out, errs := kit(t, home, args...)
		require.Equal(t, exitWork, status, c.args)
		require.Empty(t, out)
		require.Contains(t, errs, c.want, c.args)
	}
	require.Equal(t, before, content(t, home))
	for _, args := range []string{"issue harbour 0001", "issue harbour 0001 polo --pieces 0",
		"issue harbour 0001 polo --on 2999-01-01", "end harbour 0001 polo --reason bored",
		"count harbour 0001 polo many", "change harbour 0001", "receive socks a 1"} {
		status, _, errs := kit(t, home, strings.Fields(args)...)
		require.Equal(t, exitUsage, status, "%s: %s", args, errs)
	}
}

func TestUndoRefusesWhatHasChangedSince(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "change", "harbour", "0001", "--role", "baker")
	mustKit(t, home, "roster", "import", "harbour", "../../testdata/rosters/base.csv", "--as-of", day)
	status, _, errs := kit(t, home, "undo", "harbour")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "the roster says something else about 0001 since")
}

func TestUndoSaysFirstWhatItWouldTakeBack(t *testing.T) {
	home := bakeryHome(t)
	require.Contains(t, mustKit(t, home, "ledger", "import", "harbour", write(t, home, "pieces.csv", pieces), "--as-of",
		day), "new")
	before := mustKit(t, home, "ledger", "export", "harbour")
	require.Contains(t, mustKit(t, home, "undo", "harbour", "--file", "--dry-run"),
		"Would be taken back: pieces.csv, with the 3 rows that it had brought")
	mustKit(t, home, "end", "harbour", "0001", "polo/navy/M", "--reason", "worn", "--on", day)
	after := mustKit(t, home, "ledger", "export", "harbour")
	out := strings.ToLower(mustKit(t, home, "undo", "harbour", "--dry-run"))
	require.Contains(t, out, "would be taken back: ")
	require.Contains(t, out, "nothing was taken back")
	require.Contains(t, out, "of 0001 ada brackenholt on", "by name, which the store does not keep with the entry")
	require.Contains(t, mustKit(t, home, "log", "harbour"), "of 0001 Ada Brackenholt on")
	require.Equal(t, after, mustKit(t, home, "ledger", "export", "harbour"))
	mustKit(t, home, "undo", "harbour")
	require.Equal(t, before, mustKit(t, home, "ledger", "export", "harbour"))
}

func TestLogExplainsWhatAPersonHolds(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "ledger", "import", "harbour", write(t, home, "pieces.csv", pieces), "--as-of", day)
	out := mustKit(t, home, "log", "harbour", "Ada Brackenholt", "--as-of", day)
	for _, want := range []string{"0001 Ada Brackenholt, barista, since 2021-03-15", "Cotton polo",
		"Half such pieces end by", "2025-09-01  ended", "worn"} {
		require.Contains(t, out, want)
	}
	var page struct {
		Format int
		Pieces []struct {
			Garment string
			Washes  float64
		}
		Movements []struct{ Movement string }
	}
	require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "log", "harbour", "0001", "--as-of", day, "--json")),
		&page))
	require.Equal(t, 1, page.Format)
	require.Len(t, page.Pieces, 4)
	require.Positive(t, page.Pieces[0].Washes)
	require.Len(t, page.Movements, 3)
	counts := write(t, home, "counts.csv", "date,movement,staff_id,garment,colour,size,pieces,reason,ref\n"+
		"2026-02-16,counted,0001,polo,navy,M,2,,\n2026-02-16,counted,0001,apron,,,1,,\n")
	mustKit(t, home, "ledger", "import", "harbour", counts, "--as-of", day)
	entries := mustKit(t, home, "log", "harbour")
	require.Contains(t, entries, "ledger from pieces.csv")
	require.Contains(t, entries, "count from counts.csv")
}

func TestTheShellCompletesClientsStaffAndGarments(t *testing.T) {
	home := bakeryHome(t)
	for args, want := range map[string]string{
		"issue|":                      "harbour",
		"issue|harbour|":              "0001\tAda Brackenholt",
		"issue|harbour|0001|":         "polo/navy/M\tCotton polo",
		"end|harbour|Fenn Gorsewick|": "polo/navy/XL\tCotton polo",
		"hire|harbour|X|--role|":      "supervisor\tSupervisor",
		"receive|transfer|":           "harbour-mark",
		"receive|blank|":              "polo/white/2XL\tCotton polo",
		"roster|import|":              "harbour",
		"undo|":                       "harbour",
	} {
		out := mustKit(t, home, append([]string{"__complete"}, strings.Split(args, "|")...)...)
		require.Contains(t, out, want, args)
	}
	mustKit(t, home, "leave", "harbour", "0009", "--on", "2024-01-31")
	require.NotContains(t, mustKit(t, home, "__complete", "issue", "harbour", ""), "Hollis",
		"who has left is not offered")
}

func TestLeaversAreForgottenAndStaySo(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "leave", "harbour", "0002", "--on", "2022-08-31")
	require.Contains(t, mustKit(t, home, "roster", "forget", "harbour"), "are removed with --yes")
	require.Contains(t, mustKit(t, home, "roster", "list", "harbour", "--all"), "Bodhi")
	mustKit(t, home, "roster", "forget", "harbour", "--yes")
	require.NotContains(t, content(t, home), "Bodhi", "no name stays anywhere in the database")
	before := content(t, home)
	out := write(t, home, "out.csv", mustKit(t, home, "roster", "export", "harbour"))
	require.Contains(t, mustKit(t, home, "roster", "import", "harbour", out, "--full", "--as-of", day),
		"nothing was changed")
	old := write(t, home, "old.csv",
		"staff_id,name,role,start_date,end_date\n0002,Bodhi Cresswater,barista,2022-06-01,2022-08-31\n")
	mustKit(t, home, "roster", "import", "harbour", old, "--as-of", day)
	require.Equal(t, before, content(t, home), "an old list does not bring a name back")
}

// A last day is taken back though something was entered since, and the pieces count again.
func TestWhoStaysAfterAll(t *testing.T) {
	home := bakeryHome(t)
	before := mustKit(t, home, "log", "harbour", "0002", "--as-of", "2026-06-01")
	mustKit(t, home, "leave", "harbour", "0002", "--on", "2026-03-31")
	mustKit(t, home, "hire", "harbour", "Kezia Larkfield", "--role", "baker")
	require.NotEqual(t, before, mustKit(t, home, "log", "harbour", "0002", "--as-of", "2026-06-01"))
	require.Equal(t, "0002 Bodhi Cresswater: stays; the last day, 2026-03-31, is taken back.\n",
		mustKit(t, home, "leave", "harbour", "0002", "--stays"))
	require.Equal(t, before, mustKit(t, home, "log", "harbour", "0002", "--as-of", "2026-06-01"))
	require.Contains(t, mustKit(t, home, "undo", "harbour"), "Taken back: 0002")
	status, _, errs := kit(t, home, "leave", "harbour", "0002", "--stays", "--on", "2026-04-01")
	require.Equal(t, exitUsage, status)
	require.Contains(t, errs, "stays")
}

// One who asks for it is forgotten by name, once their last day is over.
func TestOnePersonIsForgottenByName(t *testing.T) {
	home := bakeryHome(t)
	status, _, complaint := kit(t, home, "roster", "forget", "harbour", "Bodhi Cresswater", "--yes")
	require.Equal(t, exitWork, status)
	require.Contains(t, complaint, "Bodhi Cresswater (0002) is still on the list of staff; enter the last day first: 'kitmuster leave harbour 0002'")
	mustKit(t, home, "leave", "harbour", "0002")
	require.Contains(t, mustKit(t, home, "roster", "forget", "harbour", "0002"), "name and site are removed with --yes")
	require.Contains(t, content(t, home), "Bodhi")
	require.Contains(t, mustKit(t, home, "roster", "forget", "harbour", "bodhi cresswater", "--yes"),
		"Removed the name of the person with the number 0002")
	require.NotContains(t, content(t, home), "Bodhi")
	_, _, complaint = kit(t, home, "roster", "forget", "harbour", "0002", "--yes")
	require.Contains(t, complaint, "is forgotten already")
}
