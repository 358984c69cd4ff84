package document_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

var (
	monday = programme.NewDate(2026, 3, 2)
	head   = document.Head{Shop: "Millbrook Press & Thread", Client: "Copper Hearth Bakery", Units: programme.Inches,
		AsOf: monday}
	mm   = programme.Millimetre
	tags = programme.LabelSheet{PageWidth: 210 * mm, PageHeight: 297 * mm, Columns: 3, Rows: 8, Width: 63 * mm,
		Height: 34 * mm, Left: 7 * mm, Top: 12 * mm, PitchX: 66 * mm, PitchY: 34 * mm}
)

func TestCSVDisarmsFormulasAndKeepsNumbers(t *testing.T) {
	for in, want := range map[string]string{
		"=1+1": "'=1+1", "+41 79 123": "'+41 79 123", "-lead": "'-lead", "@x": "'@x", "\t=1": "'=1", "＝1": "'＝1",
		"-2.50": "-2.50", "12": "12", "O’Neil, \"Jo\"": "O’Neil, \"Jo\"", "a\r\nb": "a b", "-inf": "'-inf",
		"-0x1p4": "'-0x1p4",
	} {
		data, err := document.CSV([]document.Column[string]{{Heading: "text",
			Value: func(s string) string { return s }}}, []string{in})
		require.NoError(t, err)
		require.True(t, bytes.HasPrefix(data, []byte("\ufeff")), "spreadsheets need the mark to read UTF-8")
		rows, err := csv.NewReader(bytes.NewReader(data[3:])).ReadAll()
		require.NoError(t, err)
		require.Equal(t, want, rows[1][0], "%q", in)
	}
}

func aCount() document.CountForm {
	return document.CountForm{Head: head, Site: "High Street", ReturnBy: monday.Add(10), Day: programme.Date.String,
		How: []string{"Count."}, Rows: []document.CountRow{
			{StaffID: "007", Name: "Amara Osei", Role: "Baker", Garment: "Crew tee", Colour: "black", Size: "M",
				OnRecord: 5},
			{StaffID: "b2", Name: "=cmd|' /C calc'!A0", Role: "Driver", Garment: "Crew tee", Colour: "black", Size: "L",
				OnRecord: 4},
		}}
}

func TestACountOfSeveralSitesSaysWhoIsWhere(t *testing.T) {
	form := aCount()
	form.Rows[0].Site, form.Rows[1].Site = "High Street", "Station"
	data, err := form.CSV()
	require.NoError(t, err)
	require.Contains(t, string(data), "Site,Role,Name,Garment,Colour,Size,On record,Presentable,No.")
	require.Contains(t, string(data), "Station,Driver,")
}

func TestCountFormHasAHeadOneDayAndRoomForMore(t *testing.T) {
	form := aCount()
	data, err := form.XLSX()
	require.NoError(t, err)
	again, err := form.XLSX()
	require.NoError(t, err)
	require.Equal(t, data, again)
	x, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	rows, err := x.GetRows("Count")
	require.NoError(t, err)
	require.Equal(t, []string{"Count of uniforms, Copper Hearth Bakery, High Street"}, rows[0])
	require.Equal(t, []string{"Please send it back to Millbrook Press & Thread by 2026-03-12."}, rows[1])
	require.Equal(t, []string{"Counted on", "", "the day on which you look (write it in any way)"}, rows[2],
		"whoever counts says when")
	require.Equal(t, []string{"Role", "Name", "Garment", "Colour", "Size", "On record", "Presentable", "No."}, rows[4])
	require.Equal(t, []string{"Baker", "Amara Osei", "Crew tee", "black", "M", "5", "", "007"}, rows[5])
	kind, err := x.GetCellType("Count", "H6")
	require.NoError(t, err)
	require.Equal(t, excelize.CellTypeSharedString, kind, "a staff number keeps its noughts")
	look := func(at string) *excelize.Style {
		n, err := x.GetCellStyle("Count", at)
		require.NoError(t, err)
		style, err := x.GetStyle(n)
		require.NoError(t, err)
		return style
	}
	for _, at := range []string{"B3", "G6", "G7", "G15", "B8", "C15"} {
		require.Equal(t, []string{"FFF3C4"}, look(at).Fill.Color, "%s is to be written in", at)
	}
	require.NotEqual(t, look("C6").Fill, look("G6").Fill)
	require.True(t, look("B6").Font.Bold, "whoever comes next is loud")
	require.True(t, look("B7").Font.Bold)
	formula, err := x.GetCellFormula("Count", "B7")
	require.NoError(t, err)
	require.Empty(t, formula)
	require.Equal(t, []string{"Count", "How to"}, x.GetSheetList())
}

