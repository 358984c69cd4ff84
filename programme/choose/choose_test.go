package choose_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// question is a plain and a premium tee with a screen-printed or a digital chest mark.
func question() choose.Question {
	in := programme.Inch
	shop := &programme.Shop{
		Name: "Corner Press", Currency: "USD", Baselines: programme.DefaultBaselines(),
		Press: programme.Press{PiecesPerHour: 50, CostPerHour: 3000},
		Garments: []programme.Garment{
			{Code: "tee", Name: "Cotton tee", FabricClass: "cotton-tee-carded", SizeFamily: "top",
				Colours: []string{"black"}, Sizes: []programme.GarmentSize{{Code: "M", Cost: 300},
					{Code: "2XL", Cost: 500}}},
			{Code: "sport", Name: "Performance tee", FabricClass: "performance-polyester", SizeFamily: "top",
				Colours: []string{"navy"}, Sizes: []programme.GarmentSize{{Code: "M", Cost: 900}}},
			{Code: "hoodie", Name: "Hoodie", FabricClass: "fleece", SizeFamily: "top", Colours: []string{"black"},
				Sizes: []programme.GarmentSize{{Code: "M", Cost: 1800}}},
			{Code: "cap", Name: "Cap", FabricClass: "cap", SizeFamily: "head", Colours: []string{"black"},
				Sizes: []programme.GarmentSize{{Code: "one", Cost: 400}}},
		},
		Kinds: []programme.TransferKind{
			{Code: "screen", Name: "Screen print", Decoration: "plastisol", Process: programme.ScreenPrinted,
				Sheets: []programme.SheetSize{{Code: "s", Width: 13 * in, Height: 19 * in}}, Gutter: in / 4,
				Margin: in / 4, Prices: []programme.PriceBreak{{From: 1, Price: 600}, {From: 25, Price: 350}},
				SetUpPerInk: 1500, ShelfDays: 540, Spoilage: 0.02},
			{Code: "film", Name: "Digital film", Decoration: "direct-to-film", Process: programme.Digital,
				Sheets: []programme.SheetSize{{Code: "r", Width: 22 * in, Height: 240 * in, Roll: true}},
				Gutter: in / 4, Margin: in / 4, Prices: []programme.PriceBreak{{From: 1, Price: 1500}}, ShelfDays: 270,
				Spoilage: 0.03},
			{Code: "dye", Name: "Sublimation", Decoration: "sublimation", Process: programme.Digital,
				Sheets: []programme.SheetSize{{Code: "r", Width: 22 * in, Height: 240 * in, Roll: true}},
				Gutter: in / 4, Margin: in / 4, Prices: []programme.PriceBreak{{From: 1, Price: 900}}, ShelfDays: 90,
				Spoilage: 0.05},
		},
		Artworks: []programme.Artwork{{Code: "mark", Client: "yard", Kind: "screen", Width: 7 * in / 2,
			Height: 7 * in / 2, Turn: true, Inks: 1}},
	}
	line := programme.KitLine{Garment: "tee", Colour: "black", Each: 5, WearsAWeek: 5,
		Decorations: []programme.Decoration{{Artwork: "mark", Place: "left-chest"}}}
	client := &programme.Client{
		Code: "yard", Name: "The Yard", CoverWeeks: 13, Work: programme.Work{Duty: programme.Medium},
		Laundering: programme.Laundering{Regime: "home-low"}, Leavers: programme.Leavers{PerYear: 0.3},
		Prices: []programme.Price{{Garment: "tee", Price: 1200}},
		Roles:  []programme.Role{{Code: "hand", Name: "Hand", Kit: []programme.KitLine{line}}},
	}
	return choose.Question{Shop: shop, Client: client, Role: "hand", Line: line, Wearers: 20}
}

func answer(t testing.TB, q choose.Question) *choose.Answer {
	t.Helper()
	a, err := choose.Compare(q)
	require.NoError(t, err)
	return a
}

func option(a *choose.Answer, garment, kind string) *choose.Option {
	for i := range a.Options {
		if a.Options[i].Garment == garment && a.Options[i].Kind == kind {
			return &a.Options[i]
		}
	}
	return nil
}

