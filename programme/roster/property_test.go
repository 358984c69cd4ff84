package roster_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/table"
)

// drawPeople draws staff with numbers from first on; names need not be kind.
func drawPeople(t *rapid.T, first, atLeast int) []programme.Person {
	n := rapid.IntRange(atLeast, 12).Draw(t, "people")
	list := make([]programme.Person, n)
	for i := range list {
		p := &list[i]
		p.StaffID = fmt.Sprintf("%04d", first+i)
		p.Name = clean.Line(rapid.StringMatching(`[A-ZŁÅ'=+@-][a-zéø"; -]{0,8} ?[A-Zaç]{1,6}`).Draw(t, "name")) +
			fmt.Sprint(i)
		p.Role = rapid.SampledFrom([]string{"barista", "baker", "supervisor"}).Draw(t, "role")
		p.Site = rapid.SampledFrom([]string{"", "Harbour", "Mill Lane", "Total Foods, West"}).Draw(t, "site")
		p.Start = programme.NewDate(2020, time.January, 1).Add(rapid.IntRange(0, 2200).Draw(t, "start"))
		if rapid.IntRange(0, 4).Draw(t, "leaves") == 0 {
			p.End = p.Start.Add(rapid.IntRange(0, 400).Draw(t, "stay"))
		}
		p.Sizes = map[string]string{}
		if rapid.Bool().Draw(t, "sized") {
			p.Sizes["top"] = rapid.SampledFrom([]string{"XS", "M", "2XL"}).Draw(t, "top")
		}
	}
	return list
}

func written(t require.TestingT, people []programme.Person) []byte {
	var b bytes.Buffer
	require.NoError(t, roster.Write(&b, people))
	return b.Bytes()
}

// apply imports a file the way the store does: changed persons replace the known ones.
func apply(t require.TestingT, before []programme.Person, data []byte, opt roster.CompareOptions) []programme.Person {
	list, err := roster.Read("staff.csv", data, bakery())
	require.NoError(t, err)
	diff, err := roster.Compare(before, list, opt)
	require.NoError(t, err)
	byID := map[string]programme.Person{}
	for _, p := range append(slices.Clone(before), diff.Changed...) {
		byID[p.StaffID] = p
	}
	after := make([]programme.Person, 0, len(byID))
	for _, p := range byID {
		after = append(after, p)
	}
	slices.SortFunc(after, func(a, b programme.Person) int { return strings.Compare(a.StaffID, b.StaffID) })
	return after
}

func TestAListThatWasWrittenIsReadAsTheSamePeople(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		staff := drawPeople(t, 1, 1)
		list, err := roster.Read("staff.csv", written(t, staff), bakery())
		require.NoError(t, err)
		require.Equal(t, staff, people(list))
	})
}

func TestTheSameFileTwiceChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opt := roster.CompareOptions{AsOf: today, Full: rapid.Bool().Draw(t, "full")}
		data := written(t, drawPeople(t, 5, 1))
		once := apply(t, drawPeople(t, 1, 0), data, opt)
		list, err := roster.Read("staff.csv", data, bakery())
		require.NoError(t, err)
		diff, err := roster.Compare(once, list, opt)
		require.NoError(t, err)
		require.True(t, diff.Empty(), "%+v", diff)
	})
}

func TestTwoFilesOfDifferentPeopleCommute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opt := roster.CompareOptions{AsOf: today}
		known := drawPeople(t, 1, 0)
		a, b := written(t, drawPeople(t, 3, 1)), written(t, drawPeople(t, 100, 1))
		require.Equal(t, apply(t, apply(t, known, a, opt), b, opt), apply(t, apply(t, known, b, opt), a, opt))
	})
}

func TestAFileOfItsOwnExportChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		known := apply(t, nil, written(t, drawPeople(t, 1, 1)), roster.CompareOptions{AsOf: today})
		require.Equal(t, known, apply(t, known, written(t, known), roster.CompareOptions{AsOf: today, Full: true}))
	})
}

