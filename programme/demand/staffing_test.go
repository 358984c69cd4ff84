package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// What a roster shows, counted day by day for people who came and went on the days on which it
// matters: those of the records' beginning, of today, and of the end of being new.
func TestARosterIsCountedDayByDay(t *testing.T) {
	const asOf programme.Date = 20000
	rng := rand.New(rand.NewPCG(3, 3))
	for _, records := range []programme.Date{asOf - 400, asOf - 1096, asOf - 1500} {
		start := max(records, asOf-1096)
		days := []programme.Date{start - 300, start - 1, start, start + 1, start + 60, asOf - 122, asOf - 121, asOf - 1,
			asOf, asOf + 1}
		var staff []programme.Person
		for range 300 {
			p := programme.Person{Start: days[rng.IntN(len(days))]}
			switch rng.IntN(4) {
			case 0:
				p.End = p.Start.Add(119 + rng.IntN(5))
			case 1:
				p.End = days[rng.IntN(len(days))]
			}
			if p.End.IsZero() || p.End > p.Start {
				staff = append(staff, p)
			}
		}
		client := &programme.Client{RecordsStart: records}
		months := wear.NewSeason([12]float64{0.5, 1, 1, 1.5, 1, 1, 1, 1, 1, 1, 1, 1})
		got := observe(client, staff, asOf, months)
		heads, personDays, earlyDays, leftEarly := 0, 0, 0, 0
		joined, left := map[programme.Date]int{}, map[programme.Date]int{}
		for _, p := range staff {
			if p.Start <= asOf && (p.End.IsZero() || p.End >= asOf) {
				heads++
			}
			for d := start + 1; d <= asOf; d++ { // from one day to the next
				gone := !p.End.IsZero() && p.End < asOf && d > p.End
				if d > p.Start && !gone {
					personDays++
					if d-p.Start <= 122 {
						earlyDays++
					}
				}
				if d == p.Start {
					joined[d]++
				}
			}
			if !p.End.IsZero() && p.End >= start && p.End < asOf {
				left[p.End]++
				if p.End-p.Start < 122 {
					leftEarly++
				}
			}
		}
		require.InDelta(t, heads, got.heads, 0)
		require.InDelta(t, float64(personDays)/365.2425, got.personYears, 1e-9)
		require.InDelta(t, float64(earlyDays)/365.2425, got.earlyYears, 1e-9)
		require.InDelta(t, leftEarly, got.leftEarly, 0)
		require.Equal(t, joined, got.joined)
		require.Equal(t, left, got.left)
		require.InDelta(t, float64(asOf-start), got.days, 0)
		season := 0.0
		for d := start + 1; d <= asOf; d++ {
			season += months.Days(d-1, d)
		}
		require.InDelta(t, season/365.2425, got.seasons, 1e-9)
	}
	for _, records := range []programme.Date{0, asOf, asOf + 5} {
		got := observe(&programme.Client{RecordsStart: records}, []programme.Person{{Start: asOf - 50}}, asOf,
			wear.NewSeason([12]float64{}))
		require.Equal(t, [4]float64{1, 0, 0, 0}, [4]float64{got.heads, got.personYears, got.days, got.seasons},
			"no records yet")
	}
}

