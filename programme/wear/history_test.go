package wear_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

var monday = programme.NewDate(2026, 1, 5)

// smallShop sells a tee with a plastisol mark and an unprinted apron, both worn
// 7 times a week together and washed after each wear: one wash a day.
func smallShop() (*programme.Shop, *programme.Client) {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{
			{Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "top",
				Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}, WearsPerWash: 1},
			{Code: "vest", FabricClass: "high-visibility", SizeFamily: "one",
				Sizes: []programme.GarmentSize{{Code: "OS"}}, WearsPerWash: 1, LabelWashes: 25},
		},
		Kinds:    []programme.TransferKind{{Code: "screen", Decoration: "plastisol"}},
		Artworks: []programme.Artwork{{Code: "mark", Kind: "screen"}},
	}
	client := &programme.Client{
		Code: "client", Laundering: programme.Laundering{Regime: "home-low"},
		Work: programme.Work{Duty: programme.Medium}, RecordsStart: monday,
		Roles: []programme.Role{{Code: "floor", Kit: []programme.KitLine{
			{Garment: "tee", Colour: "black", Each: 2, WearsAWeek: 7,
				Decorations: []programme.Decoration{{Artwork: "mark"}}},
			{Garment: "vest", Colour: "yellow", Each: 1, WearsAWeek: 7},
		}}},
	}
	return shop, client
}

func issue(day int, size string, n int) programme.Movement {
	return programme.Movement{Date: monday.Add(day), Kind: programme.Issued, StaffID: "a",
		SKU: programme.SKU{Garment: "tee", Colour: "black", Size: size}, Pieces: n}
}

func ended(day int, size string, n int, why programme.Reason) programme.Movement {
	m := issue(day, size, n)
	m.Kind, m.Reason = programme.Ended, why
	return m
}

func counted(day int, size string, n int) programme.Movement {
	m := issue(day, size, n)
	m.Kind = programme.Counted
	return m
}

func trace(t *testing.T, staff []programme.Person, asOfDay int, moves ...programme.Movement) wear.History {
	t.Helper()
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	return book.Trace(staff, moves, monday.Add(asOfDay))
}

func TestWashesFollowTheRotation(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	for _, c := range []struct {
		name      string
		asOf      int
		moves     []programme.Movement
		inService []float64 // washes
		ended     [][3]float64
	}{
		{"one piece is washed every day", 30, []programme.Movement{issue(0, "M", 1)}, []float64{30}, nil},
		{"two pieces share the washes", 30, []programme.Movement{issue(0, "M", 2)}, []float64{15, 15}, nil},
		{"a second piece slows the first", 30, []programme.Movement{issue(0, "M", 1), issue(10, "M", 1)},
			[]float64{20, 10}, nil},
		{"a second count of a day corrects the first", 30, []programme.Movement{issue(0, "M", 2), counted(30, "M", 0),
			counted(30, "M", 2)}, []float64{15, 15}, nil},
		{"pieces of another size are in the same rotation", 30,
			[]programme.Movement{issue(0, "M", 1), issue(10, "L", 1)}, []float64{20, 10}, nil},
		{
			"after an ending the rest are washed more often", 30,
			[]programme.Movement{issue(0, "M", 1), issue(10, "L", 1), ended(20, "M", 1, programme.Worn)},
			[]float64{15},
			[][3]float64{{15, 15, 15}},
		},
		{
			"a swap on one day counts the new piece in", 30,
			[]programme.Movement{issue(0, "M", 2), ended(20, "M", 1, programme.Print), issue(20, "M", 1)},
			[]float64{15, 5},
			[][3]float64{{10, 10, 10}},
		},
		{
			"a piece missing at a count ended somewhere since the last sign of life", 40,
			[]programme.Movement{issue(0, "M", 2), counted(20, "M", 1)},
			[]float64{10.0/2 + 30},   // in rotation with the other for the first ten days
			[][3]float64{{5, 0, 10}}, // ten washes, had it lasted until the count
		},
		{
			"a count that finds all is a sign of life", 40,
			[]programme.Movement{issue(0, "M", 2), counted(20, "M", 2), counted(40, "M", 1)},
			[]float64{10 + 5 + 10},
			[][3]float64{{15, 10, 20}},
		},
		{
			"what is handed out on the day of a count is not missing from it", 40,
			[]programme.Movement{issue(0, "M", 2), counted(20, "M", 1), issue(20, "M", 1)},
			[]float64{10.0/2 + 10 + 10, 10},
			[][3]float64{{5, 0, 10}},
		},
		{
			"an unseen ending lies after a day that left no other piece", 40,
			[]programme.Movement{issue(0, "M", 1), ended(10, "M", 1, programme.Worn), issue(10, "M", 1),
				counted(40, "M", 0)},
			nil,
			[][3]float64{{10, 10, 10}, {15, 0, 30}},
		},
		{"movements after the date are not known", 10,
			[]programme.Movement{issue(0, "M", 1), ended(20, "M", 1, programme.Worn)}, []float64{10}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := trace(t, staff, c.asOf, c.moves...)
			var washes []float64
			for _, p := range h.InService {
				washes = append(washes, p.Washes)
			}
			require.InDeltaSlice(t, c.inService, washes, 1e-9)
			require.Len(t, h.Ended, len(c.ended))
			for i, want := range c.ended {
				p := h.Ended[i]
				require.InDeltaSlice(t, []float64{p.Washes, p.FromWashes, p.ToWashes}, want[:], 1e-9)
			}
		})
	}
}

