package handover_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/table"
)

// take hands over a file of any kind.
type take func(b *books.Books, text string, opt handover.Options) (*handover.Report, error)

func roster(b *books.Books, text string, opt handover.Options) (*handover.Report, error) {
	return handover.Roster(context.Background(), b, "harbour", "staff.csv", []byte(text), opt)
}

func ledger(b *books.Books, text string, opt handover.Options) (*handover.Report, error) {
	return handover.Ledger(context.Background(), b, "harbour", "pieces.csv", []byte(text), opt)
}

func orders(b *books.Books, text string, opt handover.Options) (*handover.Report, error) {
	opt.Orders = true
	return ledger(b, text, opt)
}

func stock(b *books.Books, text string, opt handover.Options) (*handover.Report, error) {
	return handover.Stock(context.Background(), b, "stock.csv", []byte(text), opt)
}

var today = handover.Options{AsOf: bookstest.Autumn}

// files has one file of each kind: two good rows, the second of which is
// spoilt by changing right into wrong.
var files = map[string]struct {
	take
	text, right, wrong string
	says               string
	breaks             string // a statement late in its transaction
}{
	"roster": {
		roster, "staff_id,name,role,start_date,size_top\n0011,Jory Kettlesing,barista,2025-06-02,L\n0012,Kezia Larkfield,baker,2025-06-02,M\n",
		"baker", "bakre", `staff.csv line 3, column role: read "bakre", but there is no such role in the programme; baker comes nearest`,
		"INSERT ON person WHEN new.staff_id = '0012'",
	},
	"ledger": {
		ledger, "date,movement,staff_id,garment,colour,size,pieces\n2025-06-02,issued,0001,polo,navy,M,3\n2025-06-02,issued,0003,apron,black,one,2\n",
		"2025-06-02,issued,0003", "2025-06-31,issued,0003",
		`pieces.csv line 3, column date: read "2025-06-31", but June 2025 has 30 days`,
		"UPDATE ON import",
	},
	"orders": {
		orders, "date,garment,colour,size,pieces\n2025-06-02,polo,navy,L,1\n2025-06-03,apron,black,one,2\n",
		"one,2", "one,0", `pieces.csv line 3, column pieces: read "0", but there must be at least 1`,
		"UPDATE ON import",
	},
	"stock": {
		stock, "as_of,kind,code,colour,size,pieces\n2025-06-02,blank,polo,navy,M,12\n2025-06-02,blank,polo,navy,XL,9\n",
		"XL", "17", `stock.csv line 3, column size: read "17", `,
		"INSERT ON import",
	},
}

