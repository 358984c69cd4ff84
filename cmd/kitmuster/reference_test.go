package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// The client case: testdata/reference/README.md says where it comes from. It is
// translated into the files a shop would hand over, imported by the commands,
// and read back through muster --json.

type referenceClient struct {
	LeadWeeks   int `json:"lead_time_weeks"`
	ReviewWeeks int `json:"review_period_weeks"`
	Classes     map[string]struct {
		Shape        float64 `json:"shape"`
		Scale        float64 `json:"scale_washes"`
		WearsPerWash float64 `json:"wears_per_wash"`
		SizeSet      string  `json:"size_set"`
	} `json:"garment_classes"`
	Roles map[string]struct {
		WearsPerWeek float64        `json:"wears_per_week"`
		HiresPerWeek float64        `json:"hires_per_week"`
		Kit          map[string]int `json:"kit"`
	} `json:"roles"`
	SizeMix map[string]map[string]float64 `json:"hire_size_mix"`
	Staff   []referencePerson             `json:"staff"`
}

type referencePerson struct {
	ID           string               `json:"id"`
	Role         string               `json:"role"`
	Sizes        map[string]string    `json:"sizes"`
	Ages         map[string][]float64 `json:"garment_ages_in_washes"`
	WearsPerWeek float64              `json:"wears_per_week"`
}

type referenceAnswer struct {
	PerSKU map[string]struct {
		Exact referenceDistribution `json:"exact"`
	} `json:"per_garment_and_size"`
	All struct {
		Exact referenceDistribution `json:"exact"`
	} `json:"all"`
}

type referenceDistribution struct {
	Mean      float64        `json:"mean"`
	SD        float64        `json:"sd"`
	Quantiles map[string]int `json:"quantiles"`
	PMF       []float64      `json:"pmf"`
}

const (
	referenceDay = "2026-03-02"
	weeksPerYear = 365.2425 / 7
)

func TestMusterAgreesWithTheReferenceClient(t *testing.T) {
	var c referenceClient
	var want referenceAnswer
	readJSON(t, "client.json", &c)
	readJSON(t, "client_demand.json", &want)
	home := t.TempDir()
	writeReferenceShop(t, home, &c)

	command(t, home, "programme", "apply", filepath.Join(home, "programmes", "reference.yaml"), "--yes")
	command(t, home, "roster", "import", "reference", filepath.Join(home, "roster.csv"))
	command(t, home, "ledger", "import", "reference", filepath.Join(home, "ledger.csv"))
	out := command(t, home, "muster", "reference", "--as-of", referenceDay, "--weeks",
		strconv.Itoa(c.LeadWeeks+c.ReviewWeeks), "--json")

	var got demand.Muster
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.Equal(t, 1, got.Format)
	require.Len(t, got.Lines, len(want.PerSKU))
	for i := range got.Lines {
		l := &got.Lines[i]
		name := l.Garment + "/" + l.Size
		sameDistribution(t, name, want.PerSKU[name].Exact, l.Distribution)
	}
	// One hire takes a whole kit, so the client's total is wider than its lines
	// taken as independent (10.6).
	sameDistribution(t, "all", want.All.Exact, got.Total)
}

func sameDistribution(t *testing.T, name string, want referenceDistribution, got demand.Distribution) {
	t.Helper()
	require.InEpsilon(t, want.Mean, got.Mean, 1e-5, "%s mean", name)
	require.InEpsilon(t, want.SD, got.SD, 1e-5, "%s sd", name)
	for p, q := range want.Quantiles {
		require.Equal(t, q, got.Quantiles[p], "%s quantile %s", name, p)
	}
	for n, p := range want.PMF {
		have := 0.0
		if n < len(got.PMF) {
			have = got.PMF[n]
		}
		require.InDelta(t, p, have, 1e-5, "%s P(%d)", name, n)
	}
}

func readJSON(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "reference", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

// command runs the program in a folder and returns what it printed.
func command(t *testing.T, home string, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	status := run(context.Background(), append(args, "--home", home), strings.NewReader(""), &out, &errs)
	require.Equal(t, exitDone, status, "kitmuster %s: %s", strings.Join(args, " "), errs.String())
	return out.String()
}

func writeReferenceShop(t *testing.T, home string, c *referenceClient) {
	t.Helper()
	shop := referenceShop(c)
	client := referenceProgramme(c)
	require.NoError(t, os.MkdirAll(filepath.Join(home, "programmes"), 0o755))
	write := func(name string, text []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(home, name), text, 0o644))
	}
	write("shop.yaml", setup.WriteShop(shop))
	write(filepath.Join("programmes", "reference.yaml"), setup.WriteClient(client))
	write("roster.csv", referenceRoster(c))
	write("ledger.csv", referenceLedger(c))
}

