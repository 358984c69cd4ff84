package ledger_test

import (
	"bytes"
	"fmt"
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
	{Code: "polo", Name: "Cotton polo", SizeFamily: "top", Colours: []string{"navy", "white"}, Sizes: sizes("S", "M", "L", "XL", "2XL")},
	{Code: "apron", Name: "Bib apron", SizeFamily: "one", Colours: []string{"black"}, Sizes: sizes("one")},
	{Code: "trouser", Name: "Work trousers", SizeFamily: "bottom", Colours: []string{"grey"}, Sizes: sizes("30/32", "34/32")},
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
		{Date: day(4, 1), Kind: programme.Issued, StaffID: "0002", SKU: programme.SKU{Garment: "apron", Colour: "black", Size: "one"}, Pieces: 2, Washes: 12.5},
		{Date: day(4, 2), Kind: programme.Ended, StaffID: "0001", SKU: polo, Pieces: 1, Reason: programme.Worn},
		{Date: day(4, 3), Kind: programme.Counted, StaffID: "0001", SKU: polo},
		{Date: day(4, 3), Kind: programme.Ended, StaffID: "0002", SKU: programme.SKU{Garment: "trouser", Colour: "grey", Size: "34/32"}, Pieces: 1},
	}, list.Rows)
}

// The form that goes out by mail comes back as it is, with one column filled in.
func TestAReturnedCountFormIsRead(t *testing.T) {
	form := document.CountForm{Date: today, Rows: []document.CountRow{
		{StaffID: "0001", Name: "Ada", Garment: "polo", Colour: "navy", Size: "M", What: "Cotton polo", OnRecord: 3},
		{StaffID: "0002", Name: "Bo", Garment: "apron", Colour: "black", Size: "one", What: "Apron", OnRecord: 2},
	}}
	sheet, err := form.XLSX()
	require.NoError(t, err)
	_, err = ledger.Read("count.xlsx", sheet, options())
	require.EqualError(t, err, "count.xlsx: no row of this count form is filled in; write the numbers into the column pieces.")

	book, err := excelize.OpenReader(bytes.NewReader(sheet))
	require.NoError(t, err)
	require.NoError(t, book.SetCellInt("Count", "E2", 2))
	var filled bytes.Buffer
	require.NoError(t, book.Write(&filled))
	list, err := ledger.Read("count.xlsx", filled.Bytes(), options())
	require.NoError(t, err)
	require.Equal(t, 1, list.Skipped)
	require.Equal(t, []programme.Movement{{Date: today, Kind: programme.Counted, StaffID: "0001", SKU: programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}, Pieces: 2}}, list.Rows)
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
		Date:    programme.NewDate(2023, 1, 1).Add(rapid.IntRange(0, 1000).Draw(t, "day")),
		Kind:    rapid.SampledFrom([]programme.MovementKind{programme.Issued, programme.Ended, programme.Counted}).Draw(t, "kind"),
		StaffID: fmt.Sprintf("%04d", rapid.IntRange(1, 10).Draw(t, "staff")),
		SKU:     programme.SKU{Garment: "polo", Colour: rapid.SampledFrom([]string{"navy", "white"}).Draw(t, "colour"), Size: rapid.SampledFrom([]string{"S", "2XL"}).Draw(t, "size")},
		Pieces:  rapid.IntRange(1, 9).Draw(t, "pieces"),
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