func TestAFileWithABadRowIsRefusedWhole(t *testing.T) {
	for kind, f := range files {
		t.Run(kind, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			_, err := f.take(b, strings.Replace(f.text, f.right, f.wrong, 1), today)
			var refused *handover.Refused
			require.ErrorAs(t, err, &refused)
			require.True(t, refused.Mendable)
			require.Len(t, refused.Errors, 1)
			require.ErrorContains(t, err, f.says)
			require.ErrorContains(t, err, "Nothing was imported.")
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}

func TestAFileWithoutAHeadingIsRefusedAndCannotBeMended(t *testing.T) {
	for kind, f := range files {
		t.Run(kind, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			heading, rows, _ := strings.Cut(f.text, "\n")
			misspelt := strings.NewReplacer("date", "dat", "kind", "knid").Replace(heading) + "\n" + rows
			for _, text := range []string{"a,b,c\n1,2,3\n", misspelt} {
				for _, opt := range []handover.Options{today, {AsOf: today.AsOf, AcceptGood: true}} {
					_, err := f.take(b, text, opt)
					var refused *handover.Refused
					require.ErrorAs(t, err, &refused)
					require.False(t, refused.Mendable)
					require.NotContains(t, err.Error(), "--accept-good")
				}
			}
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}

func TestAFileThatFailsAtItsEndLeavesNothing(t *testing.T) {
	for kind, f := range files {
		t.Run(kind, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			bookstest.Break(t, b, f.breaks)
			_, err := f.take(b, f.text, today)
			require.ErrorContains(t, err, bookstest.DiskFull)
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}

func TestTheSecondTimeAFileChangesNothing(t *testing.T) {
	for kind, f := range files {
		t.Run(kind, func(t *testing.T) {
			b := bookstest.New(t)
			first, err := f.take(b, f.text, today)
			require.NoError(t, err)
			require.True(t, first.Stored)
			require.GreaterOrEqual(t, first.New, 2)
			once := bookstest.Of(t, b)
			second, err := f.take(b, f.text, today)
			require.NoError(t, err)
			require.False(t, second.Stored)
			require.Zero(t, second.New)
			require.Equal(t, once, bookstest.Of(t, b))
		})
	}
}

func TestADryRunSaysTheSameAndChangesNothing(t *testing.T) {
	for kind, f := range files {
		t.Run(kind, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			dry, err := f.take(b, f.text, handover.Options{AsOf: today.AsOf, DryRun: true})
			require.NoError(t, err)
			require.False(t, dry.Stored)
			require.Equal(t, before, bookstest.Of(t, b))
			done, err := f.take(b, f.text, today)
			require.NoError(t, err)
			require.Equal(t, done.Diff, dry.Diff)
			require.Equal(t, done.Notes, dry.Notes)
		})
	}
}

// The good rows first and the mended ones after them give the books that the
// right file gives at once.
func TestGoodRowsAndMendedRowsMakeTheWholeFile(t *testing.T) {
	for kind, f := range files {
		t.Run(kind, func(t *testing.T) {
			whole, parts := bookstest.New(t), bookstest.New(t)
			_, err := f.take(whole, f.text, today)
			require.NoError(t, err)
			good, err := f.take(parts, strings.Replace(f.text, f.right, f.wrong, 1),
				handover.Options{AsOf: today.AsOf, AcceptGood: true})
			require.NoError(t, err)
			require.True(t, good.Stored)
			require.ErrorContains(t, good.Bad, f.says)
			_, err = f.take(parts, mended(t, string(good.Mend), f.wrong, f.right), today)
			require.NoError(t, err)
			want, got := bookstest.Of(t, whole), bookstest.Of(t, parts)
			require.Equal(t, want.People, got.People)
			require.Equal(t, want.Movements, got.Movements)
			require.Equal(t, want.Stock, got.Stock)
		})
	}
}

// mended corrects the cell in the row, not in the sentence about it.
func mended(t *testing.T, mend, wrong, right string) string {
	t.Helper()
	at := strings.LastIndex(mend, wrong)
	require.Positive(t, at, mend)
	return mend[:at] + right + mend[at+len(wrong):]
}

func TestAFullListMustBeWholeAndRight(t *testing.T) {
	f := files["roster"]
	bad := strings.Replace(f.text, f.right, f.wrong, 1)
	b := bookstest.New(t)
	before := bookstest.Of(t, b)
	t.Run("whoever stands in a bad row would be taken for a leaver", func(t *testing.T) {
		_, err := f.take(b, bad, handover.Options{AsOf: today.AsOf, Full: true, Yes: true, AcceptGood: true})
		require.ErrorContains(t, err, f.says)
		require.Equal(t, before, bookstest.Of(t, b))
	})
	t.Run("the rows to mend are not all people", func(t *testing.T) {
		r, err := f.take(bookstest.New(t), bad, handover.Options{AsOf: today.AsOf, AcceptGood: true})
		require.NoError(t, err)
		_, err = f.take(b, string(r.Mend), handover.Options{AsOf: today.AsOf, Full: true, Yes: true})
		require.ErrorContains(t, err, "it is not a full list; import it without --full")
		require.Equal(t, before, bookstest.Of(t, b))
	})
}

func TestWhatWrongListsDoNeedsAYes(t *testing.T) {
	const heading = "staff_id,name,role,start_date\n"
	for name, c := range map[string]struct {
		text string
		full bool
		want handover.TooMany
	}{
		"two of three leave": {heading + "0001,Ada Brackenholt,barista,2021-03-15\n", true,
			handover.TooMany{Leave: 2, Of: 3}},
		"somebody under a new number": {heading + "7001,Ada Brackenholt,barista,2021-03-15\n", false,
			handover.TooMany{Twins: 1}},
		"somebody new leaves no doubt": {heading + "7001,Jory Kettlesing,barista,2021-03-15\n", false,
			handover.TooMany{}},
	} {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			dry, err := roster(b, c.text, handover.Options{AsOf: today.AsOf, Full: c.full, DryRun: true})
			require.NoError(t, err, "a dry run shows what it would do")
			require.Equal(t, c.want != handover.TooMany{}, dry.NeedsYes())
			if dry.NeedsYes() {
				_, err = roster(b, c.text, handover.Options{AsOf: today.AsOf, Full: c.full})
				var many *handover.TooMany
				require.ErrorAs(t, err, &many)
				require.Equal(t, dry.Diff, many.Diff)
				many.Diff = nil
				require.Equal(t, c.want, *many)
				require.Equal(t, before, bookstest.Of(t, b))
			}
			done, err := roster(b, c.text, handover.Options{AsOf: today.AsOf, Full: c.full, Yes: true})
			require.NoError(t, err)
			require.True(t, done.Stored)
		})
	}
}

// A programme maps headings once for all; what is said with a file comes first.
func TestHeadingsOfTheFileComeBeforeThoseOfTheProgramme(t *testing.T) {
	b := bookstest.New(t)
	harbour, err := b.Store.Client(context.Background(), "harbour")
	require.NoError(t, err)
	text := string(harbour.Programme) + "headings: {Clock: staff_id, Desk: site, \"role:Pastry\": baker}\n"
	require.NoError(t, b.Store.InTx(context.Background(),
		func(tx *store.Tx) error { return tx.PutClient("harbour", []byte(text)) }))
	const file = "Clock,Name,Role,Start_Date,Desk\n0011,Jory Kettlesing,Pastry,2025-06-02,Mill Lane\n"
	for name, c := range map[string]struct {
		stated map[string]string
		site   string
		role   string
	}{
		"the programme's":   {nil, "Mill Lane", "baker"},
		"one is left out":   {map[string]string{"desk": ""}, "", "baker"},
		"a role is another": {map[string]string{"role:Pastry": "supervisor"}, "Mill Lane", "supervisor"},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := roster(b, file, handover.Options{AsOf: today.AsOf, Headings: c.stated, DryRun: true})
			require.NoError(t, err)
			require.Len(t, r.Diff.Joined, 1)
			require.Equal(t, c.site, r.Diff.Joined[0].Site)
			require.Equal(t, c.role, r.Diff.Joined[0].Role)
		})
	}
}

func TestOrderedPiecesThatFitNobodyAreTold(t *testing.T) {
	b := bookstest.New(t)
	r, err := orders(b, "date,garment,colour,size,pieces\n2025-06-02,polo,navy,M,1\n2025-06-02,polo,navy,3XL,2\n",
		today)
	require.NoError(t, err)
	require.Len(t, r.Unplaced, 1)
	require.Equal(t, 2, r.Unplaced[0].Pieces)
	for _, m := range bookstest.Of(t, b).Movements["harbour"][2:] {
		require.True(t, m.Assumed, "nobody saw these pieces handed out")
	}
}

// A statement of stock replaces the kinds it names, and no others.
func TestAStatementOfStockLeavesOtherKindsAlone(t *testing.T) {
	b := bookstest.New(t)
	_, err := stock(b, files["stock"].text, today)
	require.NoError(t, err)
	var blanks, others []programme.StockLine
	for _, l := range bookstest.Of(t, b).Stock {
		if l.Kind == programme.Blank {
			blanks = append(blanks, l)
		} else {
			others = append(others, l)
		}
	}
	require.Len(t, blanks, 2, "what was on order is not named any more")
	require.Equal(t, bookstest.Shelf[3:], others)
}

// Rows to mend stand beside the good ones of their file, unless they state the
// same thing anew.
func TestAMendedStatementCorrectsItsOwnRows(t *testing.T) {
	b := bookstest.New(t)
	f := files["stock"]
	good, err := stock(b, strings.Replace(f.text, f.right, f.wrong, 1),
		handover.Options{AsOf: today.AsOf, AcceptGood: true})
	require.NoError(t, err)
	again := mended(t, string(good.Mend), f.wrong, "M") // a second row of what was good already
	_, err = stock(b, again, today)
	require.NoError(t, err)
	require.Equal(t, []programme.StockLine{
		{Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M"}, Pieces: 9,
			AsOf: programme.NewDate(2025, 6, 2)},
	}, bookstest.Of(t, b).Stock[:1])
	require.Equal(t, bookstest.Shelf[3:], bookstest.Of(t, b).Stock[1:])
}

func TestNobodyStartsInTwoYearsTime(t *testing.T) {
	b := bookstest.New(t)
	f := files["roster"]
	_, err := f.take(b, strings.Replace(f.text, "2025-06-02", "2027-09-30", 1), today)
	require.NoError(t, err, "two years are said in advance")
	_, err = f.take(b, strings.Replace(f.text, "2025-06-02", "2027-10-03", 1), today)
	require.ErrorContains(t, err, "staff.csv line 2, column start_date")
}

func TestAFileForNobodyNamesTheClientsThereAre(t *testing.T) {
	b := bookstest.New(t)
	for _, f := range []func(context.Context, *books.Books, string, string, []byte, handover.Options) (*handover.Report, error){handover.Roster, handover.Ledger} {
		_, err := f(context.Background(), b, "harbor", "x.csv", []byte("x"), today)
		require.ErrorIs(t, err, store.ErrNoClient)
		require.ErrorContains(t, err, "the clients are: harbour, quay")
	}
}

func TestSeveralBadRowsAreCountedAndListed(t *testing.T) {
	err := &handover.Refused{Mendable: true, Errors: table.Errors{{File: "a.csv", Line: 2, Want: "this is wrong"},
		{File: "a.csv", Line: 5, Want: "and this"}}}
	require.EqualError(t, err, "2 things are wrong with this file:\na.csv line 2: this is wrong.\na.csv line 5: and this.\nNothing was imported. With --accept-good the other rows are taken and these are written to a file to mend.")
}

// In whatever overlapping parts and however often a ledger is handed over, the
// same movements stand in the books.
func TestALedgerInPartsIsTheLedger(t *testing.T) {
	b := bookstest.New(t)
	before := bookstest.Of(t, b).Movements
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "rows")
		rows := make([]string, n)
		for i := range rows {
			who := rapid.SampledFrom([]string{"0001", "0002", "0003"}).Draw(t, "who")
			pieces := rapid.IntRange(1, 3).Draw(t, "pieces")
			rows[i] = fmt.Sprintf("%s,issued,%s,polo,navy,M,%d,r%d", bookstest.Spring.Add(i), who, pieces, i)
		}
		from := rapid.IntRange(0, n-1).Draw(t, "from")
		to := rapid.IntRange(from+1, n).Draw(t, "to")
		takeRows(t, b, "harbour", rows)
		takeRows(t, b, "quay", rows[:to])
		takeRows(t, b, "quay", rows[from:])
		takeRows(t, b, "quay", rows)
		after := bookstest.Of(t, b).Movements
		require.Len(t, after["harbour"], len(before["harbour"])+n)
		require.Equal(t, after["harbour"], after["quay"])
		takeBack(t, b)
		require.Equal(t, before, bookstest.Of(t, b).Movements)
	})
}

