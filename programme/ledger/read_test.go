package ledger_test

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/table"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

var today = programme.NewDate(2026, time.March, 9)

func sizes(codes ...string) []programme.GarmentSize {
	list := make([]programme.GarmentSize, len(codes))
	for i, c := range codes {
		list[i] = programme.GarmentSize{Code: c}
	}
	return list
}

var garments = []programme.Garment{
	{Code: "polo", Name: "Cotton polo", SizeFamily: "top", Colours: []string{"navy", "white"},
		Sizes: sizes("S", "M", "L", "XL", "2XL")},
	{Code: "apron", Name: "Bib apron", SizeFamily: "one", Colours: []string{"black"}, Sizes: sizes("one")},
	{Code: "trouser", Name: "Work trousers", SizeFamily: "bottom", Colours: []string{"grey"},
		Sizes: sizes("30/32", "34/32")},
}

func options() ledger.Options {
	staff := make([]programme.Person, 10)
	for i := range staff {
		staff[i] = programme.Person{StaffID: fmt.Sprintf("%04d", i+1), Start: programme.NewDate(2020, 1, 1)}
	}
	return ledger.Options{Catalogue: ledger.NewCatalogue(garments), Staff: staff, Options: table.Options{Latest: today}}
}

func TestReadUnderstandsWhatPeopleWrite(t *testing.T) {
	const file = "Ref;Date;Movement;Staff ID;Garment;Colour;Size;Pieces;Reason;Washes\n" +
		"a1;14.3.2025;Issued;0001;Cotton Polo;Navy;Large;3;;\n" +
		";1.4.2025;ISSUED;0002;apron;;;2.0;;12.5\n" +
		";2.4.2025;ended;0001;POLO;navy;lg;1;Worn;\n" +
		";3.4.2025;counted;0001;polo;navy;L;0;;\n" +
		";3.4.2025;ended;0002;trouser;grey;W34 L32;1;;\n" +
		"Total;;;;;;;6;;\n"
	list, err := ledger.Read("ledger.csv", []byte(file), options())
	require.NoError(t, err)
	polo := programme.SKU{Garment: "polo", Colour: "navy", Size: "L"}
	day := func(m time.Month, d int) programme.Date { return programme.NewDate(2025, m, d) }
	require.Equal(t, []programme.Movement{
		{Date: day(3, 14), Kind: programme.Issued, StaffID: "0001", SKU: polo, Pieces: 3, Ref: "a1"},
		{Date: day(4, 1), Kind: programme.Issued, StaffID: "0002", SKU: programme.SKU{Garment: "apron", Colour: "black",
			Size: "one"}, Pieces: 2, Washes: 12.5},
		{Date: day(4, 2), Kind: programme.Ended, StaffID: "0001", SKU: polo, Pieces: 1, Reason: programme.Worn},
		{Date: day(4, 3), Kind: programme.Counted, StaffID: "0001", SKU: polo},
		{Date: day(4, 3), Kind: programme.Ended, StaffID: "0002", SKU: programme.SKU{Garment: "trouser", Colour: "grey",
			Size: "34/32"}, Pieces: 1},
	}, list.Rows)
}

