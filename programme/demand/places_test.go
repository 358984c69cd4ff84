package demand_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// aprons is a client of some people who hold burgundy aprons, and whose kit is lines.
func aprons(t require.TestingT, people, each int, asOf programme.Date, lead int,
	lines ...programme.KitLine) *demand.Input {
	sizes := []programme.GarmentSize{{Code: "one", Cost: 700}}
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{
			{Code: "apron", FabricClass: "apron-twill", SizeFamily: "one", Sizes: sizes, WearsPerWash: 1},
			{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "one", Sizes: sizes, WearsPerWash: 1},
		},
	}
	client := &programme.Client{
		Code: "c", Laundering: programme.Laundering{Regime: "home-low"},
		Work:         programme.Work{Duty: programme.Medium, DaysPerWeek: 5},
		RecordsStart: asOf - 400, Roles: []programme.Role{{Code: "all", Kit: lines}},
	}
	var staff []programme.Person
	var ledger []programme.Movement
	for i := range people {
		id := string(rune('a' + i))
		staff = append(staff, programme.Person{StaffID: id, Role: "all", Start: asOf - 380})
		for _, l := range lines {
			if l.InsteadOf == (programme.Former{}) {
				ledger = append(ledger, programme.Movement{Date: asOf - 370, Kind: programme.Issued, StaffID: id,
					SKU: programme.SKU{Garment: l.Garment, Colour: l.Colour, Size: "one"}, Pieces: each})
			}
		}
	}
	in, err := demand.Prepare(shop, client, staff, ledger, nil, nil, asOf)
	require.NoError(t, err)
	in.LeadDays = lead
	in.ExpectNoStarters()
	return in
}

var (
	newYear  = programme.NewDate(2027, 1, 4)
	burgundy = programme.KitLine{Garment: "apron", Colour: "burgundy", Each: 3, WearsAWeek: 5}
)

func blackInstead(from programme.Date, change programme.Change) programme.KitLine {
	l := burgundy
	l.Colour, l.From, l.InsteadOf, l.Change = "black", from, burgundy.Former(), change
	return l
}

// byColour are expected pieces, and those owed or due on a known day, by colour.
func byColour(in *demand.Input, weeks int) (mean, known map[string]float64) {
	mean, known = map[string]float64{}, map[string]float64{}
	for _, l := range in.Muster(weeks).Lines {
		mean[l.Colour] += l.Mean
	}
	for _, list := range [][]demand.Short{in.Short(), in.Coming()} {
		for _, s := range list {
			known[s.Colour] += float64(s.Pieces)
		}
	}
	return mean, known
}

func TestWhatEndsIsReplacedByTheLineThatIsThenInForce(t *testing.T) {
	before, _ := byColour(aprons(t, 8, 3, newYear, 0, burgundy), 20)
	sum := before["burgundy"]
	require.Greater(t, sum, 1.0)
	short, _ := byColour(aprons(t, 8, 3, newYear, 0, burgundy), 8)
	for _, change := range []programme.Change{programme.AsWorn, programme.RunOut} {
		// From the ninth week on it is the new one.
		mean, known := byColour(aprons(t, 8, 3, newYear, 0, burgundy, blackInstead(newYear+57, change)), 20)
		require.Empty(t, known, "nobody is owed anything by the change")
		require.InDelta(t, short["burgundy"], mean["burgundy"], 0.02*sum)
		require.InDelta(t, sum, mean["burgundy"]+mean["black"], 0.02*sum)
		// An order of today is not for what ends after the change: a later one comes in time.
		mean, _ = byColour(aprons(t, 8, 3, newYear, 14, burgundy, blackInstead(newYear+57, change)), 20)
		require.InDelta(t, short["burgundy"], mean["burgundy"], 0.02*sum)
		require.Zero(t, mean["black"])
		// An order of today that arrives after the change is of the new alone.
		mean, _ = byColour(aprons(t, 8, 3, newYear, 60, burgundy, blackInstead(newYear+57, change)), 20)
		require.Zero(t, mean["burgundy"])
		require.InDelta(t, sum, mean["black"], 1e-6*sum)
	}
}