func TestCandidatesStandSideBySide(t *testing.T) {
	a := answer(t, question())
	require.Len(t, a.Options, 5, "two garments by two kinds, and dye on polyester alone")
	require.Nil(t, option(a, "tee", "dye"))
	require.Nil(t, option(a, "hoodie", "screen"), "a fleece is no rival of a tee")
	require.True(t, option(a, "tee", "screen").Present)
	for i := range a.Options {
		o := &a.Options[i]
		require.InDelta(t, 1, o.EndedBy.Cloth+o.EndedBy.Print+o.EndedBy.Mishap+o.EndedBy.Label, 1e-6)
		require.Less(t, o.Months.P10, o.Months.P50)
		require.Less(t, o.Months.P50, o.Months.P90)
		if i > 0 {
			require.GreaterOrEqual(t, o.CostAMonth, a.Options[i-1].CostAMonth)
		}
	}
	text, err := json.MarshalIndent(a, "", "  ")
	require.NoError(t, err)
	goldentest.Equal(t, "yard.json", append(text, '\n'))
}

// Where a leaver's pieces go out again, leavers need none of their own.
// A print that is pressed hotter than polyester bears is offered on cotton, and on
// polyester only where it is what the client has now.
func TestAHotTransferIsNotOfferedOnPolyester(t *testing.T) {
	q := question()
	screen, _ := q.Shop.Kind("screen")
	screen.Settings.Temperature = 185
	a := answer(t, q)
	require.NotNil(t, option(a, "tee", "screen"))
	require.Nil(t, option(a, "sport", "screen"))
	require.NotNil(t, option(a, "sport", "film"))
	q.Line.Garment, q.Line.Colour = "sport", "navy"
	a = answer(t, q)
	require.NotNil(t, option(a, "sport", "screen"), "as it is now")
	screen.Settings.MaxPolyesterC = 190
	q = question()
	screen, _ = q.Shop.Kind("screen")
	screen.Settings = programme.PressSettings{Temperature: 185, MaxPolyesterC: 190}
	require.NotNil(t, option(answer(t, q), "sport", "screen"), "the maker allows it")
}

func TestReissuedPiecesAreNotBoughtForLeavers(t *testing.T) {
	q := question()
	q.Client.Leavers.PerYear = 0.8
	bought := option(answer(t, q), "tee", "screen").PiecesAYear
	q.Client.ReissueLifeLeft = 0.5
	again := option(answer(t, q), "tee", "screen").PiecesAYear
	require.Greater(t, bought, again*1.1)
}

// The present tee is bought at what the client pays for it, and every other
// candidate at the same markup.
func TestPricesCarryThePresentMarkup(t *testing.T) {
	q := question()
	a := answer(t, q)
	now, other := option(a, "tee", "screen"), option(a, "sport", "film")
	require.Equal(t, programme.Money(1200), now.Price)
	require.InEpsilon(t, now.Price.Float()/now.Cost.Float(), other.Price.Float()/other.Cost.Float(), 0.002)
	q.Client.Prices = nil
	a = answer(t, q)
	require.False(t, a.Priced)
	require.Equal(t, option(a, "sport", "film").Cost, option(a, "sport", "film").Price)
}

// With all figures certain, one print, no leavers and no mishaps, the tee's
// place needs each x pace / mean pieces: worked by hand from the Weibull mean.
func TestAWorkedExample(t *testing.T) {
	q := question()
	q.Client.Known = true
	q.Client.Leavers.PerYear = 1e-12
	q.Shop.Baselines.MishapPerYear = 0
	q.Line.Decorations = nil
	o := answer(t, q).Options
	for i := range o {
		if o[i].Garment == "tee" {
			life := wear.FromMedian(40, 2.5)
			mean := distuv.Weibull{K: life.Shape, Lambda: life.Scale}.Mean()
			require.InEpsilon(t, 5*52.1775/mean, o[i].PiecesAYear, 1e-4, "5 washes a week by five pieces of mean life")
			require.InEpsilon(t, mean/52.1775*12, o[i].Months.Mean, 1e-4)
		}
	}
}