func referenceShop(c *referenceClient) *programme.Shop {
	base := programme.DefaultBaselines()
	base.MishapPerYear, base.MishapPerYearFood = 0, 0
	shop := &programme.Shop{
		Name: "Reference shop", Currency: "USD", TimeZone: "UTC", Units: programme.Inches, DateStyle: programme.ISODate,
		Owner:      programme.Contact{Name: "Owner", Email: "owner@shop.example"},
		ReviewDays: 7 * c.ReviewWeeks, PressDays: 1, DeliveryDays: 1,
		Press: programme.Press{PiecesPerHour: 50, CostPerHour: 3000},
		Suppliers: []programme.Supplier{{Code: "blanks", Name: "Blanks", Email: "blanks@supplier.example",
			LeadDays: 5}},
		SizeMix:   map[string][]programme.SizeShare{},
		Baselines: base, Labels: setup.DefaultLabels(),
	}
	for set, mix := range c.SizeMix {
		for _, size := range sortedKeys(mix) {
			shop.SizeMix[set] = append(shop.SizeMix[set], programme.SizeShare{Size: size, Share: mix[size]})
		}
	}
	for _, code := range sortedKeys(c.Classes) {
		cl := c.Classes[code]
		g := programme.Garment{
			Code: code, Name: code, FabricClass: "blend-tee", SizeFamily: cl.SizeSet, Supplier: "blanks",
			Colours: []string{"plain"},
			Pack:    1, WearsPerWash: cl.WearsPerWash, Median: cl.Scale * math.Pow(math.Ln2, 1/cl.Shape),
			Shape: cl.Shape,
		}
		for _, size := range sortedKeys(c.SizeMix[cl.SizeSet]) {
			g.Sizes = append(g.Sizes, programme.GarmentSize{Code: size, Cost: 1000})
		}
		shop.Garments = append(shop.Garments, g)
	}
	return shop
}

// referenceProgramme has one role for hires of each kind and one for each
// combination of pieces held and wears, since a kit states both for the future.
func referenceProgramme(c *referenceClient) *programme.Client {
	client := &programme.Client{
		Code: "reference", Name: "Reference client", Trade: "catering",
		Customer: programme.Contact{Name: "Customer", Email: "customer@client.example"},
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Medium,
			DaysPerWeek: 5},
		Laundering: programme.Laundering{Regime: "home-low"},
		Intake:     programme.Intake{PerRole: map[string]float64{}, Strength: 1},
		CoverWeeks: 12, FillRate: 0.95, Known: true,
	}
	client.RecordsStart, _ = programme.ParseDate(referenceDay)
	for _, code := range sortedKeys(c.Roles) {
		r := c.Roles[code]
		client.Intake.PerRole[code] = r.HiresPerWeek * weeksPerYear
		client.Roles = append(client.Roles, programme.Role{Code: code, Name: code,
			Kit: kitLines(r.Kit, r.WearsPerWeek)})
	}
	for i := range c.Staff {
		code, held, wears := heldRole(c, &c.Staff[i])
		if _, there := client.Role(code); !there {
			client.Roles = append(client.Roles, programme.Role{Code: code, Name: code, Kit: kitLines(held, wears)})
		}
	}
	return client
}

func heldRole(c *referenceClient, p *referencePerson) (code string, held map[string]int, wears float64) {
	held = map[string]int{}
	for g, ages := range p.Ages {
		held[g] = len(ages)
	}
	wears = c.Roles[p.Role].WearsPerWeek
	if p.WearsPerWeek > 0 {
		wears = p.WearsPerWeek
	}
	code = fmt.Sprintf("%s-%g", p.Role, wears)
	for _, g := range sortedKeys(held) {
		code += fmt.Sprintf("-%s%d", g, held[g])
	}
	return strings.NewReplacer("_", "", ".", "").Replace(code), held, wears
}

func kitLines(kit map[string]int, wears float64) []programme.KitLine {
	var lines []programme.KitLine
	for _, g := range sortedKeys(kit) {
		lines = append(lines, programme.KitLine{Garment: g, Colour: "plain", Each: kit[g], WearsAWeek: wears})
	}
	return lines
}

func referenceRoster(c *referenceClient) []byte {
	sets := sortedKeys(c.SizeMix)
	head := []string{"staff_id", "name", "role", "site", "start_date", "end_date"}
	for _, s := range sets {
		head = append(head, "size_"+s)
	}
	rows := [][]string{head}
	for i := range c.Staff {
		p := &c.Staff[i]
		role, _, _ := heldRole(c, p)
		row := []string{p.ID, "Person " + p.ID, role, "", "2024-01-08", ""}
		for _, s := range sets {
			row = append(row, p.Sizes[s])
		}
		rows = append(rows, row)
	}
	return csvText(rows)
}

func referenceLedger(c *referenceClient) []byte {
	rows := [][]string{{"date", "movement", "staff_id", "garment", "colour", "size", "pieces", "reason",
		"ref", "washes"}}
	for i := range c.Staff {
		p := &c.Staff[i]
		for _, g := range sortedKeys(p.Ages) {
			for n, age := range p.Ages[g] {
				rows = append(rows, []string{referenceDay, "issued", p.ID, g, "plain",
					p.Sizes[c.Classes[g].SizeSet], "1", "",
					fmt.Sprintf("%s-%s-%d", p.ID, g, n), strconv.FormatFloat(age, 'g', -1, 64)})
			}
		}
	}
	return csvText(rows)
}

func csvText(rows [][]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.WriteAll(rows)
	return b.Bytes()
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