func takeRows(t require.TestingT, b *books.Books, client string, rows []string) {
	text := "date,movement,staff_id,garment,colour,size,pieces,ref\n" + strings.Join(rows, "\n")
	_, err := handover.Ledger(context.Background(), b, client, "pieces.csv", []byte(text), today)
	require.NoError(t, err)
}

// takeBack takes out of the ledgers what files have brought.
func takeBack(t require.TestingT, b *books.Books) {
	imports := bookstest.Of(t, b).Imports
	require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		for client, list := range imports {
			for i := range list {
				if _, err := tx.RemoveMovements(client, list[i].ID); err != nil {
					return err
				}
				if err := tx.RemoveImport(list[i].ID); err != nil {
					return err
				}
			}
		}
		return nil
	}))
}

// A column that holds prices or numbers of articles makes heaps that no roster
// wears, and a forecast of minutes.
func TestALedgerOfMorePiecesThanTheRosterWearsIsAskedAbout(t *testing.T) {
	var b strings.Builder
	b.WriteString("date,movement,staff_id,garment,colour,size,pieces,ref\n")
	for i := range 600 {
		fmt.Fprintf(&b, "2025-06-02,issued,0001,polo,navy,M,850,r%d\n", i)
	}
	shop := bookstest.New(t)
	before := bookstest.Of(t, shop)
	_, err := ledger(shop, b.String(), today)
	var many *handover.TooMany
	require.ErrorAs(t, err, &many)
	require.EqualError(t, err, "by this ledger 0001 would hold 510000 pieces of polo navy M at once, and the kit has 3 of them. Nothing was imported. Look at the column of pieces; if it is right, import the file again with --yes")
	require.Equal(t, before, bookstest.Of(t, shop))
	opt := today
	opt.DryRun = true
	r, err := ledger(shop, b.String(), opt)
	require.NoError(t, err)
	require.True(t, r.NeedsYes())
	opt = today
	opt.Yes = true
	r, err = ledger(shop, b.String(), opt)
	require.NoError(t, err)
	require.Equal(t, 600, r.New)
}

