package demand

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// What ends of a starter's piece by the weeks since it came: along straight lines between the middles of weeks.
func TestHowMuchOfAStartersPieceEnds(t *testing.T) {
	e := &starterEnds{memo: map[kitPiece][]float64{{"tee", ""}: {0, 0.1, 0.3, 0.6}, {"vest", ""}: {0},
		{"cap", ""}: {0, 0.8, 1.6}}}
	for weeks, want := range map[float64]float64{0: 0, -1: 0, 0.25: 0.05, 0.5: 0.1, 1: 0.2, 1.5: 0.3, 2: 0.45,
		2.5: 0.6, 3: 0.75} {
		require.InDelta(t, want, e.after("tee", "", weeks), 1e-12, "%g weeks", weeks)
	}
	require.Zero(t, e.after("vest", "", 9), "worked examples leave it out")
	require.InDelta(t, 0.9, e.after("cap", "", 2), 0, "below one piece")
}

// Of a starter who comes on any day as likely a piece has half the time to end in, in whole weeks or not; where
// more come early, more.
func TestHowMuchOfAPieceEndsThatIsYetToBeHandedOut(t *testing.T) {
	even := []float64{0, 0.02} // so much a week, all the time: 0.04
	for w := range 20 {
		even = append(even, 0.02+0.04*float64(w+1))
	}
	early := [12]float64{5, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}
	for _, c := range []struct {
		months [12]float64
		days   int
	}{{[12]float64{}, 7}, {[12]float64{}, 17}, {[12]float64{}, 3}, {[12]float64{}, 70}, {early, 70}, {early, 45}} {
		f := &forecast{scene: &scene{in: &Input{AsOf: programme.NewDate(2025, 12, 31),
			Staffing: Staffing{Months: wear.NewSeason(c.months)}}}, days: c.days}
		e := &starterEnds{f: f, memo: map[kitPiece][]float64{{"tee", "red"}: even}}
		weighed, all := 0.0, 0.0
		for d := range c.days { // in the middle of each day
			at := f.in.AsOf.Add(d)
			weight := f.in.Staffing.Months.Days(at, at+1)
			all, weighed = all+weight, weighed+weight*0.04*(float64(c.days-d)-0.5)/7
		}
		off := 1e-9
		if c.months[0] > 1 {
			off = 2e-3 // the week in which months meet is taken as even
		}
		require.InDelta(t, weighed/all, e.hired(c.days)("tee", "red"), off, "%d days", c.days)
	}
}

// What people on the roster are to be given by a day, in lines, and what of it a season takes.
func TestWhatIsGivenByADay(t *testing.T) {
	f := &forecast{scene: &scene{in: &Input{AsOf: 1000}, lines: []programme.SKU{{Garment: "tee"}, {Garment: "vest"}}}}
	need := func(line, pieces int, on, begins programme.Date, there float64) starter {
		return starter{Short{StaffID: "a", SKU: f.lines[line], Pieces: pieces, Begins: begins}, line, on, 0, there}
	}
	f.starters = []starter{need(0, 2, 1007, 0, 1), need(0, 3, 1008, 1008, 1), need(1, 4, 1007, 1007, 0.25)}
	ends := &starterEnds{memo: map[kitPiece][]float64{{"tee", ""}: {0}, {"vest", ""}: {0}}}
	got := f.startersBy(7, ends)
	requireSame(t, map[int]float64{2: 1}, got[0])
	requireSame(t, map[int]float64{0: 0.75, 4: 0.25}, got[1])
	got = f.startersBy(8, ends)
	requireSame(t, map[int]float64{5: 1}, got[0])
	requireSame(t, map[int]float64{0: 1}, f.startersBy(6, ends)[1])
	require.Equal(t, []float64{0, 4}, f.kitBy(7))
	require.Equal(t, []float64{3, 4}, f.kitBy(8))
	for week, want := range []float64{0, 3, 0} {
		require.InDelta(t, want, f.kitIn(0, week), 0, "week %d", week)
	}
	require.InDelta(t, 4, f.kitIn(1, 0), 0, "the seventh day is of the first week")
}

// Ledgers of more pieces than any shop hands out are refused, and those that heap them on few.
func TestWhichLedgersAreTooMuch(t *testing.T) {
	row := func(staff string, pieces int, on programme.Date) programme.Movement {
		return programme.Movement{Kind: programme.Issued, StaffID: staff,
			SKU: programme.SKU{Garment: "tee", Colour: "red"}, Pieces: pieces, Date: on}
	}
	spreadOut := func(people, each int) (list []programme.Movement) {
		for i := range people {
			list = append(list, row(string(rune(1000+i)), each, 10))
		}
		return list
	}
	require.Nil(t, tooMuch([]programme.Movement{row("a", mostIssued+1, 12)}, 11), "not handed out yet")
	require.Nil(t, tooMuch(spreadOut(20, usualHeld), 10))
	much := tooMuch([]programme.Movement{row("a", mostIssued, 10), row("b", 1, 10)}, 10)
	require.NotNil(t, much)
	require.Equal(t, "a", much.StaffID)
	require.ErrorContains(t, much, "of tee red to a in 1 rows")
	require.Nil(t, tooMuch([]programme.Movement{row("a", mostHeaped+usualHeld, 10)}, 10),
		"just so many beyond the usual")
	require.NotNil(t, tooMuch([]programme.Movement{row("a", mostHeaped+usualHeld+1, 10)}, 10))
	ended := row("b", mostIssued, 10)
	ended.Kind = programme.Ended
	require.Nil(t, tooMuch([]programme.Movement{row("a", 5, 10), ended}, 10))
}
