package roster_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
)

// crew is n people who have been there for years, numbered from 0001.
func crew(n int) []programme.Person {
	list := make([]programme.Person, n)
	for i := range list {
		list[i] = programme.Person{StaffID: "000" + string(rune('1'+i)), Name: "Ana " + string(rune('A'+i)),
			Role: "baker", Start: today.Add(-900), Sizes: map[string]string{}}
	}
	return list
}

func compared(t *testing.T, before []programme.Person, file string, full bool) *roster.Diff {
	t.Helper()
	list, err := roster.Read("staff.csv", []byte(file), bakery())
	require.NoError(t, err)
	diff, err := roster.Compare(before, list, roster.CompareOptions{AsOf: today, Full: full})
	require.NoError(t, err)
	return diff
}

const onlyFirst = "staff_id,name,role,start_date\n0001,Ana A,baker,2023-09-21\n"

func TestWhoIsMissingFromAFullListHasLeft(t *testing.T) {
	for name, c := range map[string]struct {
		start programme.Date
		want  programme.Date // last day; no date = still there
	}{
		"yesterday was the last day":                    {today.Add(-900), today.Add(-1)},
		"who started today was there for a day":         {today, today},
		"who has yet to start is rarely in such a list": {today.Add(1), 0},
	} {
		t.Run(name, func(t *testing.T) {
			before := crew(2)
			before[1].Start = c.start
			diff := compared(t, before, onlyFirst, true)
			if c.want.IsZero() {
				require.True(t, diff.Empty())
				return
			}
			require.Len(t, diff.Left, 1)
			require.Equal(t, c.want, diff.Left[0].After.End)
			require.Equal(t, "0002", diff.Left[0].After.StaffID)
		})
	}
}

func TestAQuarterMayLeaveAtOnceAndNoMore(t *testing.T) {
	file := "staff_id,name,role,start_date\n0001,Ana A,baker,2023-09-21\n0002,Ana B,baker,2023-09-21\n0003,Ana C,baker,2023-09-21\n"
	require.False(t, compared(t, crew(4), file, true).TooManyLeave(), "one of four")
	require.True(t, compared(t, crew(5), file, true).TooManyLeave(), "two of five")
}

func TestAListOfPresentStaffWithdrawsNoNotice(t *testing.T) {
	const withEnds = "staff_id,name,role,start_date,end_date\n0001,Ana A,baker,2023-09-21,\n"
	for name, c := range map[string]struct {
		end  programme.Date
		file string
		back bool
	}{
		"a last day to come stays":                    {today.Add(30), onlyFirst, false},
		"so does one of today":                        {today, onlyFirst, false},
		"who had left is back":                        {today.Add(-30), onlyFirst, true},
		"an empty last day where others stand is one": {today.Add(30), withEnds, true},
	} {
		t.Run(name, func(t *testing.T) {
			before := crew(1)
			before[0].End = c.end
			diff := compared(t, before, c.file, false)
			require.Equal(t, c.back, len(diff.Back) == 1)
			require.Equal(t, c.back, !diff.Empty())
		})
	}
}

func TestAForgottenLeaverStaysForgotten(t *testing.T) {
	before := crew(1)
	before[0].Name, before[0].End = "", today.Add(-400)
	diff := compared(t, before,
		"staff_id,name,role,site,start_date,end_date\n0001,Ana A,supervisor,Mill Lane,2023-09-21,2025-02-02\n", false)
	require.Len(t, diff.Changed, 1)
	require.Empty(t, diff.Changed[0].Name)
	require.Empty(t, diff.Changed[0].Site)
	diff = compared(t, before,
		"staff_id,name,role,site,start_date,end_date\n0001,Ana A,supervisor,Mill Lane,2023-09-21,\n", false)
	require.Equal(t, "Ana A", diff.Changed[0].Name, "who comes back is named again")
}

func TestASizeThatChangesIsKeptAsOutgrown(t *testing.T) {
	before := []programme.Person{{StaffID: "0001", Name: "Ada Brackenholt", Role: "barista",
		Start: programme.NewDate(2021, 3, 15), Sizes: map[string]string{"top": "M"}}}
	for _, c := range []struct {
		size     string
		outgrown map[string][]string
	}{{"M", nil}, {"L", map[string][]string{"top": {"M"}}}, {"", nil}} {
		// Another site, so that something changes.
		diff := compared(t, before, "staff_id,name,role,site,start_date,size_top\n0001,Ada Brackenholt,barista,Mill Lane,2021-03-15,"+c.size+"\n", false)
		require.Len(t, diff.Changed, 1)
		require.Equal(t, c.outgrown, diff.Changed[0].Outgrown, c.size)
		require.Equal(t, map[string]string{"top": "M"}, before[0].Sizes, "the person known before stays as it was")
	}
}
