package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
)

// typedGuide is the folder in which the README's guide was typed, and the part of
// that heading after it.
func typedGuide(t *testing.T, until string) string {
	t.Helper()
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	home := t.TempDir()
	t.Chdir(home)
	for _, heading := range []string{"## Your first client in ten minutes", until} {
		_, part, ok := strings.Cut(string(readme), heading)
		require.True(t, ok, heading)
		part, _, _ = strings.Cut(part, "\n## ")
		for _, block := range regexp.MustCompile("(?s)```(sh|csv) ?([a-z.]*)\n(.*?)```").FindAllStringSubmatch(part,
			-1) {
			if block[1] == "csv" {
				require.NoError(t, os.WriteFile(block[2], []byte(block[3]), 0o644))
				continue
			}
			for line := range strings.SplitSeq(strings.TrimSpace(block[3]), "\n") {
				typeLine(t, line)
			}
		}
	}
	return home
}

// What the README says of people who come, go and change is typed as written, after
// its guide, and ends with bags.
func TestThePeoplePartOfTheReadmeWorksAsWritten(t *testing.T) {
	home := typedGuide(t, "## When people come, change and go")
	lists, err := filepath.Glob(filepath.Join(home, books.JobsDir, "pick-*", "*-list.pdf"))
	require.NoError(t, err)
	require.NotEmpty(t, lists)
	tags, err := filepath.Glob(filepath.Join(home, books.JobsDir, "pick-*", "*-bag-tags.pdf"))
	require.NoError(t, err)
	require.NotEmpty(t, tags)
}

// namedBakery is the small shop with clients bakery and wrenmoor, whose people and
// garments are those of the help's examples.
func namedBakery(t *testing.T) string {
	t.Helper()
	home := bakeryHome(t)
	shop, err := os.ReadFile(filepath.Join(home, books.ShopFile))
	require.NoError(t, err)
	vest := "  - {code: vest, name: Road vest, fabric_class: high-visibility, size_family: top, supplier: blanks, colours: [yellow], protective: high-visibility, label_washes: 25, sizes: [{code: S, cost: 9.00}, {code: M, cost: 9.00}, {code: L, cost: 9.00}]}\n"
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile),
		bytes.Replace(shop, []byte("transfer_kinds:"), []byte(vest+"transfer_kinds:"), 1), 0o600))
	write(t, home, "bakery.yaml", "code: bakery\nname: Copper Hearth\nreissue_life_left: 0.2\ncustomer: {name: Nell Abara, email: nell@copperhearth.example}\nroles:\n  - code: baker\n    kit:\n      - {garment: polo, colour: navy, each: 3, wears_a_week: 5}\n      - {garment: apron, colour: black, each: 2, wears_a_week: 5}\n      - {garment: trouser, colour: grey, each: 2, wears_a_week: 5}\n")
	write(t, home, "wrenmoor.yaml", "code: wrenmoor\nname: Wrenmoor Grounds\ncustomer: {name: Odo Lent, email: odo@wrenmoor.example}\nprices: [{garment: vest, price: 30.00}]\nroles:\n  - code: crew\n    kit:\n      - {garment: vest, colour: yellow, each: 3, wears_a_week: 5}\n")
	people := write(t, home, "people.csv", "staff_id,name,role,start_date,size_top,size_bottom\n0001,Ada Brackenholt,baker,2021-03-15,M,30/32\n0002,Bodhi Cresswater,baker,2022-03-15,L,32/32\n")
	pieces := write(t, home, "held.csv", "date,movement,staff_id,garment,colour,size,pieces\n2024-01-01,issued,0001,polo,navy,M,3\n2024-01-01,issued,0001,apron,black,one,2\n2024-01-01,issued,0002,polo,navy,L,3\n")
	crew := write(t, home, "crew.csv", "staff_id,name,role,start_date,size_top\n1,Odo Lent,crew,2021-03-15,M\n2,Ula Wray,crew,2021-03-15,M\n3,Pim Stow,crew,2021-03-15,S\n")
	stock := write(t, home, "shelf.csv", "as_of,kind,code,colour,size,pieces,client\n2024-01-02,finished,polo,navy,M,4,bakery\n2024-01-02,finished,polo,navy,L,4,bakery\n2024-01-02,finished,apron,black,one,9,bakery\n")
	for _, args := range [][]string{
		{"programme", "apply", filepath.Join(home, "bakery.yaml")},
		{"programme", "apply", filepath.Join(home, "wrenmoor.yaml")},
		{"roster", "import", "bakery", people}, {"roster", "import", "wrenmoor", crew},
		{"ledger", "import", "bakery", pieces}, {"stock", "import", stock},
	} {
		mustKit(t, home, args...)
	}
	return home
}