// What a list leaves open is said with it, also in a trial: a site that no parcel finds,
// and people who are known by a number made for them.
func TestARosterSaysWhatItLeavesOpen(t *testing.T) {
	b := bookstest.New(t)
	client, err := b.Client(t.Context(), "harbour")
	require.NoError(t, err)
	text := setup.WriteClient(client)
	text = append(text, "sites:\n  - {name: Mill Lane, address: Mill Lane 4}\n  - {name: Quay, address: Quay 1}\n"...)
	require.NoError(t, b.Store.InTx(t.Context(), func(tx *store.Tx) error { return tx.PutClient("harbour", text) }))
	opt := today
	opt.DryRun = true
	r, err := roster(b, "name,role,start_date,size_top,site\nJory Kettlesing,barista,2025-06-02,L,mill lane\nKezia Larkfield,baker,2025-06-02,M,Mill\n", opt)
	require.NoError(t, err)
	require.Equal(t, []string{
		`the programme has no site "Mill" (1 person), so their parcel would have no address; its sites are Mill Lane, Quay`,
		"2 people without a staff number: each is known by one made of their name and first day",
		"no size is known of 1 person, and nothing that needs one can be ordered for them: KL250602-1dd1 Kezia Larkfield (bottom); ask before the next order, and enter it with 'kitmuster change harbour KL250602-1dd1 --size bottom=SIZE', or take the list again with sizes in it",
	}, r.Notes)
	r, err = roster(b, "staff_id,name,role,start_date,size_top,site\n0011,Jory Kettlesing,barista,2025-06-02,L,Quay\n",
		opt)
	require.NoError(t, err)
	require.Empty(t, r.Notes)
}

