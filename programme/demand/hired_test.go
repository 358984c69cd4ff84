package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// oneTee is a client of one role with a tee a head, in M and L, and what the catalogue says of it.
func oneTee(t *testing.T, change func(g *programme.Garment, c *programme.Client)) *Input {
	t.Helper()
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "top",
			Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}, WearsPerWash: 1}},
		Artworks: []programme.Artwork{{Code: "name", Kind: "film", Text: programme.FirstName}},
		Kinds:    []programme.TransferKind{{Code: "film", Decoration: "plastisol"}},
	}
	client := &programme.Client{
		Code: "one", Laundering: programme.Laundering{Regime: "home-low"}, Work: programme.Work{Duty: programme.Medium},
		Roles: []programme.Role{{Code: "floor", Kit: []programme.KitLine{{Garment: "tee", Each: 2, WearsAWeek: 4}}}},
	}
	change(&shop.Garments[0], client)
	in := &Input{Shop: shop, Client: client, AsOf: 20000}
	var err error
	in.Book, err = wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	in.Learnt = in.Book.Learn(wear.History{}, in.AsOf)
	in.Staffing = LearnStaffing(shop, client, nil, in.AsOf)
	return in
}

// A piece goes out again with half of its median life left; on the shelf four fifths of that will do.
func TestWhichPiecesGoOutAgain(t *testing.T) {
	tee := programme.SKU{Garment: "tee", Size: "M"}
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) { c.ReissueLifeLeft = 0.5 })
	life := in.Learnt[in.Book.Classes()[0].Class].MedianLife(2)
	left, ok := in.LifeLeft(tee, life/4)
	require.True(t, ok)
	require.InDelta(t, 0.75, left, 1e-9)
	require.True(t, in.Fit(tee, life*0.4999))
	require.False(t, in.Fit(tee, life*0.5001))
	require.True(t, in.StillFit(tee, life*0.5999))
	require.False(t, in.StillFit(tee, life*0.6001))
	_, ok = in.LifeLeft(programme.SKU{Garment: "cap"}, 1)
	require.False(t, ok)
	require.False(t, in.Fit(programme.SKU{Garment: "cap"}, 1))

	limited := oneTee(t, func(g *programme.Garment, c *programme.Client) { g.LabelWashes, c.ReissueLifeLeft = 10, 0.5 })
	require.True(t, limited.Fit(tee, 5), "half of what the label allows")
	require.False(t, limited.Fit(tee, 5.1))
	in.Client.ReissueLifeLeft = 0
	require.False(t, in.Fit(tee, 0), "the programme does not allow it")
	named := oneTee(t, func(_ *programme.Garment, c *programme.Client) {
		c.ReissueLifeLeft = 0.5
		c.Roles[0].Kit[0].Decorations = []programme.Decoration{{Artwork: "name"}}
	})
	require.False(t, named.Fit(tee, 0), "a name is on it")
}

