package demand_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// clinic is a client whose nurses wear five tunics, in the men's or in the ladies' cut, and
// two fleeces that come in one cut.
func clinic() (*programme.Shop, *programme.Client) {
	sizes := func(codes ...string) (out []programme.GarmentSize) {
		for _, c := range codes {
			out = append(out, programme.GarmentSize{Code: c, Cost: 1400})
		}
		return out
	}
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{
			{Code: "tunic", FabricClass: "blend-work-shirt", SizeFamily: "top", Sizes: sizes("S", "M", "L"),
				WearsPerWash: 1},
			{Code: "tunic-ladies", FabricClass: "blend-work-shirt", SizeFamily: "ladies-top",
				Sizes: sizes("8", "10", "12", "14"), WearsPerWash: 1},
			{Code: "fleece", FabricClass: "fleece", SizeFamily: "top", Sizes: sizes("S", "M", "L"), WearsPerWash: 3},
		},
	}
	tunic := programme.KitLine{Garment: "tunic", Colour: "teal", Each: 5, WearsAWeek: 5}
	ladies := tunic
	ladies.Garment, ladies.CutOf = "tunic-ladies", tunic.Former()
	client := &programme.Client{
		Code: "clinic", Laundering: programme.Laundering{Regime: "home-hot"},
		Work:         programme.Work{Duty: programme.Medium, DaysPerWeek: 5},
		RecordsStart: newYear - 400,
		Roles: []programme.Role{{Code: "nurse",
			Kit: []programme.KitLine{tunic, ladies, {Garment: "fleece", Colour: "navy", Each: 2, WearsAWeek: 2}}}},
	}
	return shop, client
}

func nurse(id string, sizes map[string]string) programme.Person {
	return programme.Person{StaffID: id, Role: "nurse", Start: newYear - 380, Sizes: sizes}
}

func issuedTo(id, garment, size string, pieces int, on programme.Date) programme.Movement {
	colour := "teal"
	if garment == "fleece" {
		colour = "navy"
	}
	return programme.Movement{Date: on, Kind: programme.Issued, StaffID: id,
		SKU: programme.SKU{Garment: garment, Colour: colour, Size: size}, Pieces: pieces}
}

// owedBy is what somebody is owed or due, by garment and size.
func owedBy(in *demand.Input, id string) map[string]int {
	out := map[string]int{}
	for _, d := range in.Dues() {
		if d.StaffID == id {
			out[d.Garment+" "+d.Size] += d.Pieces
		}
	}
	return out
}

func TestWhoChangesCutIsOwedTheNewOneAndNothingTwice(t *testing.T) {
	shop, client := clinic()
	role := &client.Roles[0]
	full := []programme.Movement{issuedTo("a", "tunic", "M", 5, newYear-90),
		issuedTo("a", "fleece", "M", 2, newYear-90)}
	prepare := func(p programme.Person, moves ...programme.Movement) *demand.Input {
		in, err := demand.Prepare(shop, client, []programme.Person{p}, append(full, moves...), nil, nil, newYear)
		require.NoError(t, err)
		return in
	}
	p := nurse("a", map[string]string{"top": "M"})
	require.Empty(t, owedBy(prepare(p), "a"), "who has a size of one cut wears that")

	// A ladies' size makes it the ladies' cut; the fleece is as it was.
	before := p
	p.Resize("ladies-top", "10", false)
	role.Recut(shop, &before, &p)
	in := prepare(p)
	require.Equal(t, map[string]int{"tunic-ladies 10": 5}, owedBy(in, "a"))
	for _, o := range in.Muster(8).Pieces {
		if o.Garment == "tunic" {
			require.Zero(t, o.PEnd, "worn on until they are exchanged, and not replaced")
		} else {
			require.Positive(t, o.PEnd)
		}
	}
	// Three of five come: they are the exchange of three, and two are owed.
	in = prepare(p, issuedTo("a", "tunic-ladies", "10", 3, newYear-1))
	require.Equal(t, map[string]int{"tunic-ladies 10": 2}, owedBy(in, "a"))
	held := map[string]int{}
	for _, x := range in.History.InService {
		held[x.SKU.Garment]++
	}
	require.Equal(t, map[string]int{"tunic": 2, "tunic-ladies": 3, "fleece": 2}, held)
	in = prepare(p, issuedTo("a", "tunic-ladies", "10", 5, newYear-1))
	require.Empty(t, owedBy(in, "a"))

	// Back to the men's cut before anything was exchanged: what is held fits.
	back := p
	back.Resize("ladies-top", programme.NoSize, false)
	role.Recut(shop, &p, &back)
	require.Empty(t, owedBy(prepare(back), "a"))

	// Where what they hold still fits, the new cut replaces it piece by piece.
	kept := before
	kept.Resize("ladies-top", "10", true)
	in = prepare(kept)
	require.Empty(t, owedBy(in, "a"))
	for _, o := range in.Muster(8).Pieces {
		if o.Garment == "tunic" {
			require.Equal(t, programme.SKU{Garment: "tunic-ladies", Colour: "teal", Size: "10"}, o.Replacement())
		}
	}
}

