package demand_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// drawTeam invents a client of one role with any garments, ages, leavers and hires.
func drawTeam(t *rapid.T) *demand.Input {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Kinds:     []programme.TransferKind{{Code: "film", Decoration: "direct-to-film"}},
		Artworks:  []programme.Artwork{{Code: "mark", Kind: "film"}},
	}
	client := &programme.Client{
		Code: "team", Laundering: programme.Laundering{Regime: "home-hot"}, Work: programme.Work{Duty: programme.Heavy},
		Intake:  programme.Intake{PerYear: rapid.Float64Range(0, 30).Draw(t, "hires"), Strength: 2},
		Leavers: programme.Leavers{PerYear: rapid.Float64Range(0.05, 2).Draw(t, "leavers"), Strength: 20},
	}
	role := programme.Role{Code: "team"}
	for g := range rapid.IntRange(1, 3).Draw(t, "garments") {
		garment := programme.Garment{
			Code: string(rune('a' + g)), SizeFamily: "top", Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}},
			FabricClass: rapid.SampledFrom([]string{"cotton-tee-carded", "apron-twill", "fleece"}).Draw(t, "fabric"),
			LabelWashes: float64(rapid.SampledFrom([]int{0, 0, 25}).Draw(t, "label")),
		}
		shop.Garments = append(shop.Garments, garment)
		line := programme.KitLine{Garment: garment.Code, Each: rapid.IntRange(1, 5).Draw(t, "each"),
			WearsAWeek: rapid.Float64Range(0.5, 7).Draw(t, "wears")}
		if rapid.Bool().Draw(t, "printed") {
			line.Decorations = []programme.Decoration{{Artwork: "mark"}}
		}
		role.Kit = append(role.Kit, line)
	}
	client.Roles = []programme.Role{role}
	in := &demand.Input{Shop: shop, Client: client, AsOf: asOf}
	for range rapid.IntRange(0, 8).Draw(t, "people") {
		addPerson(t, in)
	}
	var err error
	in.Book, err = wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	in.Learnt = in.Book.Learn(wear.History{}, asOf)
	in.Staffing = demand.LearnStaffing(shop, client, in.Staff, asOf)
	return in
}

func addPerson(t *rapid.T, in *demand.Input) {
	id := string(rune('A' + len(in.Staff)))
	size := rapid.SampledFrom([]string{"M", "L"}).Draw(t, "size")
	in.Staff = append(in.Staff, programme.Person{StaffID: id, Role: "team", Start: asOf - 100,
		Sizes: map[string]string{"top": size}})
	for _, l := range in.Client.Roles[0].Kit {
		for range rapid.IntRange(0, l.Each+1).Draw(t, "held") {
			in.History.InService = append(in.History.InService, programme.Piece{
				StaffID: id, SKU: programme.SKU{Garment: l.Garment, Size: size}, Issued: asOf - 90,
				Washes: rapid.Float64Range(0, 70).Draw(t, "washes"),
			})
		}
	}
}

func requireSound(t *rapid.T, d demand.Distribution) {
	sum, mean := 0.0, 0.0
	for n, p := range d.PMF {
		require.False(t, p < 0 || math.IsNaN(p), "P(%d) = %g", n, p)
		sum, mean = sum+p, mean+float64(n)*p
	}
	require.InDelta(t, 1, sum, 1e-8)
	require.InDelta(t, d.Mean, mean, 1e-8)
	require.LessOrEqual(t, d.Quantiles["0.5"], d.Quantiles["0.95"])
}

func TestForecastsAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawTeam(t)
		near, far := rapid.IntRange(1, 40).Draw(t, "near"), rapid.IntRange(41, 150).Draw(t, "far")
		m := in.Forecast(near, far)
		require.Len(t, m, 2)
		var sum float64
		for i, l := range m[1].Lines {
			requireSound(t, l.Distribution)
			require.InDelta(t, l.Mean, l.ByCause.Sum(), 1e-6)
			// Each horizon has a rule of its own over what is not known; the rules
			// agree to half a per cent, so that much is allowed for.
			require.LessOrEqual(t, m[0].Lines[i].Mean, 1.005*l.Mean+0.005, "longer never needs less")
			weeks := 0.0
			for _, w := range l.Weekly {
				weeks += w
			}
			require.InDelta(t, l.Mean, weeks, 1e-6)
			sum += l.Mean
		}
		requireSound(t, m[1].Total)
		require.InDelta(t, sum, m[1].Total.Mean, 0.01+0.004*sum, "the total is the sum of the lines")
		for _, p := range m[1].Pieces {
			require.True(t, p.PEnd >= 0 && p.PEnd <= 1+1e-9, "p_end %g", p.PEnd)
			require.True(t, p.D50.IsZero() || p.D10 <= p.D50, "%v then %v", p.D10, p.D50)
			require.True(t, p.D90.IsZero() || p.D50 <= p.D90)
			require.GreaterOrEqual(t, p.D10, asOf)
		}
		undated, date := in.ForecastUndated(near, far)
		require.Equal(t, m, in.Forecast(near, far), "the same question has the same answer")
		for _, p := range undated[1].Pieces {
			require.True(t, p.D10.IsZero() && p.D50.IsZero() && p.D90.IsZero())
		}
		date() // when other forecasts have used its memory
		undated[1].Garments = m[1].Garments
		require.Equal(t, m, undated)
	})
}

func TestMoreStaffNeverNeedsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawTeam(t)
		days := rapid.IntRange(7, 120).Draw(t, "days")
		before := in.Forecast(days)[0]
		// beside the few lifetimes that stand for all, what is known of lives, leavers and hires stays as it is
		addPerson(t, in)
		after := in.Forecast(days)[0]
		require.GreaterOrEqual(t, after.Total.Mean, before.Total.Mean*0.98-0.01)
		for i, l := range after.Lines {
			require.GreaterOrEqual(t, l.Mean, before.Lines[i].Mean*0.98-0.01)
		}
	})
}

func TestTheLabelLimitIsNeverExceeded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pace, limit := rapid.Float64Range(0.2, 4).Draw(t, "pace"), rapid.Float64Range(10, 60).Draw(t, "limit")
		age, weeks := rapid.Float64Range(0, 60).Draw(t, "age"), rapid.Float64Range(0.5, 26).Draw(t, "weeks")
		lifetimes := []demand.Lifetime{{Weight: 1, Wash: []wear.Weibull{{Shape: 2.5, Scale: 500}},
			Number: []float64{1}}, {Wash: []wear.Weibull{{Shape: 2, Scale: 900}}, Number: []float64{1}}}
		tails := demand.NewRenewals(lifetimes, demand.Rotation{Pace: pace, Limit: limit}, weeks)
		least := 0 // endings that the limit alone forces
		for washes := age + pace*weeks; washes >= limit; washes -= limit {
			least++
		}
		if age >= limit { // over already: replaced at once, and the rest starts new
			least = 1 + int(pace*weeks/limit)
		}
		got := tails.Tails(age, weeks)
		for n := 1; n <= least && n <= tails.Depth(); n++ {
			// The grid reads within a thousandth of a step of a jump as before it.
			require.Greater(t, got[n], 0.99-1e-9, "P(N >= %d)", n)
		}
	})
}