// What came back, less what went out again, as far as it is more than lies on the shelf.
func TestWhatCameBackAndLiesThere(t *testing.T) {
	tee := programme.SKU{Garment: "tee", Size: "M"}
	in := oneTee(t, func(_ *programme.Garment, c *programme.Client) { c.ReissueLifeLeft = 0.5 })
	back := func(change func(p *programme.Piece)) programme.Piece {
		p := programme.Piece{SKU: tee, Reason: programme.LeftReason, Ended: in.AsOf - 9, Washes: 3}
		change(&p)
		return p
	}
	shelf := func(change func(l *programme.StockLine)) programme.StockLine {
		l := programme.StockLine{Goods: programme.Goods{Kind: programme.Finished, Client: "one", Code: "tee",
			Size: "M"}, Pieces: 2}
		change(&l)
		return l
	}
	f := &forecast{scene: &scene{in: in, lines: []programme.SKU{tee}, at: map[programme.SKU]int{tee: 0}}}
	check := func(all, unlisted int, why string) {
		t.Helper()
		a, u := f.reissuable()
		require.Equal(t, [2]int{all, unlisted}, [2]int{a[0], u[0]}, why)
	}
	check(0, 0, "nothing")
	in.History.Ended = []programme.Piece{
		back(func(*programme.Piece) {}), back(func(p *programme.Piece) { p.Part = 0.6 }),
		back(func(p *programme.Piece) { p.Part = 0.4 }),
		back(func(p *programme.Piece) { p.Reason = programme.Worn }), back(func(p *programme.Piece) { p.Kept = true }),
		back(func(p *programme.Piece) { p.Washes = 99 }),
		back(func(p *programme.Piece) { p.SKU.Size = "L" }),
	}
	check(2, 2, "a whole one and two parts")
	in.Stock = []programme.StockLine{shelf(func(l *programme.StockLine) { l.Pieces = 1 })}
	check(1, 1, "one of them may be what lies there")
	in.Stock = append(in.Stock, shelf(func(l *programme.StockLine) { l.Expected = in.AsOf + 9 }),
		shelf(func(l *programme.StockLine) { l.Client = "two" }),
		shelf(func(l *programme.StockLine) { l.Kind = programme.Blank }))
	check(1, 1, "on order, of others, undecorated")
	in.Stock = []programme.StockLine{shelf(func(l *programme.StockLine) { l.Pieces, l.Washes = 3, 4 }),
		shelf(func(l *programme.StockLine) { l.Pieces, l.Washes = 5, 99 })}
	check(3, 0, "worn pieces that lie there, those fit")
	in.Stock = nil
	in.History.InService = []programme.Piece{{SKU: tee, Reissued: true}, {SKU: tee}}
	check(1, 1, "one is out again")
	in.History.Ended = append(in.History.Ended, back(func(p *programme.Piece) { p.Shelved = true }))
	check(2, 2, "which was the one that lay on the shelf")
	in.Client.ReissueLifeLeft = 0
	check(0, 0, "the programme does not allow it")
}

// The weight of a size among those in which a garment comes, and what is not known of its share.
func TestTheShareOfASizeAmongStarters(t *testing.T) {
	g := &programme.Garment{SizeFamily: "top", Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}}
	mix := []programme.SizeShare{{Size: "M", Share: 3}, {Size: "L", Share: 1}, {Size: "6XL", Share: 5}}
	mine, sum := weighed(mix, g, "M")
	require.Equal(t, [2]float64{3, 4}, [2]float64{mine, sum})
	h := &hires{staff: &Staffing{Sizes: map[string][]programme.SizeShare{"top": mix},
		RoleSizes: map[string]map[string][]programme.SizeShare{"floor": {"top": {{Size: "M", Share: 1},
			{Size: "L", Share: 4}}}}}}
	mean := 0.0
	for _, n := range h.shares(g, "M") {
		mean += n.Weight * n.At
	}
	require.InDelta(t, 0.75, mean, 1e-9)
	require.Greater(t, len(h.shares(g, "M")), 1)
	require.Equal(t, []quadrature.Node{{At: 0, Weight: 1}}, h.shares(g, "S"))
	h.staff.sizesKnown = true
	require.Equal(t, []quadrature.Node{{At: 0.75, Weight: 1}}, h.shares(g, "M"))
	byRole := h.byRole(g, "M", 0.6)
	require.InDelta(t, 0.2*0.6/0.75, byRole("floor"), 1e-12, "moves as the whole does")
	require.InDelta(t, 0.6, byRole("office"), 1e-12, "as among all")
	require.InDelta(t, 1, h.byRole(g, "L", 0.99)("floor"), 1e-12, "no more than all")
}