// The order of rows and of columns says nothing.
func TestRowsAndColumnsMayStandInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		staff := drawPeople(t, 1, 2)
		rows, err := csv.NewReader(bytes.NewReader(written(t, staff))).ReadAll()
		require.NoError(t, err)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		rng.Shuffle(len(rows)-1, func(i, j int) { rows[i+1], rows[j+1] = rows[j+1], rows[i+1] })
		order := rng.Perm(len(rows[0]))
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = rapid.SampledFrom([]rune{',', ';', '\t', '|'}).Draw(t, "separator")
		for _, r := range rows {
			cells := make([]string, len(r))
			for i, c := range order {
				cells[i] = r[c]
			}
			require.NoError(t, w.Write(cells))
		}
		w.Flush()
		require.Equal(t, apply(t, nil, written(t, staff), roster.CompareOptions{AsOf: today}),
			apply(t, nil, b.Bytes(), roster.CompareOptions{AsOf: today}))
	})
}

// A list of staff whose every date can be read in two ways is refused, and the
// refusal names a line that is in doubt.
func TestAmbiguousDatesAreNeverSettledInSilence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "rows")
		sep := rapid.SampledFrom([]string{"/", "-", " "}).Draw(t, "sign")
		var b strings.Builder
		b.WriteString("staff_id,name,role,start_date\n")
		firstInDoubt := 0
		for i := range n {
			x, y := rapid.IntRange(1, 12).Draw(t, "a"), rapid.IntRange(1, 12).Draw(t, "b")
			if x != y && firstInDoubt == 0 {
				firstInDoubt = i + 2
			}
			fmt.Fprintf(&b, "%d,Ana %d,barista,%d%s%d%s2025\n", i+1, i, x, sep, y, sep)
		}
		_, err := roster.Read("staff.csv", []byte(b.String()), bakery())
		if firstInDoubt == 0 {
			require.NoError(t, err)
			return
		}
		require.ErrorContains(t, err, "can be read in two ways")
		require.Regexp(t, fmt.Sprintf(`lines? %d\b`, firstInDoubt), err.Error())
	})
}

func TestGoodRowsAreTakenAndTheOthersCanBeMended(t *testing.T) {
	const file = "Staff ID;Name;Role;Start Date;Size Top\n" +
		"0020;Jory Kettlesing;barista;3/4/2026;L\n" +
		"0021;Kezia Larkfield;barrista;5/4/2026;M\n" +
		"0022;Linus Mossop;baker;23/2/2026;17\n" +
		"0023;Maren Netherby;baker;30/2/2026;M\n"
	list, err := roster.Read("staff.csv", []byte(file), bakery())
	var errs table.Errors
	require.ErrorAs(t, err, &errs)
	require.Len(t, errs, 3)
	require.Len(t, list.Rows, 1)
	require.Equal(t, "0020", list.Rows[0].Person.StaffID)

	var b bytes.Buffer
	require.NoError(t, list.Mend(&b, errs))
	mended := b.String()
	require.Contains(t, mended, "2026-04-05") // 5/4/2026 alone would not show that the day comes first
	require.Contains(t, mended, "30/2/2026")
	for bad, good := range map[string]string{"barrista": "barista", ";17": ";XL", ",17": ",XL",
		"30/2/2026": "2026-02-28"} {
		mended = strings.ReplaceAll(mended, bad, good)
	}
	again, err := roster.Read("mended.csv", []byte(mended), bakery())
	require.NoError(t, err)
	require.Len(t, again.Rows, 3)
	require.Equal(t, "2026-04-05", again.Rows[0].Person.Start.String())
}

// FuzzRead checks that whatever can be read can be written and read again.
func FuzzRead(f *testing.F) {
	goldentest.Seeds(f, "../../testdata/rosters/*.*", "../../testdata/malformed/roster/*")
	f.Add([]byte("staff_id,name,role,start_date,size_top\n1,\"Larkfield, Kezia\",baker,2026-03-02,x-large\n"))
	f.Add([]byte("\xff\xfen\x00a\x00m\x00e\x00"))
	f.Add([]byte("name;role;start_date;site\n'=1+1;a;3/13/24;\"x\ny\"\nTotal;;;\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		list, err := roster.Read("staff.csv", data, roster.Options{})
		if err != nil {
			var errs table.Errors
			require.True(t, errors.As(err, &errs) && len(errs) > 0, "%T", err)
			return
		}
		staff := people(list)
		numbered := !slices.ContainsFunc(staff, func(p programme.Person) bool { return p.StaffID == "" })
		if len(staff) == 0 || !numbered {
			return
		}
		again, err := roster.Read("again.csv", written(t, staff), roster.Options{})
		require.NoError(t, err)
		require.Equal(t, staff, people(again))
	})
}
