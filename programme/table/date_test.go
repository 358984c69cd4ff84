package table_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

func TestReadDateKnowsDatesThatNeedNoOrder(t *testing.T) {
	for raw, want := range map[string]string{
		"2026-03-09": "2026-03-09", "2026/3/9": "2026-03-09", "20260309": "2026-03-09", "2026.03.09": "2026-03-09",
		"9 Mar 2026": "2026-03-09", "9-Mar-26": "2026-03-09", "March 9, 2026": "2026-03-09", "Monday, 9th March 2026": "2026-03-09",
		"2026-03-09T14:30:00Z": "2026-03-09", "2026-03-09 00:00:00": "2026-03-09", "1 Sept 1999": "1999-09-01", "2026 Mar 9": "2026-03-09",
	} {
		got, why := table.ReadDate(raw, table.InferDates)
		require.Empty(t, why, raw)
		require.Equal(t, want, got.String(), raw)
	}
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
		layout := map[table.DateOrder]string{table.DayFirst: "%[1]d/%[2]d/%[3]d", table.MonthFirst: "%[2]d/%[1]d/%[3]d"}[order]
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

// readDates reads a file of one column of dates.
func readDates(text string) ([]programme.Date, error) {
	l, err := table.Read("dates.csv", []byte(text), table.Options{}, &table.Form[programme.Date]{Columns: []table.Column[programme.Date]{
		{Name: "when", Required: true, Date: func(d *programme.Date) *programme.Date { return d }}}})
	if err != nil {
		return nil, err
	}
	return l.Rows, nil
}