// Three people start on Monday, and it is Friday at four: from an empty screen to
// bags in one command, with which garments to fetch, for whom, and what follows.
func TestThreeStartersToBagsInOneCommand(t *testing.T) {
	home := namedBakery(t)
	before := withoutImports(content(t, home))
	out := mustKit(t, home, "starter", "bakery", "Kezia Larkfield", "top=M", "Tove Ashlock", "top=L", "Ned Fenwick",
		"top=S", "--role", "baker", "--size", "bottom=30/32")
	require.Contains(t, out, "Kezia Larkfield starts as baker")
	require.Contains(t, out, "Pick list and bag tags are in ")
	dir := filepath.Join(home, books.JobsDir)
	list, tags := onlyFile(t, dir, "pick-*/*-list.pdf"), onlyFile(t, dir, "pick-*/*-bag-tags.pdf")
	text := pdfText(t, list)
	for _, want := range []string{"Pick list", "Copper Hearth", "Fetch from the shelf", "Kezia Larkfield",
		"3 × Cotton polo, navy, M", "2 × Bib apron, black", "Follows with proposal"} {
		require.Contains(t, text, want)
	}
	require.Contains(t, pdfText(t, tags), "Ned Fenwick")
	drafts := onlyFile(t, filepath.Join(home, books.DraftsDir), "*.eml")
	require.FileExists(t, drafts)

	out = mustKit(t, home, "starter", "bakery", "Kezia Larkfield", "--json")
	require.Contains(t, out, `"what"`)
	mustKit(t, home, "undo", "bakery")
	mustKit(t, home, "undo", "bakery")
	require.Equal(t, before, withoutImports(content(t, home)))
}

func onlyFile(t *testing.T, dir, pattern string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, pattern))
	require.NoError(t, err)
	require.Len(t, found, 1, pattern)
	return found[0]
}

// pdfText is the text of a PDF as poppler reads it.
func pdfText(t *testing.T, path string) string {
	t.Helper()
	out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
	require.NoError(t, err, "this test needs pdftotext (Debian: poppler-utils)")
	return string(out)
}

func TestEntriesAboutPeopleForOtherPrograms(t *testing.T) {
	home := namedBakery(t)
	for _, args := range [][]string{
		{"starter", "bakery", "Kezia Larkfield", "top=M"}, {"exchange", "bakery", "0001", "--size", "top=L"},
		{"away", "bakery", "0001", "--until", "2099-01-01"}, {"back", "bakery", "0001", "--last-day", "2024-01-05"},
		{"held", "no", "wrenmoor"},
	} {
		if args[0] == "starter" {
			args = append(args, "--role", "baker")
		}
		var d moveDocument
		require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, append(args, "--json", "--dry-run")...)), &d), args)
		require.Equal(t, 1, d.Format)
		require.True(t, d.Trial)
		require.Zero(t, d.Entry)
		require.NotEmpty(t, d.What)
		require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, append(args, "--json")...)), &d), args)
		require.NotZero(t, d.Entry)
		mustKit(t, home, "undo", args[1+strings.Count(args[0], "held")])
	}
}

func TestHeldClothingIsShownAnsweredAndOrdered(t *testing.T) {
	home := namedBakery(t)
	out := mustKit(t, home, "held")
	require.Contains(t, out, "wrenmoor")
	require.Contains(t, out, "Road vest")
	require.Contains(t, out, "25 washes")
	require.Contains(t, out, "Odo Lent, Ula Wray", "people, not their numbers")
	out = mustKit(t, home, "held", "yes", "wrenmoor", "vest/yellow/M")
	require.Contains(t, out, "accepted, in hands by")
	require.NotContains(t, mustKit(t, home, "held", "--as-of", "2100-01-01"), "no such")
	out = mustKit(t, home, "held", "wrenmoor")
	require.NotRegexp(t, `wrenmoor +\d+ +Road vest +yellow +M`, out, "it is not asked about again")
	require.Contains(t, out, "said yes to")
	require.Regexp(t, `(?m)^Ada Brackenholt +`, mustKit(t, home, "muster", "bakery"), "first to go, by name")
	require.Contains(t, mustKit(t, home, "orders"), "drafts")
	mail := mustKit(t, home, "round")
	_ = mail
	mustKit(t, home, "held", "no", "wrenmoor")
	require.Contains(t, mustKit(t, home, "held", "wrenmoor"), "Nothing waits for a person's yes.")
}

func TestWrongWordsAboutPeopleSayWhatWouldBeRight(t *testing.T) {
	home := namedBakery(t)
	before := content(t, home)
	for args, want := range map[string]string{
		"starter bakery top=M":                                  "stands before any name",
		"starter bakery":                                        "also wants NAME",
		"away bakery 0001 --wears-a-week 0":                     "give a number above 0",
		"back bakery 0001 polo":                                 "write it as GARMENT=PIECES",
		"exchange bakery 0001 --size L":                         "write it as kind=size",
		"exchange bakery 0001 --size top=L --on 2999-01-01":     "is still to come",
		"proposal accept 1 --on 2999-01-01":                     "is still to come",
		"proposal put-off 1 --until 2999-02-01 --on 2999-01-01": "is still to come",
		"orders sent --on 2999-01-01":                           "is still to come",
		"orders arrived 1 --on 2999-01-01":                      "is still to come",
		"back bakery 0001":                                      "has no last day",
		"exchange bakery 0001 --size top=M":                     "is entered already",
		"away bakery 0001 --from 2026-03-02 --until 2026-03-01": "is before the first",
		"away bakery 0001 --wears-a-week 30":                    "more than twice",
		"starter bakery Nobody role=king":                       "role in the programme",
		"held yes bakery":                                       "waits for a yes",
		"held yes wrenmoor polo":                                "does not wait for a yes",
	} {
		status, out, errs := kit(t, home, strings.Fields(args)...)
		require.NotEqual(t, exitDone, status, args)
		require.Empty(t, out)
		require.Contains(t, errs, want, args)
	}
	require.Equal(t, before, content(t, home))
}