// Hard washing kills the print first, so better cloth does not pay; gentle
// washing lets it last.
func TestTheLaundryDecidesWhetherThePremiumGarmentPays(t *testing.T) {
	q := question()
	q.Shop.Kinds = q.Shop.Kinds[:2]
	q.Client.Laundering.Regime = "industrial"
	a := answer(t, q)
	require.Contains(t, strings.Join(a.Verdict, "\n"), "The premium garment is the dearer one here")
	require.Greater(t, option(a, "sport", "screen").EndedBy.Print, 0.5)
	cheap := question()
	cheap.Shop.Kinds = cheap.Shop.Kinds[:2]
	cheap.Shop.Garments[1].Sizes[0].Cost = 450
	require.Contains(t, strings.Join(answer(t, cheap).Verdict, "\n"), "The premium garment pays here")
}

// At the price named as even, the two cost the same to wear.
func TestTheEvenPriceIsEven(t *testing.T) {
	q := question()
	a := answer(t, q)
	plain, premium := option(a, "tee", "film"), option(a, "sport", "dye")
	even := float64(plain.CostAMonth) * 12 / premium.PiecesAYear
	q.Client.Prices = append(q.Client.Prices, programme.Price{Garment: "sport", Price: programme.Money(even)})
	again := option(answer(t, q), "sport", "dye")
	require.InDelta(t, float64(plain.CostAMonth), float64(again.CostAMonth), 1.5)
}

func TestARecordOfOwnEndingsOverrulesTheBaseline(t *testing.T) {
	q := question()
	before := option(answer(t, q), "tee", "screen")
	book, err := wear.NewBook(q.Shop, q.Client, nil)
	require.NoError(t, err)
	terms := book.Classes()[0]
	obs := []wear.Observation{{Kind: wear.Exact, Exit: 15, Count: 200}}
	cloth, err := wear.Learn(terms.Cloth.Prior, obs)
	require.NoError(t, err)
	prints, err := wear.Learn(terms.Prints[0].Prior, nil)
	require.NoError(t, err)
	q.Learnt = map[wear.Class]*wear.Learnt{terms.Class: {
		Terms: terms, Cloth: cloth, Prints: []wear.Posterior{prints}, Mishap: terms.Mishap,
		Evidence: wear.Evidence{Endings: programme.Endings[int]{Worn: 200}},
	}}
	all := answer(t, q)
	require.Less(t, option(all, "tee", "screen").Washes.P50, before.Washes.P50/2)
	// The same cloth with another print is as well known, and hands so hard on one
	// cloth are taken to be hard on the next.
	plain := answer(t, question())
	require.Less(t, option(all, "tee", "film").Washes.P50, option(plain, "tee", "film").Washes.P50/2)
	require.Less(t, option(all, "sport", "screen").Washes.P50, option(plain, "sport", "screen").Washes.P50*0.7)
}

func TestMoreWearNeverCostsLess(t *testing.T) {
	q := question()
	q.Shop.Kinds = q.Shop.Kinds[:1]
	before := 0.0
	for _, wears := range []float64{0.5, 1, 2.5, 5, 6, 12} {
		q.Line.WearsAWeek = wears
		o := option(answer(t, q), "tee", "screen")
		require.Greater(t, o.PiecesAYear, before)
		before = o.PiecesAYear
	}
}

func TestQuestionsThatCannotBeAnswered(t *testing.T) {
	q := question()
	q.Wearers = 0
	_, err := choose.Compare(q)
	require.ErrorContains(t, err, "give at least 1")
	q = question()
	q.Line.Garment = "kilt"
	_, err = choose.Compare(q)
	require.ErrorContains(t, err, `garment "kilt" is not in the shop's catalogue`)
	q = question()
	q.Line.WearsAWeek = 0
	_, err = choose.Compare(q)
	require.ErrorContains(t, err, "set wears_a_week above 0")
}

func BenchmarkCompare(b *testing.B) {
	q := question()
	for b.Loop() {
		if _, err := choose.Compare(q); err != nil {
			b.Fatal(err)
		}
	}
}