// What is filled in by hand is printed first: on the shop's paper, with names whole, each row closed, and high enough
// to write in however wide the sheet is.
func TestAFormPrintsOnTheShopsPaper(t *testing.T) {
	for units, paper := range map[programme.Units]int{programme.Inches: 1, programme.Millimetres: 9} {
		form := aCount()
		form.Units = units
		form.Rows[0].Name = "Мария Александровна Константинопольская"
		data, err := form.XLSX()
		require.NoError(t, err)
		x, err := excelize.OpenReader(bytes.NewReader(data))
		require.NoError(t, err)
		for _, name := range x.GetSheetList() {
			layout, err := x.GetPageLayout(name)
			require.NoError(t, err)
			require.Equal(t, paper, *layout.Size, "ECMA-376 part 1, 18.3.1.63: 1 is letter paper, 9 is A4")
		}
		wide, err := x.GetColWidth("Count", "B")
		require.NoError(t, err)
		require.Greater(t, wide, 39.0, "the longest name")
		for line := 6; line <= 15; line++ {
			n, err := x.GetCellStyle("Count", fmt.Sprintf("B%d", line))
			require.NoError(t, err)
			style, err := x.GetStyle(n)
			require.NoError(t, err)
			sides := map[string]bool{}
			for _, b := range style.Border {
				sides[b.Type] = true
			}
			require.Len(t, sides, 4, "a page may end below row %d", line)
			if style.Font != nil {
				require.Equal(t, "Calibri", style.Font.Family, "row %d has the letters of all others", line)
			}
		}
		form.Rows[0].Site, form.Rows[0].Garment = strings.Repeat("Northgate ", 4), strings.Repeat("polo ", 12)
		data, err = form.XLSX()
		require.NoError(t, err)
		wider, err := excelize.OpenReader(bytes.NewReader(data))
		require.NoError(t, err)
		usual, err := x.GetRowHeight("Count", 6)
		require.NoError(t, err)
		higher, err := wider.GetRowHeight("Count", 6)
		require.NoError(t, err)
		require.Greater(t, higher, usual, "a wider sheet is printed smaller")
	}
}

func TestCountListIsTheSameForm(t *testing.T) {
	form := aCount()
	data, err := form.CSV()
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(data[3:])).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"Counted on", "", "the day on which you look (write it in any way)"}, rows[2][:3])
	require.Equal(t, []string{"Baker", "Amara Osei", "Crew tee", "black", "M", "5", "", "007"}, rows[4])
	require.Equal(t, "'=cmd|' /C calc'!A0", rows[5][1])
}

func TestTagsGoOnWithTheNextLabel(t *testing.T) {
	job := document.Tags{Head: head, Sheet: tags, Ref: "proposal 17"}
	for range 24 {
		job.Tags = append(job.Tags, document.Tag{Name: "Amara Osei", Under: "High Street",
			Lines: []string{"2 × Crew tee"}})
	}
	data, warnings, err := job.PDF()
	require.NoError(t, err)
	require.Empty(t, warnings)
	require.Equal(t, 1, bytes.Count(data, []byte("/Type /Page\n")), "24 labels fill one sheet")

	job.Tags[0].Lines = make([]string, 30)
	data, _, err = job.PDF()
	require.NoError(t, err)
	require.Equal(t, 2, bytes.Count(data, []byte("/Type /Page\n")), "a full bag takes more labels")
}