func TestLeaversStopTheClock(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400, End: monday.Add(12)}}
	h := trace(t, staff, 60, issue(0, "M", 1))
	require.Empty(t, h.InService)
	require.Len(t, h.Ended, 1)
	require.InDelta(t, 12, h.Ended[0].Washes, 1e-9)
	require.Equal(t, programme.LeftReason, h.Ended[0].Reason)
}

func TestPiecesOlderThanTheRecordsAreLeftTruncated(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	old := issue(-20, "M", 1)
	partWorn := issue(0, "M", 1)
	partWorn.Washes = 7
	h := trace(t, staff, 10, old, partWorn)
	// Twenty days among the kit's two pieces, of which the records know one, then ten.
	require.InDelta(t, 10, h.InService[0].EntryWashes, 1e-9)
	require.InDelta(t, 15, h.InService[0].Washes, 1e-9)
	require.InDelta(t, 7, h.InService[1].EntryWashes, 1e-9)
	require.InDelta(t, 12, h.InService[1].Washes, 1e-9)
}

func TestWhatTheLedgerLacksIsCounted(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday}}
	h := trace(t, staff, 30, issue(0, "M", 1), ended(5, "L", 1, programme.Worn), counted(9, "M", 3))
	require.Equal(t, 1, h.Unmatched)
	require.Equal(t, 2, h.Surplus)
}

func TestTheProgrammeIsCheckedAgainstTheCatalogue(t *testing.T) {
	for want, spoil := range map[string]func(*programme.Shop, *programme.Client){
		`laundering regime "river"`: func(_ *programme.Shop, c *programme.Client) { c.Laundering.Regime = "river" },
		`role floor: garment "cape"`: func(_ *programme.Shop, c *programme.Client) {
			c.Roles[0].Kit[0].Garment = "cape"
		},
		`artwork "moon"`: func(_ *programme.Shop, c *programme.Client) {
			c.Roles[0].Kit[0].Decorations[0].Artwork = "moon"
		},
		`fabric class "silk"`: func(s *programme.Shop, _ *programme.Client) {
			s.Garments[0].FabricClass = "silk"
		},
		`transfer kind "screen" is not`: func(s *programme.Shop, _ *programme.Client) { s.Kinds = nil },
		`decoration "chalk" is not in `: func(s *programme.Shop, _ *programme.Client) {
			s.Kinds[0].Decoration = "chalk"
		},
	} {
		shop, client := smallShop()
		spoil(shop, client)
		_, err := wear.NewBook(shop, client, nil)
		require.ErrorContains(t, err, want)
	}
}

func TestLaunderingAndDutyScaleThePriors(t *testing.T) {
	shop, client := smallShop()
	client.Laundering = programme.Laundering{Regime: "industrial", Chlorine: true}
	client.Work.Duty = programme.Heavy
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	tee := book.Classes()[0]
	// Cotton: 0.5 industrial, 0.5 chlorine, 0.65 heavy duty, held at 0.25 or more.
	require.InDelta(t, 40*0.25, tee.Cloth.Median(), 1e-9)
	// Plastisol: 0.45 industrial, 0.7 chlorine; duty wears cloth only.
	require.InDelta(t, 55*0.45*0.7, tee.Prints[0].Median(), 1e-9)
	require.Equal(t, "cotton-tee-carded with plastisol", tee.Class.String())
	require.Equal(t, "high-visibility", book.Classes()[1].Class.String())
}

// invented is many lives of one class, with cloth, print and mishaps as true
// causes, followed for some years; a share of the endings is only found at
// yearly counts.
func invented(rng *rand.Rand, cloth, print wear.Weibull, mishap float64, people int,
	unseen float64) []programme.Movement {
	const days = 900
	var moves []programme.Movement
	for i := range people {
		id := string(rune('A'+i/26)) + string(rune('a'+i%26))
		held := 0
		for day := 0; day < days; {
			m := issue(day, "M", 1)
			m.StaffID = id
			moves = append(moves, m)
			held++
			c := cloth.Scale * math.Pow(rng.ExpFloat64(), 1/cloth.Shape)
			p := print.Scale * math.Pow(rng.ExpFloat64(), 1/print.Shape)
			l := rng.ExpFloat64() / mishap * 365.2425
			end, why := c, programme.Worn
			if p < end {
				end, why = p, programme.Print
			}
			if l < end {
				end, why = l, programme.Lost
			}
			day += max(1, int(math.Round(end)))
			if day >= days {
				break
			}
			held--
			if rng.Float64() < unseen {
				m = counted((day/180+1)*180, "M", 0)
				day = (day/180 + 1) * 180
			} else {
				m = ended(day, "M", 1, why)
			}
			m.StaffID = id
			moves = append(moves, m)
		}
	}
	return moves
}

