package table_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

func TestReadDateKnowsDatesThatNeedNoOrder(t *testing.T) {
	for raw, want := range map[string]string{
		"2026-03-09": "2026-03-09", "2026/3/9": "2026-03-09", "20260309": "2026-03-09", "2026.03.09": "2026-03-09",
		"9 Mar 2026": "2026-03-09", "9-Mar-26": "2026-03-09", "March 9, 2026": "2026-03-09",
		"Monday, 9th March 2026": "2026-03-09",
		"2026-03-09T14:30:00Z":   "2026-03-09", "2026-03-09 00:00:00": "2026-03-09", "1 Sept 1999": "1999-09-01",
		"2026 Mar 9": "2026-03-09",
	} {
		got, why := table.ReadDate(raw, table.InferDates)
		require.Empty(t, why, raw)
		require.Equal(t, want, got.String(), raw)
	}
}

// Dates in words are read as seven languages write them: testdata/cldr-dates.tsv has its source at its head.
func TestDatesInWordsAreReadAsTheirLanguagesWriteThem(t *testing.T) {
	text, err := os.ReadFile("testdata/cldr-dates.tsv")
	require.NoError(t, err)
	read := 0
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(strings.TrimSpace(line), "\t")
		for _, raw := range []string{cells[2], strings.ToUpper(cells[2]), norm.NFD.String(cells[2])} {
			got, why := table.ReadDate(raw, table.InferDates)
			require.Empty(t, why, raw)
			require.Equal(t, cells[3], got.String(), raw)
		}
		read++
	}
	require.Equal(t, 222, read)
	for raw, want := range map[string]string{"Mo, 9.3.2026": "2026-03-09", "1er mars 2026": "2026-03-01",
		"9. Maerz 2026": "2026-03-09", "Mo, den 9. Mrz 2026": "2026-03-09", "9 jui 2026": "", "9 brumaire 2026": ""} {
		got, why := table.ReadDate(raw, table.DayFirst)
		if want == "" {
			require.NotEmpty(t, why, "%s is read as %s", raw, got)
			continue
		}
		require.Empty(t, why, raw)
		require.Equal(t, want, got.String(), raw)
	}
}

func TestLinesOfAmbiguousDatesStandInOrder(t *testing.T) {
	_, err := readDates("when\n3/4/2026\n5/4/2026\n3/4/2026\n6/4/2026\n5/4/2026\n")
	require.ErrorContains(t, err, `"3/4/2026" (lines 2, 3, 4, 5 and 6) is `)
}

func TestReadDateSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		raw   string
		order table.DateOrder
		want  string
	}{
		{"31.02.2026", table.DayFirst, "but February 2026 has 28 days"},
		{"29/02/2023", table.DayFirst, "but February 2023 has 28 days"},
		{"2026-13-01", table.InferDates, "but there is no month 13; write it as year-month-day, such as 2026-03-09"},
		{"1979-12-31", table.InferDates, "but dates before 1980 are not kept; write 1980-01-01 for anything earlier"},
		{"2206-03-09", table.InferDates, "but that is too far ahead; check the year"},
		{"3/4/2026", table.InferDates, "which is not a date; write it as year-month-day, such as 2026-03-09"},
		{"13/14/2026", table.MonthFirst, "which is not a date written month first as the others are; write it as year-month-day, such as 2026-03-09"},
		{"soon", table.DayFirst, "which is not a date; write it as year-month-day, such as 2026-03-09"},
		{"46090", table.InferDates, "which is not a date; write it as year-month-day, such as 2026-03-09"},
		{"Mar 2026", table.InferDates, "which is not a date; write it as year-month-day, such as 2026-03-09"},
	} {
		_, why := table.ReadDate(c.raw, c.order)
		require.Equal(t, c.want, why, c.raw)
	}
}

// Dates of one order, of which one shows the order, are all read by it.
func TestOneDateThatShowsTheOrderSettlesAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		order := rapid.SampledFrom([]table.DateOrder{table.DayFirst, table.MonthFirst}).Draw(t, "order")
		layout := map[table.DateOrder]string{table.DayFirst: "%[1]d/%[2]d/%[3]d",
			table.MonthFirst: "%[2]d/%[1]d/%[3]d"}[order]
		text := "when\n"
		var want []programme.Date
		dates := rapid.SliceOfN(rapid.IntRange(7305, 22000), 1, 20).Draw(t, "days")
		dates = append(dates, int(programme.NewDate(2024, 5, rapid.IntRange(13, 31).Draw(t, "telling day"))))
		for _, day := range dates {
			y, m, d := programme.Date(day).Time().Date()
			text += fmt.Sprintf(layout, d, int(m), y) + "\n"
			want = append(want, programme.Date(day))
		}
		got, bad := readDates(text)
		require.NoError(t, bad)
		require.Equal(t, want, got)
	})
}