// Pieces of starters who come in groups: against draws by hand of groups, roles and pieces.
func TestStartersWhoComeTogether(t *testing.T) {
	h := &hires{staff: &Staffing{RoleShare: map[string]float64{"a": 0.7, "b": 0.3}},
		outfits: &outfits{roles: []programme.Role{{Code: "a"}, {Code: "b"}}}}
	each := [][]portion{{{2, 0.5}, {4, 0.5}}, {{6, 1}}}
	share := func(role string) float64 {
		if role == "a" {
			return 0.8
		}
		return 0.5
	}
	got := h.together(2.5, share, 3, each)
	h.rates = []quadrature.Node{{At: 2.5, Weight: 1}}
	arriving := func() pmf {
		var m mixture
		h.arriving(&m, 1, share, map[float64][][]portion{1: each})
		return m.pmf()
	}
	alone := arriving()
	mean := 2.5 * (0.7*0.8*3 + 0.3*0.5*6)
	require.InDelta(t, mean, got.mean(), 1e-4)
	require.InDelta(t, mean, alone.mean(), 1e-4)
	// Groups are Poisson, their size geometric with mean 3; each person takes so much.
	rng := rand.New(rand.NewPCG(3, 9))
	const n = 60000
	count := map[int]float64{}
	for range n {
		groups, sum := 0, 0
		for p := rng.Float64(); p > math.Exp(-2.5/3); p *= rng.Float64() {
			groups++
		}
		for range groups {
			for more := true; more; more = rng.Float64() >= 1.0/3 {
				switch u := rng.Float64(); {
				case u < 0.7*0.8*0.5:
					sum += 2
				case u < 0.7*0.8:
					sum += 4
				case u < 0.7*0.8+0.3*0.5:
					sum += 6
				}
			}
		}
		count[sum]++
	}
	got.each(func(k int, p float64) {
		if k < 30 {
			require.InDelta(t, p, count[k]/n, 4.5*math.Sqrt(p*(1-p)/n)+1e-9, "%d pieces", k)
		}
	})
	h.staff.JoinTogether = Groups{{At: 3, Weight: 1}}
	require.Equal(t, got, arriving())
	require.Equal(t, certainly(0), h.together(2.5, share, 3, [][]portion{{}, {}}))
	require.Equal(t, certainly(0), h.together(2.5, func(string) float64 { return 0 }, 3, each))
	for _, x := range [][3]int{{12, 18, 6}, {0, 7, 7}, {7, 0, 7}, {5, 3, 1}} {
		require.Equal(t, x[2], gcd(x[0], x[1]))
	}
}

// A holder at a pace: all washes that come and came by the factor, two of them as likely.
func TestAHolderAtAPace(t *testing.T) {
	h := &holder{rot: Rotation{Pace: 2, Limit: 30}, ages: []float64{10, 20},
		unseen: []unseen{{}, {washes: 5, lateWashes: 15, weeks: 3}}}
	require.Same(t, h, h.usual())
	one, chance := h.variants()
	require.Len(t, one, 1)
	require.Equal(t, []float64{1}, chance)
	h.paces = []quadrature.Node{{At: 0.8, Weight: 0.5}, {At: 1.8, Weight: 0.5}}
	require.InDelta(t, 2.4, h.usual().rot.Pace, 1e-12, "the geometric mean of both")
	all, chances := h.variants()
	require.Equal(t, []float64{0.5, 0.5}, chances)
	require.Equal(t, Rotation{Pace: 3.6, Limit: 30}, all[1].rot)
	require.Equal(t, []float64{18, 36}, all[1].ages)
	require.Equal(t, []unseen{{}, {washes: 9, lateWashes: 27, weeks: 3}}, all[1].unseen)
	require.Equal(t, []float64{10, 20}, h.ages, "the holder stays as it is")
}

// Stand reads what people hold as Prepare does, and learns nothing.
func TestToStandReadsWhoIsShort(t *testing.T) {
	in := oneTee(t, func(*programme.Garment, *programme.Client) {})
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: in.AsOf - 90,
		Sizes: map[string]string{"top": "M"}}, {StaffID: "b", Role: "floor", Start: in.AsOf + 3,
		Sizes: map[string]string{"top": "L"}}}
	ledger := []programme.Movement{{Date: in.AsOf - 90, Kind: programme.Issued, StaffID: "a",
		SKU: programme.SKU{Garment: "tee", Size: "M"}, Pieces: 1}}
	got, err := Stand(in.Shop, in.Client, staff, ledger, in.AsOf)
	require.NoError(t, err)
	require.Empty(t, got.Learnt)
	require.Equal(t, []Short{{StaffID: "a", SKU: programme.SKU{Garment: "tee", Size: "M"}, Pieces: 1}}, got.Short())
	whole, err := Prepare(in.Shop, in.Client, staff, ledger, nil, nil, in.AsOf)
	require.NoError(t, err)
	require.Equal(t, whole.Short(), got.Short())
	require.Equal(t, whole.Coming(), got.Coming())
	require.Len(t, got.Coming(), 1)
	in.Client.Roles[0].Kit[0].Garment = "lost"
	_, err = Stand(in.Shop, in.Client, staff, ledger, in.AsOf)
	require.ErrorContains(t, err, "lost")
}
