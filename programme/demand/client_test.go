package demand_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// referenceClient is testdata/reference/client.json.
type referenceClient struct {
	Lead    int     `json:"lead_time_weeks"`
	Review  int     `json:"review_period_weeks"`
	Service float64 `json:"service_level"`
	Classes map[string]struct {
		Shape        float64
		Scale        float64 `json:"scale_washes"`
		WearsPerWash float64 `json:"wears_per_wash"`
		SizeSet      string  `json:"size_set"`
	} `json:"garment_classes"`
	Roles map[string]struct {
		Wears float64 `json:"wears_per_week"`
		Hires float64 `json:"hires_per_week"`
		Kit   map[string]int
	}
	Mix   map[string]map[string]float64 `json:"hire_size_mix"`
	Stock map[string]int                `json:"stock_position"`
	Staff []struct {
		ID    string
		Role  string
		Sizes map[string]string
		Wears float64              `json:"wears_per_week"`
		Ages  map[string][]float64 `json:"garment_ages_in_washes"`
	}
}

const asOf = programme.Date(20000)

// input translates the reference into the program's own types. Its rules use
// the pieces a person holds as rotation; ours take the kit's number for the
// future, so everybody gets a role whose kit is what they hold.
func (c *referenceClient) input(t *testing.T) *demand.Input {
	t.Helper()
	shop := &programme.Shop{Baselines: programme.DefaultBaselines(), SizeMix: map[string][]programme.SizeShare{}}
	shop.Baselines.MishapPerYear, shop.Baselines.MishapPerYearFood = 0, 0
	client := &programme.Client{
		Code: "reference", Known: true, Laundering: programme.Laundering{Regime: "home-low"},
		Work:   programme.Work{Duty: programme.Medium},
		Intake: programme.Intake{PerRole: map[string]float64{}},
	}
	for _, family := range slices.Sorted(maps.Keys(c.Mix)) {
		for _, size := range slices.Sorted(maps.Keys(c.Mix[family])) {
			shop.SizeMix[family] = append(shop.SizeMix[family],
				programme.SizeShare{Size: size, Share: c.Mix[family][size]})
		}
	}
	for _, code := range slices.Sorted(maps.Keys(c.Classes)) {
		g := c.Classes[code]
		garment := programme.Garment{Code: code, FabricClass: "blend-tee", SizeFamily: g.SizeSet,
			WearsPerWash: g.WearsPerWash, Shape: g.Shape,
			Median: wear.Weibull{Shape: g.Shape, Scale: g.Scale}.Median()}
		for _, s := range shop.SizeMix[g.SizeSet] {
			garment.Sizes = append(garment.Sizes, programme.GarmentSize{Code: s.Size})
		}
		shop.Garments = append(shop.Garments, garment)
	}
	for _, code := range slices.Sorted(maps.Keys(c.Roles)) {
		r := c.Roles[code]
		role := programme.Role{Code: code}
		for _, g := range slices.Sorted(maps.Keys(r.Kit)) {
			role.Kit = append(role.Kit, programme.KitLine{Garment: g, Each: r.Kit[g], WearsAWeek: r.Wears})
		}
		client.Roles = append(client.Roles, role)
		client.Intake.PerRole[code] = r.Hires * 365.2425 / 7
	}
	in := &demand.Input{Shop: shop, Client: client, AsOf: asOf}
	for _, w := range c.Staff {
		role := programme.Role{Code: w.ID}
		wears := w.Wears
		if wears == 0 {
			wears = c.Roles[w.Role].Wears
		}
		for _, g := range slices.Sorted(maps.Keys(w.Ages)) {
			role.Kit = append(role.Kit, programme.KitLine{Garment: g, Each: len(w.Ages[g]), WearsAWeek: wears})
			for _, a := range w.Ages[g] {
				k := programme.SKU{Garment: g, Size: w.Sizes[c.Classes[g].SizeSet]}
				in.History.InService = append(in.History.InService,
					programme.Piece{StaffID: w.ID, SKU: k, Issued: asOf - 100, Washes: a})
			}
		}
		client.Roles = append(client.Roles, role)
		in.Staff = append(in.Staff, programme.Person{StaffID: w.ID, Role: w.ID, Start: asOf - 200, Sizes: w.Sizes})
	}
	var err error
	in.Book, err = wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	in.Learnt = in.Book.Learn(in.History, asOf)
	in.Staffing = demand.LearnStaffing(shop, client, in.Staff, asOf)
	return in
}

type referenceRow struct {
	Exact struct {
		Mean, SD  float64
		Quantiles map[string]int
		Zero      float64 `json:"prob_zero"`
		PMF       []float64
	}
	OrderUpTo int `json:"order_up_to"`
	Position  int
	Order     int
	Short     float64 `json:"expected_short_if_ordered"`
}

func (r *referenceRow) requireEqual(t *testing.T, d demand.Distribution) {
	t.Helper()
	require.InDelta(t, r.Exact.Mean, d.Mean, 1e-5)
	require.InDelta(t, r.Exact.SD, d.SD, 1e-5)
	requireQuantiles(t, r.Exact.Quantiles, d.PMF)
	requirePMF(t, append([]float64{r.Exact.Zero}, r.Exact.PMF...)[:1], d.PMF, 1e-5)
	requirePMF(t, r.Exact.PMF, d.PMF, 1e-5)
}

// A whole client against two independent computations (convolution on a grid
// and two million simulated histories): every line, every garment, the total.
func TestAWholeClientAgreesWithTheReference(t *testing.T) {
	var c referenceClient
	readReference(t, "client.json", &c)
	var want struct {
		Lines    map[string]referenceRow `json:"per_garment_and_size"`
		Garments map[string]referenceRow `json:"per_garment"`
		All      referenceRow
	}
	readReference(t, "client_demand.json", &want)

	m := c.input(t).Muster(c.Lead + c.Review)

	require.Len(t, m.Lines, 20)
	for _, l := range m.Lines {
		name := l.Garment + "/" + l.Size
		t.Run(name, func(t *testing.T) {
			row, ok := want.Lines[name]
			require.True(t, ok)
			row.requireEqual(t, l.Distribution)
			level := demand.Quantile(l.PMF, c.Service)
			require.Equal(t, row.OrderUpTo, level)
			require.Equal(t, row.Order, max(0, level-row.Position))
			short := 0.0
			for n, p := range l.PMF {
				short += p * float64(max(0, n-max(level, row.Position)))
			}
			require.InDelta(t, row.Short, short, 1e-5)
			require.InDelta(t, l.Mean, l.ByCause.Sum(), 1e-9)
		})
	}
	require.Len(t, m.Garments, 5)
	for _, g := range m.Garments {
		row := want.Garments[g.Garment]
		row.requireEqual(t, g.Distribution)
	}
	want.All.requireEqual(t, m.Total)
	require.InDelta(t, 14.506, m.Total.SD, 1e-3, "kits of one hire tie garments together")
	require.Len(t, m.Pieces, 188)
}