// Rates that a programme states, with what the statement weighs; where it states none, or nobody.
func TestStatedRatesOfComingAndGoing(t *testing.T) {
	shop := &programme.Shop{Baselines: programme.Baselines{LeaversPerYear: 0.4, LeaversPersonYears: 6}}
	gamma := func(rate, weight float64) wear.Gamma { return wear.Gamma{Count: rate * weight, Exposure: weight} }
	for name, c := range map[string]struct {
		says programme.Leavers
		want wear.Gamma
	}{
		"nothing":            {programme.Leavers{}, gamma(0.4, 6)},
		"a rate":             {programme.Leavers{PerYear: 0.9}, gamma(0.9, 6)},
		"a rate that weighs": {programme.Leavers{PerYear: 0.9, Strength: 2}, gamma(0.9, 2)},
		"a weight alone":     {programme.Leavers{Strength: 2}, gamma(0.4, 2)},
		"that nobody leaves": {programme.Leavers{Nobody: true}, wear.Gamma{Count: 0.5, Exposure: 6}},
		"nobody, and that it weighs": {programme.Leavers{Nobody: true, Strength: 9},
			wear.Gamma{Count: 0.5, Exposure: 9}},
	} {
		require.Equal(t, c.want, leaving(shop, &programme.Client{Leavers: c.says}), name)
	}
	require.Equal(t, gamma(0.01, 1), leaving(&programme.Shop{}, &programme.Client{}), "a shop that knows nothing")

	roles := []programme.Role{{Code: "a"}, {Code: "b"}}
	for name, c := range map[string]struct {
		says programme.Intake
		want wear.Gamma
	}{
		"nothing":            {programme.Intake{}, wear.Gamma{Count: 1, Exposure: 1 / 2.5}},
		"a weight alone":     {programme.Intake{Strength: 3}, wear.Gamma{Count: 1, Exposure: 1 / 2.5}},
		"a rate":             {programme.Intake{PerYear: 8}, gamma(8, 1)},
		"a rate that weighs": {programme.Intake{PerYear: 8, Strength: 3}, gamma(8, 3)},
		"of each role": {programme.Intake{PerYear: 99, PerRole: map[string]float64{"a": 2, "b": 5, "c": 50},
			Strength: 3}, gamma(7, 3)},
		"of no role any": {programme.Intake{PerRole: map[string]float64{"a": 0}, Strength: 3},
			wear.Gamma{Count: 0.5, Exposure: 3}},
		"nobody":              {programme.Intake{Nobody: true}, wear.Gamma{Count: 0.5, Exposure: 1}},
		"nobody, that weighs": {programme.Intake{Nobody: true, Strength: 4}, wear.Gamma{Count: 0.5, Exposure: 4}},
	} {
		require.Equal(t, c.want, joining(&programme.Client{Roles: roles, Intake: c.says}, 2.5), name)
	}
	require.InDelta(t, 0.1, joining(&programme.Client{}, 0).Mean(), 1e-12, "nobody to replace yet")
	require.Equal(t, wear.Certain(3), joining(&programme.Client{Known: true, Intake: programme.Intake{PerYear: 3}}, 1))
}

// The early rate of leaving is learnt beside the other, people in groups counting as many as they are groups.
func TestHowTheNewLeave(t *testing.T) {
	rate := wear.Gamma{Count: 6, Exposure: 10}
	require.Equal(t, wear.Gamma{Count: 2 * 0.6, Exposure: 2}, leavingEarly(&programme.Client{}, rate))
	require.Equal(t, rate, leavingEarly(&programme.Client{Known: true}, rate))
	s := Staffing{Leaving: wear.Certain(0.5), LeavingEarly: wear.Certain(3)}
	const start programme.Date = 1000
	for _, c := range []struct {
		from, to    programme.Date
		early, late float64
	}{{1000, 1122, 122, 0}, {1000, 1123, 122, 1}, {1050, 1200, 72, 78}, {1122, 1200, 0, 78}, {1500, 1600, 0, 100},
		{1050, 1060, 10, 0}, {1060, 1050, 0, 0}} {
		require.InDelta(t, math.Exp(-(3*c.early+0.5*c.late)/365.2425), s.Stays(start, c.from, c.to), 1e-9, "%+v", c)
	}
}

