package ledger_test

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

func dayOptions() ledger.Options {
	opt := options()
	opt.Staff = []programme.Person{
		{StaffID: "0001", Name: "Ada", Role: "barista", Sizes: map[string]string{"top": "M"}},
		{StaffID: "0002", Name: "Bo Winterbourne", Role: "barista"},
		{StaffID: "0003", Name: "Cy", Role: "barista"}, {StaffID: "0004", Name: "Cy", Role: "barista"},
	}
	opt.Latest = today.Add(3) // Thursday of the week
	return opt
}

// numbers are those of a row by the code of their column.
func numbers(r *ledger.DayRow) map[string]int {
	out := map[string]int{}
	for i, c := range ledger.DayColumns {
		if r.Pieces[i] != 0 {
			out[c.Code] = r.Pieces[i]
		}
	}
	return out
}

// The workbook that goes out comes back as people fill it in.
func TestADaySheetThatComesBackIsRead(t *testing.T) {
	sheet, err := (&document.DaySheet{Head: document.Head{Shop: "Elm Press", Client: "Harbour"}, Week: today,
		Day: programme.Date.String, Rows: []document.DayRow{
			{StaffID: "0001", Name: "Ada", Role: "Barista", Garment: "Cotton polo", Colour: "navy", Size: "M",
				OnRecord: 3},
			{StaffID: "0001", Name: "Ada", Role: "Barista", Garment: "Bib apron", Colour: "black", Size: "one",
				OnRecord: 2},
			{StaffID: "0003", Name: "Cy", Role: "Barista", Garment: "Bib apron", Colour: "black", Size: "one",
				OnRecord: 2},
		}}).XLSX()
	require.NoError(t, err)
	fill := func(cells map[string]any) []byte {
		book, err := excelize.OpenReader(bytes.NewReader(sheet))
		require.NoError(t, err)
		for _, at := range slices.Sorted(maps.Keys(cells)) {
			require.NoError(t, book.SetCellValue("Days", at, cells[at]))
		}
		var filled bytes.Buffer
		require.NoError(t, book.Write(&filled))
		return filled.Bytes()
	}
	_, err = ledger.ReadDaySheet("day.xlsx", sheet, cafe, dayOptions())
	require.EqualError(t, err, "day.xlsx: no row of this day sheet has a number; write what happened into the columns Worn out, Print gone, Torn, Lost, Back, Handed out.")

	// Worn out is G, Handed out is L; the foot begins with row 9.
	got, err := ledger.ReadDaySheet("day.xlsx", fill(map[string]any{
		"G6": 1, "H6": "2 pcs", "L6": 3, "J7": "-", "K7": 0, "I8": "one",
		"A9": "bo  winterbourne", "C9": "polo", "E9": "large", "L9": 2,
		"A10": "Dee O'Hara", "B10": "barista", "C10": "polo", "E10": "S", "L10": 4,
	}), cafe, dayOptions())
	require.EqualError(t, err, `day.xlsx line 8, column Torn: read "one", for Cy, Bib apron, which is not a number of pieces; write a number, or nothing where nothing happened.`)
	require.Equal(t, today, got.Week)
	require.Equal(t, today.Add(3), got.Day, "the week is not over")
	require.True(t, got.Dated)
	require.Len(t, got.Rows, 3)
	require.Equal(t, map[string]int{"worn": 1, "print": 2, "out": 3}, numbers(&got.Rows[0]))
	require.Equal(t, "0002", got.Rows[1].StaffID)
	require.Equal(t, programme.SKU{Garment: "polo", Colour: "navy", Size: "L"}, got.Rows[1].SKU)
	require.Equal(t, ledger.DayRow{Line: 10, Name: "Dee O'Hara", Role: "barista",
		SKU: programme.SKU{Garment: "polo", Colour: "navy", Size: "S"}, Pieces: []int{0, 0, 0, 0, 0, 4}}, got.Rows[2])
}