// A ledger in other words: each is mapped once, also where one cell says garment, colour and size, and
// what is no clothing is left out.
func TestALedgerInOtherWords(t *testing.T) {
	const file = "Datum;movement;staff_id;garment;colour;size;pieces;reason\n" +
		"9.6.2025;Ausgegeben;0001;Poloshirt;navy blue;groß;3;\n" +
		"9.6.2025;ausgegeben;0001;Spindschlüssel;;;1;\n" +
		"1.7.2025;zurück;0001;Poloshirt;navy blue;groß;1;défectueux\n" +
		"1.7.2025;zurück;0001;Poloshirt/navy blue/groß;;;1;unklar\n"
	opt := options()
	opt.Headings = map[string]string{"Datum": "date"}
	_, err := ledger.Read("ledger.csv", []byte(file), opt)
	require.ErrorContains(t, err, `Where a word of the file means one of ours, add --map "movement:Ausgegeben=issued" --map "garment:Poloshirt=GARMENT" `+
		`--map "garment:Spindschlüssel=GARMENT" --map "movement:zurück=MOVEMENT" --map "reason:défectueux=damaged" `+
		`--map "reason:unklar=REASON" with ours in place of the capitals.`)
	// What stands for nothing of the garment is not looked at until the garment is known.
	opt.Headings["garment:Poloshirt"] = "polo"
	_, err = ledger.Read("ledger.csv", []byte(file), opt)
	require.ErrorContains(t, err, `--map "colour:navy blue=navy"`)
	maps.Copy(opt.Headings, map[string]string{"movement:ausgegeben": "issued", "movement:zurück": "ended",
		"garment:Poloshirt": "polo", "garment:Spindschlüssel": "", "colour:navy blue": "navy", "size:groß": "L",
		"reason:défectueux": "damaged", "reason:unklar": ""})
	list, err := ledger.Read("ledger.csv", []byte(file), opt)
	require.NoError(t, err)
	polo := programme.SKU{Garment: "polo", Colour: "navy", Size: "L"}
	day := programme.NewDate(2025, time.July, 1)
	require.Equal(t, []programme.Movement{
		{Date: programme.NewDate(2025, time.June, 9), Kind: programme.Issued, StaffID: "0001", SKU: polo, Pieces: 3},
		{Date: day, Kind: programme.Ended, StaffID: "0001", SKU: polo, Pieces: 1, Reason: programme.Damaged},
		{Date: day, Kind: programme.Ended, StaffID: "0001", SKU: polo, Pieces: 1},
	}, list.Rows)
	require.Equal(t, []string{`left out: 1 row with the garment "Spindschlüssel", which is mapped to nothing`},
		list.Notes)
}