// Those who leave on one day count as the groups in which people go.
func TestEarlyLeaversInGroups(t *testing.T) {
	const asOf programme.Date = 20000
	client := &programme.Client{Code: "c", RecordsStart: asOf - 900,
		Leavers: programme.Leavers{PerYear: 1, Strength: 1}, Roles: []programme.Role{{Code: "a"}}}
	var staff []programme.Person
	for crew := range programme.Date(4) {
		for range 6 {
			staff = append(staff, programme.Person{Role: "a", Start: asOf - 800 + 200*crew, End: asOf - 700 + 200*crew})
		}
	}
	s := LearnStaffing(&programme.Shop{}, client, staff, asOf)
	size := s.LeaveTogether.Size()
	require.Greater(t, size, 3.0)
	require.InEpsilon(t, 2*s.Leaving.Mean()+24/size, s.LeavingEarly.Count, 1e-9)
	require.InEpsilon(t, 2+24*100/365.2425/size, s.LeavingEarly.Exposure, 1e-9)
}

// Shares of roles: half a head more than there are, of those whose role and cut are known; where the
// programme states how many come to each, that.
func TestSharesOfRoles(t *testing.T) {
	const asOf programme.Date = 1000
	client := &programme.Client{Roles: []programme.Role{{Code: "a"}, {Code: "b"}, {Code: "c"}}}
	staff := []programme.Person{{Role: "a", Start: 900}, {Role: "a", Start: 1000}, {Role: "a", Start: 1001},
		{Role: "b", Start: 900, End: 999}, {Role: "b", Start: 900, End: 1000}, {Role: "x", Start: 900}}
	shares := roleShares(client, outfitsOf(&programme.Shop{}, client, staff), staff, asOf)
	require.InDeltaMapValues(t, map[string]float64{"a": 2.5 / 4.5, "b": 1.5 / 4.5, "c": 0.5 / 4.5}, shares, 1e-12)
	client.Intake.PerRole = map[string]float64{"a": 1, "b": 3}
	shares = roleShares(client, outfitsOf(&programme.Shop{}, client, staff), staff, asOf)
	require.InDeltaMapValues(t, map[string]float64{"a": 0.25, "b": 0.75, "c": 0}, shares, 1e-12)
	client.Intake.PerRole = map[string]float64{"z": 1}
	shares = roleShares(client, outfitsOf(&programme.Shop{}, client, staff), staff, asOf)
	require.InDeltaMapValues(t, map[string]float64{"a": 0, "b": 0, "c": 0}, shares, 0)
}

// People of a size that a mix does not know say nothing of what it is worth; however many people
// there are, it is worth between the least and the most of what is thought of.
func TestWhatAMixOfSizesIsWorth(t *testing.T) {
	known := worth(20, []float64{0.5, 0.5}, []float64{6, 1})
	require.InDelta(t, known, worth(20, []float64{0.5, 0, 0.5}, []float64{6, 9, 1}), 1e-12)
	require.InDelta(t, 20, worth(20, []float64{0.5, 0, 0.5}, []float64{0, 9, 0}), 0, "nobody tells")
	require.InDelta(t, 1, worth(0, []float64{1}, []float64{0}), 0, "one at least")
	alike, others := worth(20, []float64{0.7, 0.3}, []float64{3500, 1500}),
		worth(20, []float64{0.7, 0.3}, []float64{100, 4900})
	require.True(t, others >= 5 && others < 6, "%g", others)
	require.True(t, alike > 100 && alike < 320, "%g", alike)
}

// The exposure of days and parts of days, by the factors of their months.
func TestExposureOfDays(t *testing.T) {
	s := Staffing{Months: wear.NewSeason([12]float64{1, 3, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1})}
	today := programme.NewDate(2026, 1, 29) // two days of January are left
	year := wear.NewSeason([12]float64{1, 3, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1})
	january, february := year.Days(today, today+1), year.Days(today+2, today+3)
	require.InEpsilon(t, 3, february/january, 1e-9)
	for days, want := range map[float64]float64{0: 0, 1: january, 1.5: 1.5 * january, 2: 2 * january,
		2.25: 2*january + february/4, 5: 2*january + 3*february} {
		require.InDelta(t, want/365.2425, s.season(today, days), 1e-12, "%g days", days)
	}
}