func TestWhatIsWrongWithADaySheetIsSaidByNameAndRow(t *testing.T) {
	const head = "Week from,2026-03-09\nName,Role,Garment,Colour,Size,Worn out,Lost,Handed out,No.\n"
	for row, says := range map[string]string{
		"Adda,barista,polo,,,1,,,":             `read "Adda", but nobody on the roster is called so; if Ada is meant, correct it`,
		"Cy,,apron,,,1,,,":                     `read "Cy", but 2 people have this name; write the number of the one meant`,
		"Ada,,poloo,,,1,,,0001":                `read "poloo", for Ada, poloo, `,
		"Ada,,polo,,,1.5,,,0001":               `read "1.5", for Ada, polo, which is not a number of pieces`,
		"Ada,,polo,,,-1,,,0001":                `read "-1", for Ada, polo, which is not a number of pieces`,
		"Ada,,polo,,,,51,,0001":                `read "51", for Ada, polo, which is more than 50 pieces in one week`,
		"Ezra Quill,,polo,,S,,,1,":             `read "Ezra Quill", but nobody on the roster is called so; correct the name, or add them to the roster first`,
		"Ezra Quill,welder,polo,,S,,,1,":       `for Ezra Quill, polo, but there is no such role`,
		"Ezra Quill,barista,polo,,,,,1,":       `the size is missing`,
		"Ezra Quill,barista,polo,,S,1,,,":      `for Ezra Quill, polo, but nobody of this name is on the roster, so nothing of theirs can have ended`,
		",,polo,,S,1,,,":                       `the name is missing`,
		"Ada,,polo,,,1,,,\nAda,,polo,,M,,1,,":  `but polo navy M of Ada stands on line 3 already; keep one of them`,
		"Ada,,polo,,,1,,,9999\nAda,,,,,1,,,":   `line 4, column Garment`,
		",barista,polo,,S,,,1,new":             `the name of somebody new is missing`,
		"Ada,,polo,,,many,,,0001\n,,,,,,,,\n,": `read "many"`,
	} {
		_, err := ledger.ReadDaySheet("day.csv", []byte(head+row+"\n"), cafe, dayOptions())
		require.ErrorContains(t, err, says, row)
		require.ErrorContains(t, err, "day.csv line ", row)
	}
	_, err := ledger.ReadDaySheet("day.csv", []byte(strings.Replace(head, "2026-03-09", "2026-03-16",
		1)+"Ada,,polo,,,1,,,\n"), cafe, dayOptions())
	require.ErrorContains(t, err, "which is not a day up to 2026-03-12", "a week that has not begun")
	got, err := ledger.ReadDaySheet("day.csv", []byte("name;garment;worn out\nAda;polo;1\n"), cafe, dayOptions())
	require.NoError(t, err, "the least that a sheet can be")
	require.False(t, got.Dated)
	require.Equal(t, today, got.Week)
	got, err = ledger.ReadDaySheet("day.csv", []byte(head+"Ada,barista,polo,,S,,,1,new\n"), cafe, dayOptions())
	require.NoError(t, err)
	require.Empty(t, got.Rows[0].StaffID, "another Ada")
	for _, other := range []string{"name,garment,presentable\nAda,polo,1\n",
		"date,movement,staff_id,garment,pieces\n2026-03-09,ended,0001,polo,1\n", "", "name,garment\nAda,polo\n"} {
		_, err := ledger.ReadDaySheet("day.csv", []byte(other), cafe, dayOptions())
		require.Error(t, err, other)
	}
}

func TestWeeksBeginOnMondays(t *testing.T) {
	for i := range 14 {
		require.Equal(t, today.Add(i/7*7), ledger.Monday(today.Add(i)))
	}
}

// Whatever is taken from a day sheet stands in it: written out plainly it reads the same.
func FuzzReadDaySheet(f *testing.F) {
	f.Add([]byte("Week from,2026-03-09\nName,Role,Garment,Colour,Size,Worn out,Print gone,Torn,Lost,Back,Handed out,No.\nAda,,polo,navy,M,3,,,,,2 pcs,0001\nDee,barista,apron,,,,,,,,1,\n"))
	f.Add([]byte("name;garment;worn out;lost\nAda;polo;1;none\nBo Winterbourne;apron;-;4\n"))
	f.Add([]byte("name,garment,back,site,role,no\nAda,polo,1,North,barista,new\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		sheet, err := ledger.ReadDaySheet("day.csv", data, cafe, dayOptions())
		if err != nil {
			return
		}
		require.LessOrEqual(t, sheet.Day, today.Add(3))
		var b bytes.Buffer
		fmt.Fprintf(&b, "Week from,%s\nNo.,Garment,Colour,Size,Worn out,Print gone,Torn,Lost,Back,Handed out,Name\n",
			sheet.Week)
		var want []ledger.DayRow
		for i := range sheet.Rows {
			r := sheet.Rows[i]
			require.Len(t, r.Pieces, len(ledger.DayColumns))
			if r.StaffID == "" {
				require.NotEmpty(t, r.Name)
				continue
			}
			fmt.Fprintf(&b, "%s,%s,%s,%s", r.StaffID, r.SKU.Garment, r.SKU.Colour, r.SKU.Size)
			for _, n := range r.Pieces {
				require.GreaterOrEqual(t, n, 0)
				fmt.Fprintf(&b, ",%d", n)
			}
			b.WriteString(",\n")
			if slices.Max(r.Pieces) > 0 {
				r.Line = 0
				want = append(want, r)
			}
		}
		if len(want) == 0 {
			return
		}
		again, err := ledger.ReadDaySheet("again.csv", b.Bytes(), cafe, dayOptions())
		require.NoError(t, err)
		for i := range again.Rows {
			again.Rows[i].Line = 0
		}
		require.Equal(t, want, again.Rows)
	})
}