func TestUnseenEndingsAreSharedBetweenTheCauses(t *testing.T) {
	cloth, print := wear.FromMedian(48, 2.5), wear.FromMedian(52, 3)
	const mishap = 0.4
	for _, unseen := range []float64{0, 0.3, 0.7} {
		rng := rand.New(rand.NewPCG(11, 5))
		moves := invented(rng, cloth, print, mishap, 150, unseen)
		shop, client := smallShop()
		shop.Baselines.MishapPerYear = mishap
		book, err := wear.NewBook(shop, client, nil)
		require.NoError(t, err)
		learnt := book.Learn(book.Trace(nil, moves, monday.Add(900)), monday.Add(900))
		k := learnt[book.Classes()[0].Class]
		t.Logf("unseen %.0f %%: evidence %+v, cloth %.1f, print %.1f, mishap %.3f", 100*unseen, k.Evidence,
			k.Cloth.Typical().Median(), k.Prints[0].Typical().Median(), k.Mishap.Mean())
		for _, c := range []struct {
			post wear.Posterior
			want float64
		}{{k.Cloth, cloth.Median()}, {k.Prints[0], print.Median()}} {
			require.Greater(t, c.want, c.post.MedianQuantile(0.005))
			require.Less(t, c.want, c.post.MedianQuantile(0.995))
		}
		require.InEpsilon(t, mishap, k.Mishap.Mean(), 0.25)
	}
}

// TestAsManyAreInServiceAsACountFound: whatever came when, what a count says is there is
// there, though the endings that nobody saw are spread over a time in which fewer were held.
func TestAsManyAreInServiceAsACountFound(t *testing.T) {
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each = 20 // more than anybody is given here: nothing is handed out beyond the kit
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	now := func(moves []programme.Movement) int {
		return len(book.Trace(staff, moves, moves[len(moves)-1].Date).InService)
	}
	require.Equal(t, 1, now([]programme.Movement{issue(0, "M", 1), issue(200, "M", 4), counted(400, "M", 1)}),
		"four of five ended, three at least since the four came")

	rng := rand.New(rand.NewPCG(3, 9))
	for range 2000 {
		var moves []programme.Movement
		for day, there, owned := 0, 0, 0; len(moves) < 12; {
			day += 1 + rng.IntN(90)
			switch n := 1 + rng.IntN(4); {
			case there == 0 && owned+n <= 20 || rng.IntN(2) == 0 && owned+n <= 20:
				moves, there, owned = append(moves, issue(day, "M", n)), there+n, owned+n
				continue
			case there > 1 && rng.IntN(3) == 0:
				moves, there = append(moves, ended(day, "M", 1, programme.Worn)), there-1
				continue
			}
			left := rng.IntN(there + 1)
			moves, there = append(moves, counted(day, "M", left)), left
			require.Equal(t, left, now(moves), "%v", moves)
			if owned > 16 {
				break
			}
		}
	}
}

// Two people who stand side by side in the ledger wear the same tee, one with a print and one
// without, who has printed ones of another colour too: each piece teaches what the kit of its
// holder's role says of it.
func TestPiecesTeachWhatTheKitOfTheirHoldersRoleSays(t *testing.T) {
	shop, client := smallShop()
	printed := client.Roles[0].Kit[0]
	plain, white := printed, printed
	plain.Decorations, white.Colour, white.Each = nil, "white", 3
	client.Roles = append(client.Roles, programme.Role{Code: "stores", Kit: []programme.KitLine{plain, white}})
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	staff := []programme.Person{
		{StaffID: "a", Role: "floor", Start: monday, Sizes: map[string]string{"top": "M"}},
		{StaffID: "b", Role: "stores", Start: monday, Sizes: map[string]string{"top": "M"}},
	}
	var moves []programme.Movement
	for _, x := range []struct {
		who, colour  string
		given, ended int
	}{{"a", "black", 2, 1}, {"b", "black", 2, 2}, {"b", "white", 3, 3}} {
		in, out := issue(0, "M", x.given), ended(200, "M", x.ended, programme.Worn)
		in.StaffID, out.StaffID, in.SKU.Colour, out.SKU.Colour = x.who, x.who, x.colour, x.colour
		moves = append(moves, in, out)
	}
	learnt := book.Learn(book.Trace(staff, moves, monday.Add(300)), monday.Add(300))
	for role, endings := range map[string]int{"floor": 1 + 3, "stores": 2} {
		use, ok := book.Use(role, "tee", "black")
		require.True(t, ok)
		require.Equal(t, endings, learnt[use.Class.Class].Evidence.Replaced(), role)
	}
}