// The form that goes out by mail comes back as people fill it in: numbers, words
// and dashes, the day in their own way, rows left empty, rows added by hand.
func TestAReturnedCountFormIsRead(t *testing.T) {
	form := document.CountForm{Head: document.Head{Shop: "Elm Press", Client: "Harbour", AsOf: today},
		ReturnBy: today.Add(9), Day: programme.Date.String, Rows: []document.CountRow{
			{StaffID: "0001", Name: "Ada", Role: "Barista", Garment: "Cotton polo", Colour: "navy", Size: "M",
				OnRecord: 3},
			{StaffID: "0002", Name: "Bo", Role: "Barista", Garment: "apron", Colour: "black", Size: "one", OnRecord: 2},
			{StaffID: "0003", Name: "Cy", Role: "Barista", Garment: "apron", Colour: "black", Size: "one", OnRecord: 2},
		}}
	opt := options()
	opt.Staff = []programme.Person{
		{StaffID: "0001", Name: "Ada", Role: "barista", Sizes: map[string]string{"top": "M"}},
		{StaffID: "0002", Name: "Bo", Role: "barista"},
		{StaffID: "0003", Name: "Cy", Role: "barista"}, {StaffID: "0004", Name: "Dee O'Hara", Role: "barista",
			Sizes: map[string]string{"top": "L"}},
	}
	opt.Latest = today.Add(5)
	sheet, err := form.XLSX()
	require.NoError(t, err)
	_, ok, err := ledger.ReadForm("count.xlsx", sheet, cafe, opt)
	require.True(t, ok)
	require.EqualError(t, err,
		"count.xlsx: no row of this count form is filled in; write the numbers into the column Presentable.")

	fill := func(cells map[string]any) []byte {
		book, err := excelize.OpenReader(bytes.NewReader(sheet))
		require.NoError(t, err)
		for _, at := range slices.Sorted(maps.Keys(cells)) {
			require.NoError(t, book.SetCellValue("Count", at, cells[at]))
		}
		var filled bytes.Buffer
		require.NoError(t, book.Write(&filled))
		return filled.Bytes()
	}
	_, _, err = ledger.ReadForm("count.xlsx", fill(map[string]any{"B3": "last week", "G6": 2}), cafe, opt)
	require.ErrorContains(t, err, "which is not a day up to")
	_, _, err = ledger.ReadForm("count.xlsx", fill(map[string]any{"B3": "7 July", "G6": 2}), cafe, opt)
	require.ErrorContains(t, err, "which is not a day up to", "without a year it would be more than half a year ago")
	list, ok, err := ledger.ReadForm("count.xlsx",
		fill(map[string]any{"B3": "Sat 7 March 2026", "G6": 2, "G7": "-", "B9": "dee o'hara", "C9": "polo",
			"G9": "4 pcs"}), cafe, opt)
	require.True(t, ok)
	require.NoError(t, err)
	require.True(t, list.Dated)
	on := programme.NewDate(2026, 3, 7)
	polo := programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}
	large := polo
	large.Size = "L"
	require.Equal(t, 1, list.Skipped)
	require.Equal(t, []programme.Movement{
		{Date: on, Kind: programme.Counted, StaffID: "0001", SKU: polo, Pieces: 2},
		{Date: on, Kind: programme.Counted, StaffID: "0002", SKU: programme.SKU{Garment: "apron", Colour: "black",
			Size: "one"}},
		{Date: on, Kind: programme.Counted, StaffID: "0004", SKU: large, Pieces: 4},
	}, list.Rows)
	for raw, want := range map[any]programme.Date{"7/3/2026": on, "3/7/2026": on, "2026-03-07": on, "7 March": on,
		"Sat, March 7th": on, "7/3": on, "7.3.": on, "5 Dec": programme.NewDate(2025, 12, 5), "": today.Add(5),
		nil: today.Add(5)} {
		list, _, err = ledger.ReadForm("count.xlsx", fill(map[string]any{"B3": raw, "G6": 2}), cafe, opt)
		require.NoError(t, err, raw)
		require.Equal(t, want, list.Rows[0].Date, raw)
	}
	list, _, err = ledger.ReadForm("count.xlsx", fill(map[string]any{"C3": "7 March", "G6": 2}), cafe, opt)
	require.NoError(t, err)
	require.True(t, list.Dated, "written over what says where it belongs")
	require.Equal(t, on, list.Rows[0].Date)
	_, _, err = ledger.ReadForm("count.xlsx", fill(map[string]any{"G6": "some", "B9": "Adda", "C9": "polo", "G9": 1,
		"B10": "Bo", "C10": "apron", "G10": 1, "G7": 2}), cafe, opt)
	require.EqualError(t, err, `count.xlsx line 6, column Presentable: read "some", for Ada, Cotton polo, which is not a number of pieces that somebody may hold; write a number, none, or nothing where nobody looked.
count.xlsx line 9, column Name: read "Adda", but nobody on the roster is called so; if Ada is meant, correct it.
count.xlsx line 10, column Name: read "Bo", but apron black one of Bo stands on line 7 already; keep one of them.`)
	// What goes back to be corrected still says on which day the form was counted.
	list, _, err = ledger.ReadForm("count.xlsx", fill(map[string]any{"B3": "Sat 7 March 2026", "G6": "some", "G7": 2}),
		cafe, opt)
	var wrong table.Errors
	require.ErrorAs(t, err, &wrong)
	var mend bytes.Buffer
	require.NoError(t, list.Mend(&mend, wrong))
	require.Contains(t, mend.String(), `"Presentable: read ""some"", for Ada, Cotton polo, which is not`)
	list, _, err = ledger.ReadForm("mend.csv", bytes.Replace(mend.Bytes(), []byte(",some,"), []byte(",1,"), 1), cafe,
		opt)
	require.NoError(t, err)
	require.Equal(t, []programme.Movement{{Date: on, Kind: programme.Counted, StaffID: "0001", SKU: polo, Pieces: 1}},
		list.Rows)
	csv, err := form.CSV()
	require.NoError(t, err)
	list, ok, err = ledger.ReadForm("count.csv", bytes.Replace(csv, []byte(",3,,0001"), []byte(",3,1,0001"), 1), cafe,
		opt)
	require.True(t, ok)
	require.NoError(t, err)
	require.False(t, list.Dated)
	require.Equal(t, opt.Latest, list.Rows[0].Date, "nobody wrote a day")
	_, ok, err = ledger.ReadForm("ledger.csv",
		[]byte("date,movement,staff_id,garment,colour,size,pieces\n2025-03-03,issued,0001,polo,navy,M,3\n"), cafe, opt)
	require.False(t, ok)
	require.NoError(t, err)
}

