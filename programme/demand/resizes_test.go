package demand_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Six people hold three tees each and nothing wears: what is needed is what people who
// change size take in exchange.
func sixWhoMayChange(t *testing.T) (shop *programme.Shop, client *programme.Client, staff []programme.Person, ledger []programme.Movement) {
	t.Helper()
	shop = &programme.Shop{Baselines: programme.DefaultBaselines(), Garments: []programme.Garment{
		{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "top",
			Sizes: []programme.GarmentSize{{Code: "S"}, {Code: "M"}, {Code: "L"}}, WearsPerWash: 1},
		{Code: "cap", FabricClass: "cap", SizeFamily: "one", Sizes: []programme.GarmentSize{{Code: "one"}},
			WearsPerWash: 1},
	}}
	client = &programme.Client{
		Code: "six", Laundering: programme.Laundering{Regime: "home-low"}, Work: programme.Work{Duty: programme.Medium},
		RecordsStart: asOf.Add(-365),
		Intake:       programme.Intake{Nobody: true, Strength: 1e9},
		Leavers:      programme.Leavers{Nobody: true, Strength: 1e9},
		Roles: []programme.Role{{Code: "yard", Kit: []programme.KitLine{{Garment: "tee", Colour: "navy", Each: 3,
			WearsAWeek: 1e-6}, {Garment: "cap", Colour: "navy", Each: 1, WearsAWeek: 1e-6}}}},
	}
	for i, size := range []string{"S", "S", "M", "M", "M", "L"} {
		id := string(rune('a' + i))
		staff = append(staff, programme.Person{StaffID: id, Role: "yard", Start: asOf.Add(-365),
			Sizes: map[string]string{"top": size}})
		ledger = append(ledger,
			programme.Movement{Date: asOf.Add(-364), Kind: programme.Issued, StaffID: id,
				SKU: programme.SKU{Garment: "tee", Colour: "navy", Size: size}, Pieces: 3},
			programme.Movement{Date: asOf.Add(-364), Kind: programme.Issued, StaffID: id,
				SKU: programme.SKU{Garment: "cap", Colour: "navy", Size: "one"}, Pieces: 1})
	}
	return shop, client, staff, ledger
}

func TestTheRateOfSizeChangesIsLearnt(t *testing.T) {
	shop, client, staff, ledger := sixWhoMayChange(t)
	rate := func() wear.Gamma {
		in, err := demand.Prepare(shop, client, staff, ledger, nil, nil, asOf)
		require.NoError(t, err)
		return in.Staffing.Resizing
	}
	years := 6 * 365 / 365.2425
	require.InDelta(t, 0.4/(8+years), rate().Mean(), 1e-9, "one in twenty a year, as good as eight person-years")
	ended := func(id, size string, on programme.Date, pieces int) {
		ledger = append(ledger, programme.Movement{Date: on, Kind: programme.Ended, StaffID: id,
			SKU: programme.SKU{Garment: "tee", Colour: "navy", Size: size}, Pieces: pieces,
			Reason: programme.SizeChange})
	}
	ended("a", "S", asOf.Add(-90), 2)
	ended("a", "S", asOf.Add(-90), 1) // of the same exchange
	ended("c", "M", asOf.Add(-30), 1)
	staff[2].Resize("top", "L", false) // c has exchanged one of three so far
	require.InDelta(t, 2.4/(8+years), rate().Mean(), 1e-9)
	client.Known = true
	require.Zero(t, rate(), "what is taken as certain knows of none")
}