// Unicode CLDR 48.2 (package cldr-dates-full, main/*/ca-gregorian.json): every numeric pattern of a date
// with dots between its parts, of all locales, in the notation of UTS #35. Left out are the Bulgarian and
// Macedonian ones that end in letters, and "yy. M. d." (Korean), which nothing tells from "d. M. yy." (Croatian).
var dottedPatterns = []string{
	"dd.MM.yy", "dd.MM.y", "d.MM.yy", "dd.MM.y.", "d.M.yy.", "d. M. y.", "d. M. y", "y.MM.dd", "d.M.y",
	"d.M.yy", "d. M. yy.", "dd. MM. y.", "y. MM. dd.", "y. M. d.", "d.MM.y",
}

func TestDatesWithDotsAreReadAsTheLocalesOfTheWorldWriteThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pattern := rapid.SampledFrom(dottedPatterns).Draw(t, "pattern")
		text := "when\n"
		var want []programme.Date
		for _, day := range rapid.SliceOfN(rapid.IntRange(7305, 22000), 1, 9).Draw(t, "days") {
			y, m, d := programme.Date(day).Time().Date()
			words := strings.NewReplacer("dd", fmt.Sprintf("%02d", d), "d", fmt.Sprint(d), "MM", fmt.Sprintf("%02d", m),
				"M", fmt.Sprint(int(m)),
				"yy", fmt.Sprintf("%02d", y%100), "y", fmt.Sprint(y)).Replace(pattern)
			text += words + "\n"
			want = append(want, programme.Date(day))
			alone, ok := table.ReadDay(words, false, programme.NewDate(2030, 12, 31))
			require.True(t, ok, words)
			require.Equal(t, programme.Date(day), alone, words)
		}
		got, err := readDates(text)
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}

// Dots settle the dates that have them, and no others.
func TestDotsSettleNothingThatSpeaksAgainstThem(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"a month that there is not", "when\n10.03.2026\n10.13.2026\n",
			`dates with dots such as "10.03.2026" (lines 2 and 3) have the day first, but "10.13.2026" (line 3) can only be month first; mend it, or say --dates month-first if all are written so`},
		{"slashes that show the month first", "when\n10.03.2026\n3/13/2026\n",
			`dates with dots such as "10.03.2026" (line 2) have the day first, but "3/13/2026" (line 3) can only be month first; mend it, or say --dates month-first if all are written so`},
		{"slashes in doubt", "when\n10.03.2026\n3/4/2026\n",
			`the dates can be read in two ways: "3/4/2026" (line 3) is 3 April 2026 day first or 4 March 2026 month first; say which with --dates day-first or --dates month-first`},
		{"both orders among the dots", "when\n23.03.2026\n10.13.2026\n",
			`the dates are not all written in one order: "23.03.2026" (line 2) has the day first, "10.13.2026" (line 3) the month; write them all as year-month-day, such as 2026-03-09`},
	} {
		_, err := readDates(c.text)
		require.EqualError(t, err, "dates.csv: "+c.want+".", c.name)
	}
	got, err := readDates("when\n10.03.2026\n25/4/2026\n5/4/2026\n")
	require.NoError(t, err)
	require.Equal(t, "[2026-03-10 2026-04-25 2026-04-05]", fmt.Sprint(got))
}

// A form that came on 1 December was not counted on 10 December, and so neither on 12 October.
func TestADayWithDotsIsNotTurnedRoundToFit(t *testing.T) {
	_, ok := table.ReadDay("10.12.2026", false, programme.NewDate(2026, 12, 1))
	require.False(t, ok)
	day, ok := table.ReadDay("10.11.", false, programme.NewDate(2026, 12, 1))
	require.True(t, ok)
	require.Equal(t, "2026-11-10", day.String())
}

// readDates reads a file of one column of dates.
func readDates(text string) ([]programme.Date, error) {
	l, err := table.Read("dates.csv", []byte(text), table.Options{},
		&table.Form[programme.Date]{Columns: []table.Column[programme.Date]{
			{Name: "when", Required: true, Date: func(d *programme.Date) *programme.Date { return d }}}})
	if err != nil {
		return nil, err
	}
	return l.Rows, nil
}