// Whose sizes a list leaves out is said, of those whom it names: joiners, people known before
// whose list says no more, and in a kit of two cuts who has a size of neither.
func TestARosterSaysWhoseSizesItLacks(t *testing.T) {
	b := bookstest.NewInTwoCuts(t, "")
	const list = "staff_id,name,role,start_date,end_date,size_top\n" +
		"0001,Ada Brackenholt,barista,%[1]s,,\n0003,Calla Dunmarrow,baker,%[1]s,,\n" +
		"0011,Jory Kettlesing,barista,2025-06-02,,\n0012,Kezia Larkfield,barista,2025-06-02,2025-07-01,\n"
	r, err := roster(b, fmt.Sprintf(list, bookstest.Hired), today)
	require.NoError(t, err)
	require.Equal(t, "0003 Calla Dunmarrow (bottom, top); 0011 Jory Kettlesing (top or ladies-top)",
		strings.Join([]string{r.Unsized[0].Words(), r.Unsized[1].Words()}, "; "))
	require.Len(t, r.Unsized, 2, "a size known before stays, and a leaver needs none")
	require.Contains(t, r.Notes[0], "no size is known of 2 people")
	r, err = roster(b, "staff_id,name,role,start_date,size_top\n0011,Jory Kettlesing,barista,2025-06-02,L\n", today)
	require.NoError(t, err)
	require.Empty(t, r.Unsized, "who is not in the list is none of its business")

	var many strings.Builder
	many.WriteString("staff_id,name,role,start_date\n")
	for i := range 14 {
		fmt.Fprintf(&many, "9%03d,Person %d,barista,2025-06-02\n", i, i)
	}
	r, err = roster(b, many.String(), today)
	require.NoError(t, err)
	require.Len(t, r.Unsized, 14)
	require.Contains(t, r.Notes[len(r.Notes)-1], "9009 Person 9 (top or ladies-top) and 4 more;")
}