// The distribution of what is taken in exchange is that of a simulation: a rate drawn
// from what is believed, people who change or do not, three pieces each.
func TestExchangesToComeAreExpected(t *testing.T) {
	shop, client, staff, ledger := sixWhoMayChange(t)
	in, err := demand.Prepare(shop, client, staff, ledger, nil, nil, asOf)
	require.NoError(t, err)
	in.Staffing.Resizing = wear.Gamma{Count: 4, Exposure: 8} // many, to see them
	for _, k := range in.Learnt {
		k.Mishap = wear.Certain(1e-9)
	}
	const weeks = 13
	with := in.Muster(weeks)
	in.Staffing.Resizing = wear.Gamma{}
	without := in.Muster(weeks)

	const draws = 200000
	rng := rand.New(rand.NewPCG(1, 2))
	believed := distuv.Gamma{Alpha: 4, Beta: 8, Src: rng}
	count := map[string][]float64{"S": make([]float64, 40), "M": make([]float64, 40), "L": make([]float64, 40)}
	for range draws {
		taken := map[string]int{}
		rate := believed.Rand() * 7 * weeks / 365.2425
		for i := range staff {
			changes := distuv.Poisson{Lambda: rate, Src: rng}.Rand()
			for range int(changes) {
				to := "M"
				if staff[i].Sizes["top"] == "M" {
					if to = "S"; rng.Float64() < 0.6 {
						to = "L"
					}
				}
				taken[to] += 3
			}
		}
		for size := range count {
			count[size][min(taken[size], 39)]++
		}
	}
	for _, size := range []string{"S", "M", "L"} {
		l, before := sized(&with, "tee", size), sized(&without, "tee", size)
		mean := 0.0
		for n, x := range count[size] {
			mean += float64(n) * x / draws
			if n < len(l.PMF) && n%3 == 0 {
				require.InDelta(t, x/draws, l.PMF[n], 0.006, "%s %d", size, n)
			}
		}
		require.InEpsilon(t, mean, l.ByCause.Resize, 0.02, size)
		require.InDelta(t, l.Mean, before.Mean+l.ByCause.Resize, 1e-6)
		require.Zero(t, before.ByCause.Resize)
	}
	require.InDelta(t, with.Total.Mean, without.Total.Mean+sized(&with, "tee", "S").ByCause.Resize+sized(&with, "tee",
		"M").ByCause.Resize+sized(&with, "tee", "L").ByCause.Resize, 1e-6)
	require.Zero(t, sized(&with, "cap", "one").ByCause.Resize)
	for i, g := range with.Garments { // the caps come in one size
		require.InDelta(t, map[string]float64{"tee": with.Total.Mean - without.Total.Mean}[g.Garment],
			g.Mean-without.Garments[i].Mean, 1e-6, g.Garment)
	}
	weekly := 0.0
	for _, w := range with.Weekly {
		weekly += w.Resize
	}
	require.InDelta(t, with.Total.Mean-without.Total.Mean, weekly, 1e-6)
}

// Whoever has changed is owed the new size; the same is not expected once more.
func TestAKnownChangeOfSizeIsNotExpectedToo(t *testing.T) {
	shop, client, staff, ledger := sixWhoMayChange(t)
	expected := func() (sum float64, owed int) {
		in, err := demand.Prepare(shop, client, staff, ledger, nil, nil, asOf)
		require.NoError(t, err)
		in.Staffing.Resizing = wear.Gamma{Count: 4, Exposure: 8}
		m := in.Muster(13)
		for _, l := range m.Lines {
			sum, owed = sum+l.ByCause.Resize, owed+l.Owed
		}
		return sum, owed
	}
	before, owed := expected()
	require.Zero(t, owed)
	staff[0].Resize("top", "M", false)
	after, owed := expected()
	require.Equal(t, 3, owed)
	require.InEpsilon(t, before*5/6, after, 1e-6)
}

// Whoever changes size needs no more of the old one. Three tees each that only mishaps end are followed day by day,
// and what ends is replaced in the size of the day; the new kit is left out of the count, which has its own.
func TestWhatWearsOutIsReplacedInTheSizeOfTheDay(t *testing.T) {
	shop, client, staff, ledger := sixWhoMayChange(t)
	in, err := demand.Prepare(shop, client, staff, ledger, nil, nil, asOf)
	require.NoError(t, err)
	const changes, ends, days = 0.8, 4.0, 20 * 7 // changes of a person and endings of a piece in a year
	in.Staffing.Resizing, in.Staffing.Leaving = wear.Certain(changes), wear.Certain(0.5)
	for _, k := range in.Learnt {
		k.Mishap = wear.Certain(ends)
	}
	m := in.Muster(days / 7)

	const draws = 100000
	rng := rand.New(rand.NewPCG(3, 1))
	needed := make([]float64, 100)
	mean := 0.0
	for range draws {
		n := 0
		for range 3 { // people of size M
			until := min(days/365.2425, rng.ExpFloat64()/(changes+0.5))
			n += int(distuv.Poisson{Lambda: 3 * ends * until, Src: rng}.Rand())
		}
		needed[n] += 1. / draws
		mean += float64(n) / draws
	}
	middle := sized(&m, "tee", "M")
	require.InEpsilon(t, mean, middle.Mean-middle.ByCause.Resize, 0.01)
	in.Staffing.Resizing = wear.Gamma{}
	in.Staffing.Leaving = wear.Certain(changes + 0.5)
	gone := in.Muster(days / 7)
	require.InDelta(t, middle.Mean-middle.ByCause.Resize, sized(&gone, "tee", "M").Mean, 1e-9, "as if they had left")
	for n, p := range sized(&gone, "tee", "M").PMF {
		require.InDelta(t, needed[n], p, 0.004, "%d", n)
	}
	in.Staffing.Leaving = wear.Certain(0.5)
	stay := in.Muster(days / 7)
	require.InDelta(t, sized(&stay, "cap", "one").Mean, sized(&m, "cap", "one").Mean, 1e-9, "a cap fits whoever grows")
}