func TestLabelsThatDoNotFitAreRefused(t *testing.T) {
	for want, spoil := range map[string]func(*programme.LabelSheet){
		"reach to":     func(s *programme.LabelSheet) { s.Columns = 4 },
		"overlap":      func(s *programme.LabelSheet) { s.PitchX = 50 * mm },
		"at least 20":  func(s *programme.LabelSheet) { s.Height = 5 * mm },
		"0 by 8":       func(s *programme.LabelSheet) { s.Columns = 0 },
		"page measure": func(s *programme.LabelSheet) { s.PageHeight = 200 * mm },
	} {
		s := tags
		spoil(&s)
		job := document.Tags{Head: head, Sheet: s, Tags: []document.Tag{{Name: "x"}}}
		_, _, err := job.PDF()
		require.ErrorContains(t, err, want)
	}
}

func anOrderForm(rows int) document.OrderForm {
	f := document.OrderForm{
		Head: head, Title: "Uniform order form", Facts: []page.Fact{{Label: "Proposal", Value: "17"},
			{Label: "For", Value: "Nell"}},
		Lines:    page.Table{Columns: page.Columns("Garment", "#Pieces")},
		ReturnTo: "Tom", Ref: "proposal 17",
	}
	for range rows {
		f.Lines.Row(strings.Repeat("a long name of a garment ", 6), 1)
	}
	f.Lines.Sum("Together", 9)
	return f
}

func TestLongTablesGoOnAndPapersAreTheSameEachTime(t *testing.T) {
	short, long := anOrderForm(3), anOrderForm(120)
	one, _, err := short.PDF()
	require.NoError(t, err)
	two, _, err := short.PDF()
	require.NoError(t, err)
	require.Equal(t, one, two)
	many, _, err := long.PDF()
	require.NoError(t, err)
	require.Equal(t, 1, bytes.Count(one, []byte("/Type /Page\n")))
	require.Greater(t, bytes.Count(many, []byte("/Type /Page\n")), 4)
}

func TestEveryLetterIsShownOrReported(t *testing.T) {
	f := anOrderForm(1)
	f.Fonts = t.TempDir() // no further fonts, whatever this machine has
	f.Facts = append(f.Facts, page.Fact{Label: "Odd", Value: "👩🏽‍🔧 漢字 ✓ שלום Ωμέγα Ж é"},
		page.Fact{Label: "Control", Value: "a\x00b\u202ec"})
	data, warnings, err := f.PDF()
	require.NoError(t, err)
	require.NotEmpty(t, data)
	require.Len(t, warnings, 1)
	require.Contains(t, warnings[0], "漢")
	require.NotContains(t, warnings[0], "Ж", "the font has Cyrillic")
	require.NotContains(t, warnings[0], "ש", "Liberation Sans has Hebrew")
	require.True(t, f.Shows("Žofie Ωμέγα Иванова שלום"))
	require.False(t, f.Shows("漢字"))
}

func TestCalendarFollowsTheStandard(t *testing.T) {
	dates := document.Dates{Shop: "Millbrook", Stamp: monday,
		Entries: []document.Entry{{UID: "p17@x", On: monday.Add(3), What: strings.Repeat("Long words, ", 12),
			Note: "a\r\nEND:VCALENDAR"}}}
	data := dates.Calendar()
	text := string(data)
	require.Contains(t, text, "DTSTART;VALUE=DATE:20260305\r\n")
	require.Contains(t, text, "DTEND;VALUE=DATE:20260306\r\n", "RFC 5545 3.6.1: the end is not included")
	require.Contains(t, text, "DTSTAMP:20260302T000000Z\r\n")
	require.Equal(t, 1, strings.Count(text, "\r\nEND:VCALENDAR"))
	for line := range strings.Lines(text) {
		require.True(t, strings.HasSuffix(line, "\r\n"), "RFC 5545 3.1")
		require.LessOrEqual(t, len(line), 77)
	}
	require.Equal(t, data, dates.Calendar())
	require.Contains(t, text, "METHOD:PUBLISH\r\n")
	require.Contains(t, text, "SEQUENCE:0\r\n")

	dates.Sequence, dates.Withdrawn = 2, true
	text = string(dates.Calendar())
	for _, line := range []string{"METHOD:CANCEL", "STATUS:CANCELLED", "SEQUENCE:2", "UID:p17@x"} {
		require.Contains(t, text, line+"\r\n", "RFC 5546 3.2.5: the same UID, cancelled, with a higher sequence")
	}
}