func TestAChangeOnOneDayAsksForItsPiecesOnThatDay(t *testing.T) {
	in := aprons(t, 8, 3, newYear, 14, burgundy, blackInstead(newYear+57, programme.OnTheDay))
	mean, known := byColour(in, 20)
	require.Equal(t, map[string]float64{"black": 24}, known)
	for _, s := range in.Coming() {
		require.Equal(t, newYear+57, s.Begins)
	}
	short, _ := byColour(aprons(t, 8, 3, newYear, 0, burgundy), 8)
	require.InDelta(t, short["burgundy"], mean["burgundy"], 0.02*short["burgundy"],
		"the old are replaced up to that day alone")
	require.Greater(t, mean["black"], 24.0)
	// The week before, no order could bring an old one in time.
	mean, _ = byColour(aprons(t, 8, 3, newYear, 14, burgundy, blackInstead(newYear+7, programme.OnTheDay)), 20)
	require.Zero(t, mean["burgundy"])
}

func TestASeasonAsksForItsPiecesOnItsFirstDay(t *testing.T) {
	summer := programme.KitLine{Garment: "tee", Colour: "white", Each: 4, WearsAWeek: 5}
	for m := time.April; m <= time.September; m++ {
		summer.Months[m-1] = true
	}
	april := programme.NewDate(2027, 4, 1)
	// In January three of four are there; nothing ends before April.
	in := aprons(t, 5, 3, newYear, 14, summer)
	require.Empty(t, in.Short())
	for _, s := range in.Coming() {
		require.Equal(t, april, s.Begins)
		require.Equal(t, 1, s.Pieces)
	}
	require.Len(t, in.Coming(), 5)
	weeks := april.Sub(newYear) / 7
	mean, _ := byColour(in, weeks-1)
	require.Zero(t, mean["white"])
	far := in.Muster(weeks + 4)
	require.InDelta(t, 5, far.Lines[0].ByCause.Kit, 1e-9)
	require.Greater(t, far.Lines[0].Mean, 5.0)
	// Four weeks before the season ends, what two weeks bring is needed; one week before,
	// it would lie until April.
	require.Len(t, aprons(t, 5, 3, programme.NewDate(2027, 9, 1), 14, summer).Short(), 5)
	late := aprons(t, 5, 3, programme.NewDate(2027, 9, 23), 14, summer)
	require.Empty(t, late.Short())
	mean, _ = byColour(late, 20)
	require.Zero(t, mean["white"])
	require.Equal(t, programme.NewDate(2028, 4, 1), late.Coming()[0].Begins)
}

// Whatever the change and the day, what a line of a kit is owed together with the one
// before it never is more than the kit has, and nothing is owed of a line that has
// ended when an order of the day arrives.
func TestNothingIsOwedTwiceThroughAChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		change := rapid.SampledFrom([]programme.Change{programme.AsWorn, programme.OnTheDay, programme.RunOut}).Draw(t,
			"change")
		from := newYear + programme.Date(rapid.IntRange(-60, 120).Draw(t, "from"))
		lead := rapid.IntRange(0, 30).Draw(t, "lead")
		held := rapid.IntRange(1, 4).Draw(t, "held")
		next := blackInstead(from, change)
		next.Each = rapid.IntRange(1, 4).Draw(t, "each")
		in := aprons(t, 3, held, newYear, lead, burgundy, next)
		owed := map[string]map[string]int{}
		for _, list := range [][]demand.Short{in.Short(), in.Coming()} {
			for _, s := range list {
				if owed[s.StaffID] == nil {
					owed[s.StaffID] = map[string]int{}
				}
				owed[s.StaffID][s.Colour] += s.Pieces
			}
		}
		over := newYear.Add(lead) >= from
		for _, of := range owed {
			if over && of["burgundy"] > 0 {
				t.Fatalf("burgundy is owed after its end: %v", of)
			}
			most := max(0, next.Each-held)
			if change == programme.OnTheDay {
				most = next.Each
			}
			if !over && change != programme.OnTheDay {
				most = max(0, max(burgundy.Each, next.Each)-held)
				if of["burgundy"]+of["black"] > most {
					t.Fatalf("owed %v, most %d", of, most)
				}
			} else if of["black"] > most {
				t.Fatalf("owed %v, most %d", of, most)
			}
		}
	})
}