func TestMalformedFilesGetOneClearError(t *testing.T) {
	tabletest.Malformed(t, "../../testdata/malformed/ledger", func(file string, data []byte) error {
		_, err := ledger.Read(file, data, options())
		return err
	})
}

func TestGoodRowsComeBackBesideTheErrors(t *testing.T) {
	const file = "date,movement,staff_id,garment,colour,size,pieces\n2025-03-03,issued,0001,polo,navy,M,3\n2025-03-04,issued,0001,polo,navy,M,x\n2025-03-05,issued,0002,polo,white,M,1\n"
	list, err := ledger.Read("l.csv", []byte(file), options())
	var errs table.Errors
	require.ErrorAs(t, err, &errs)
	require.Len(t, list.Rows, 2)
	var b bytes.Buffer
	require.NoError(t, list.Mend(&b, errs))
	mended := strings.ReplaceAll(b.String(), ",x", ",5")
	again, err := ledger.Read("mended.csv", []byte(mended), options())
	require.NoError(t, err)
	require.Equal(t, 5, again.Rows[0].Pieces)
}

func drawMovement(t *rapid.T, i int) programme.Movement {
	m := programme.Movement{
		Date: programme.NewDate(2023, 1, 1).Add(rapid.IntRange(0, 1000).Draw(t, "day")),
		Kind: rapid.SampledFrom([]programme.MovementKind{programme.Issued, programme.Ended,
			programme.Counted}).Draw(t, "kind"),
		StaffID: fmt.Sprintf("%04d", rapid.IntRange(1, 10).Draw(t, "staff")),
		SKU: programme.SKU{Garment: "polo", Colour: rapid.SampledFrom([]string{"navy", "white"}).Draw(t, "colour"),
			Size: rapid.SampledFrom([]string{"S", "2XL"}).Draw(t, "size")},
		Pieces: rapid.IntRange(1, 9).Draw(t, "pieces"),
	}
	if rapid.Bool().Draw(t, "with ref") {
		m.Ref = fmt.Sprintf("%s%d", rapid.SampledFrom([]string{"R-", "=", "'1", "a,b "}).Draw(t, "ref"), i)
	}
	switch m.Kind {
	case programme.Ended:
		m.Reason = rapid.SampledFrom([]programme.Reason{"", programme.Worn, programme.SizeChange}).Draw(t, "reason")
	case programme.Issued:
		m.Washes = float64(rapid.IntRange(0, 40).Draw(t, "washes")) / 4
		m.Assumed, m.OldKept = rapid.Bool().Draw(t, "assumed"), rapid.Bool().Draw(t, "old kept")
	case programme.Counted: // has neither
	}
	return m
}

func TestALedgerThatWasWrittenIsReadAsTheSame(t *testing.T) {
	opt := options()
	rapid.Check(t, func(t *rapid.T) {
		var want []programme.Movement
		for i := range rapid.IntRange(1, 12).Draw(t, "rows") {
			want = append(want, drawMovement(t, i))
		}
		var b bytes.Buffer
		require.NoError(t, ledger.Write(&b, want))
		got, err := ledger.Read("ledger.csv", b.Bytes(), opt)
		require.NoError(t, err)
		require.Equal(t, want, got.Rows)
	})
}