func TestTheShellCompletesEntriesAboutPeople(t *testing.T) {
	home := namedBakery(t)
	for args, want := range map[string]string{
		"starter|":                             "bakery",
		"starter|bakery|Kezia Larkfield|":      "top=",
		"starter|bakery|Kezia Larkfield|top=":  "top=XL",
		"starter|bakery|Kezia Larkfield|role=": "role=baker",
		"exchange|bakery|":                     "0001\tAda Brackenholt",
		"exchange|bakery|0001|--size|":         "top=",
		"away|bakery|":                         "0002\tBodhi Cresswater",
		"back|bakery|":                         "0001\tAda Brackenholt",
		"back|bakery|0001|":                    "polo/navy/M=",
		"held|yes|":                            "wrenmoor",
		"held|yes|wrenmoor|":                   "vest/yellow/M",
	} {
		out := mustKit(t, home, append([]string{"__complete"}, strings.Split(args, "|")...)...)
		require.Contains(t, out, want, args)
	}
}

// Of the small shop so few have left that a kit in two parts does not pay; one that
// costs nothing to hand out is at least no dearer the later its rest comes.
func TestASplitIsShownWithWhatItSaves(t *testing.T) {
	home := namedBakery(t)
	var doc struct {
		Roles []struct {
			Splits []struct {
				Weeks  int             `json:"weeks"`
				First  []int           `json:"first"`
				Cost   programme.Money `json:"cost"`
				Pieces float64         `json:"pieces"`
			} `json:"splits"`
			Best, Now struct {
				Weeks int             `json:"weeks"`
				Cost  programme.Money `json:"cost"`
			}
		} `json:"roles"`
	}
	status, out, errs := kit(t, home, "programme", "split", "bakery", "--handling", "0", "--as-of",
		"2026-03-02", "--json")
	require.Zero(t, status, errs)
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.NotEmpty(t, doc.Roles)
	for _, r := range doc.Roles {
		require.Equal(t, r.Splits[0].Cost, r.Now.Cost, "the programme gives all at once")
		for i := 2; i < len(r.Splits); i++ {
			if r.Splits[i].Weeks > 0 && r.Splits[i-1].Weeks > 0 {
				require.LessOrEqual(t, r.Splits[i].Pieces, r.Splits[i-1].Pieces+1e-9)
			}
		}
	}
	_, out, _ = kit(t, home, "programme", "split", "bakery", "--as-of", "2026-03-02")
	require.Contains(t, out, "are still there after 6 weeks")
	require.Contains(t, out, "all at once")
	status, _, errs = kit(t, home, "programme", "split", "bakery", "--handling", "much")
	require.Equal(t, 2, status)
	require.Contains(t, errs, "--handling")
}

// A starter wears one cut: a kit that comes in two costs what either does, not both together.
func TestASplitReckonsEachCutByItself(t *testing.T) {
	home := namedBakery(t)
	type splits struct {
		Role   string
		Cut    []string
		Splits []struct {
			First  []int
			Cost   programme.Money
			Pieces float64
		}
	}
	split := func() (roles []splits) {
		t.Helper()
		var doc struct{ Roles []splits }
		require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "programme", "split", "bakery", "--as-of",
			"2026-03-02", "--json")), &doc))
		return doc.Roles
	}
	before := split()
	ladies := "  - {code: polo-ladies, name: Ladies' polo, fabric_class: cotton-polo, size_family: ladies-top, supplier: blanks, colours: [navy], sizes: [{code: M, cost: 9.10}, {code: L, cost: 9.10}]}\n"
	rewrite(t, filepath.Join(home, books.ShopFile),
		func(text string) string { return strings.Replace(text, "transfer_kinds:", ladies+"transfer_kinds:", 1) })
	file := filepath.Join(home, "bakery.yaml")
	line := "      - {garment: polo, colour: navy, each: 3, wears_a_week: 5}\n"
	rewrite(t, file, func(text string) string {
		return strings.Replace(text, line, line+strings.NewReplacer("polo", "polo-ladies", "}",
			", cut_of: polo/navy}").Replace(line), 1)
	})
	mustKit(t, home, "programme", "apply", file, "--yes")
	after := split()
	require.Len(t, after, len(before)+1)
	require.Equal(t, []string{"polo"}, after[0].Cut)
	require.Equal(t, before[0].Splits, after[0].Splits)
	require.Equal(t, []string{"polo-ladies"}, after[1].Cut)
	require.Len(t, after[1].Splits[0].First, len(before[0].Splits[0].First))
	require.Contains(t, mustKit(t, home, "programme", "split", "bakery"), "baker, who wear Ladies' polo\n")
}