// Whatever sizes somebody has and had, whatever they hold: they are owed one cut, and with
// what fits of both no more than the kit has.
func TestNobodyIsOwedBothCuts(t *testing.T) {
	shop, client := clinic()
	role := &client.Roles[0]
	rapid.Check(t, func(t *rapid.T) {
		var staff []programme.Person
		var moves []programme.Movement
		size := rapid.SampledFrom([]string{"", "S", "M", "L"})
		ladies := rapid.SampledFrom([]string{"", "8", "10", "12"})
		for i := range rapid.IntRange(1, 4).Draw(t, "people") {
			p := nurse(fmt.Sprint(i), map[string]string{})
			p.Start = newYear + programme.Date(rapid.SampledFrom([]int{-380, -20, 30}).Draw(t, "start"))
			for range rapid.IntRange(1, 3).Draw(t, "changes") {
				before, kept := p, rapid.Bool().Draw(t, "kept")
				for family, code := range map[string]string{"top": size.Draw(t, "top"),
					"ladies-top": ladies.Draw(t, "ladies")} {
					if code == "" {
						code = programme.NoSize
					}
					p.Resize(family, code, kept)
				}
				if !kept {
					role.Recut(shop, &before, &p)
				}
				for _, garment := range []string{"tunic", "tunic-ladies"} {
					g, _ := shop.Garment(garment)
					if n := rapid.IntRange(0, 5).Draw(t, garment); n > 0 && p.Sizes[g.SizeFamily] != "" &&
						p.Start < newYear {
						moves = append(moves, issuedTo(p.StaffID, garment, p.Sizes[g.SizeFamily], n,
							newYear-programme.Date(rapid.IntRange(1, 19).Draw(t, "on"))))
					}
				}
			}
			staff = append(staff, p)
		}
		in, err := demand.Stand(shop, client, staff, moves, newYear)
		require.NoError(t, err)
		owed := map[string]map[string]int{}
		for _, d := range in.Dues() {
			if owed[d.StaffID] == nil {
				owed[d.StaffID] = map[string]int{}
			}
			owed[d.StaffID][d.Garment] += d.Pieces
		}
		for i := range staff {
			p := &staff[i]
			of := owed[p.StaffID]
			if of["tunic"] > 0 && of["tunic-ladies"] > 0 {
				t.Fatalf("%v is owed both cuts: %v", p, of)
			}
			if wears := p.Sizes["ladies-top"] != ""; wears && of["tunic"] > 0 || !wears && of["tunic-ladies"] > 0 {
				t.Fatalf("%v is owed the other cut: %v", p, of)
			}
			fit := 0
			for _, x := range in.History.InService {
				if x.StaffID == p.StaffID && !role.Outgrown(shop, p, x.SKU) {
					fit++
				}
			}
			if n := of["tunic"] + of["tunic-ladies"]; n > 0 && n+fit > 5 {
				t.Fatalf("%v holds %d that fit and is owed %d", p, fit, n)
			}
		}
	})
}

// Eight nurses in the ladies' cut and four in the men's: two starters in three come in the
// ladies' cut, each in one cut alone, in the sizes of those who wear it.
func TestStartersComeInTheCutsOfTheirRole(t *testing.T) {
	shop, client := clinic()
	client.Intake = programme.Intake{PerYear: 12, Strength: 1000}
	var staff []programme.Person
	var moves []programme.Movement
	for i := range 12 {
		id := fmt.Sprintf("%02d", i)
		sizes, garment, size := map[string]string{"top": "M"}, "tunic", "M"
		if i < 8 {
			sizes["ladies-top"], garment, size = "12", "tunic-ladies", "12"
		}
		staff = append(staff, nurse(id, sizes))
		moves = append(moves, issuedTo(id, garment, size, 5, newYear-10), issuedTo(id, "fleece", "M", 2, newYear-10))
	}
	means := func(staff []programme.Person) (hires map[string]float64, lines map[string]float64) {
		in, err := demand.Prepare(shop, client, staff, moves, nil, nil, newYear)
		require.NoError(t, err)
		m := in.Muster(13)
		hires, lines = map[string]float64{}, map[string]float64{}
		for _, l := range m.Lines {
			hires[l.Garment] += l.ByCause.Hires
			lines[l.Garment+" "+l.Size] += l.ByCause.Hires
		}
		for _, g := range m.Garments {
			require.Positive(t, g.Mean, "%s is forecast, and so ordered", g.Garment)
		}
		return hires, lines
	}
	hires, lines := means(staff)
	require.InDelta(t, 8.5/4.5, hires["tunic-ladies"]/hires["tunic"], 0.02, "half a head more of each, as of roles")
	require.InDelta(t, 2.0/5, hires["fleece"]/(hires["tunic"]+hires["tunic-ladies"]), 0.01,
		"each starter comes in one cut")
	require.InDelta(t, 3*5, hires["tunic"]+hires["tunic-ladies"], 0.5, "three starters in a quarter of a year")
	own := expectedShare(shop.Baselines.SizePriorPeople, []float64{0.25, 0.75}, []int{8, 0})
	require.InDelta(t, own, lines["tunic-ladies 12"]/hires["tunic-ladies"], 0.01, "in the sizes of those who wear it")
	// A starter whose cut nobody knows is neither; the forecast takes them as one who may come.
	unknown := append(staff, programme.Person{StaffID: "new", Role: "nurse", Start: newYear + 4})
	again, _ := means(unknown)
	require.InDelta(t, hires["tunic-ladies"]/hires["tunic"], again["tunic-ladies"]/again["tunic"], 1e-9)
	in, err := demand.Prepare(shop, client, unknown, moves, nil, nil, newYear)
	require.NoError(t, err)
	require.Empty(t, owedBy(in, "new"))
}