func FuzzRead(f *testing.F) {
	goldentest.Seeds(f, "../../testdata/malformed/ledger/*")
	f.Add([]byte("date,movement,staff_id,garment,colour,size,pieces,reason,ref,washes\n2025-03-03,issued,0001,polo,navy,M,3,,x,1.5\n"))
	f.Add([]byte("date;movement;staff_id;garment;pieces\n1.2.2025;ended;0002;apron;1\n13.2.2025;counted;0002;apron;0\n"))
	opt := options()
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		list, err := ledger.Read("ledger.csv", data, opt)
		if err != nil {
			return
		}
		var b bytes.Buffer
		require.NoError(t, ledger.Write(&b, list.Rows))
		again, err := ledger.Read("again.csv", b.Bytes(), opt)
		require.NoError(t, err)
		require.Equal(t, list.Rows, again.Rows)
	})
}

// Whatever is taken from a count form stands in it: written out plainly it reads the same.
func FuzzReadForm(f *testing.F) {
	f.Add([]byte("Count of presentable pieces\nCounted on,7 March 2026\nNo,Name,Garment,Colour,Size,Presentable\n0001,Ada,polo,navy,M,3\n,Bo,apron,,,none\n"))
	f.Add([]byte("Counted on: 7/3\nwho;item;presentable\nAda;polo;2 pcs\nBo;apron;-\n"))
	f.Add([]byte("name,garment,presentable\nAda,polo,\nAda,apron,4\n"))
	opt := options()
	opt.Staff = []programme.Person{
		{StaffID: "0001", Name: "Ada", Role: "barista", Sizes: map[string]string{"top": "M"}},
		{StaffID: "0002", Name: "Bo", Role: "barista"},
	}
	opt.Latest = today
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		form, ok, err := ledger.ReadForm("form.csv", data, cafe, opt)
		if !ok || err != nil {
			return
		}
		require.LessOrEqual(t, form.Day, today)
		var b bytes.Buffer
		fmt.Fprintf(&b, "Counted on,%s\nNo,Name,Garment,Colour,Size,Presentable\n", form.Day)
		for i := range form.Rows {
			m := &form.Rows[i]
			require.Equal(t, programme.Counted, m.Kind)
			require.GreaterOrEqual(t, m.Pieces, 0)
			fmt.Fprintf(&b, "%s,,%s,%s,%s,%d\n", m.StaffID, m.SKU.Garment, m.SKU.Colour, m.SKU.Size, m.Pieces)
		}
		again, ok, err := ledger.ReadForm("again.csv", b.Bytes(), cafe, opt)
		require.True(t, ok)
		require.NoError(t, err)
		require.Equal(t, form.Rows, again.Rows)
	})
}

// manyRows is a ledger of n rows of a hundred people over three years.
func manyRows(n int) ([]byte, ledger.Options) {
	opt := options()
	opt.Staff = nil
	for i := range 100 {
		opt.Staff = append(opt.Staff, programme.Person{StaffID: fmt.Sprint(1000 + i)})
	}
	var b bytes.Buffer
	b.WriteString("date,movement,staff_id,garment,colour,size,pieces,reason,ref\n")
	for i := range n {
		d := programme.NewDate(2023, 1, 1).Add(i * 1000 / n)
		fmt.Fprintf(&b, "%s,issued,%d,polo,navy,%s,1,,R%d\n", d, 1000+i%100, []string{"S", "M", "L"}[i%3], i)
	}
	return b.Bytes(), opt
}

func BenchmarkRead100k(b *testing.B) {
	data, opt := manyRows(100_000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		list, err := ledger.Read("ledger.csv", data, opt)
		if err != nil || len(list.Rows) != 100_000 {
			b.Fatal(err)
		}
	}
}
