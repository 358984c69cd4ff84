package sheet

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// Sheets priced by the piece and by their area cost the same where a page's price is the
// same: nine of 200 by 200 mm are paid, and made, as ten, since that costs less.
func TestPagesByThePieceAndByTheirAreaCostTheSame(t *testing.T) {
	const page = 0.04 // square metres
	for unit, of := range map[programme.PriceUnit]float64{"": 1, programme.PerSquareMetre: page,
		programme.PerMetre: 0.2, programme.PerSquareFoot: page / squareFoot} {
		list := func(from, price float64) programme.PriceBreak {
			return programme.PriceBreak{From: from * of, Price: programme.Money(math.Round(price / of))}
		}
		kind := &programme.TransferKind{
			Process: programme.Digital, Cut: programme.Scissors, PricedBy: unit,
			Prices: []programme.PriceBreak{list(0, 30000), list(10, 20000)},
			Sheets: []programme.SheetSize{{Width: 200 * mm, Height: 200 * mm}},
		}
		f, err := newField("", kind, kind.Sheets[0], wantsOf(false, [3]int{100, 100, 36}))
		require.NoError(t, err)
		for sheets, each := range map[float64]float64{1: 30000, 6: 30000, 7: 20000, 9: 20000, 10: 20000, 12: 20000} {
			require.InDelta(t, each, f.eachAbout(sheets), 1, "%g sheets priced %q", sheets, unit)
		}
		task, err := newSheetsTask(f, Budget{Iterations: 20})
		require.NoError(t, err)
		var o Order
		task.order(&o)
		require.Equal(t, 10, o.Sheets(), "priced %q", unit)
		require.InDelta(t, 200000, float64(o.Cost.Print), 5, "priced %q", unit)
	}
}

// Of sheets that cost nothing more the one is made again whose images cover most of what is
// needed a month: by their area, not by how many or how wide they are.
func TestTheSheetMadeAgainIsThatOfWhatIsUsedSoonest(t *testing.T) {
	wants := []want{{line: Line{Artwork: "tall"}, perMonth: 5}, {line: Line{Artwork: "wide"}, perMonth: 5},
		{line: Line{Artwork: "small"}, perMonth: 5}}
	image := func(artwork string, w, h int) Item {
		return Item{Artwork: artwork, W: programme.Length(w) * mm, H: programme.Length(h) * mm}
	}
	task := &sheetsTask{field: &field{wants: wants}}
	tall, wide, small := Layout{Items: []Item{image("tall", 20, 90)}}, Layout{Items: []Item{image("wide", 50, 30)}},
		Layout{Items: []Item{image("small", 10, 10), image("small", 10, 10), image("small", 10, 10)}}
	require.Equal(t, 1, task.soonest(&Order{Layouts: []Layout{small, tall, wide}}))
	require.Equal(t, 0, task.soonest(&Order{Layouts: []Layout{tall, wide, small}}))
	task.wants[1].perMonth = 7
	require.Equal(t, 2, task.soonest(&Order{Layouts: []Layout{small, tall, wide}}), "needed more often")
}

// What each client's own layouts cost together is the most that a round of several
// clients pays: it is offered beside what they share.
func TestAPlanForSeveralClientsIsNoDearerThanTheirOwn(t *testing.T) {
	kind := &programme.TransferKind{
		Process: programme.ScreenPrinted, Cut: programme.Scissors, SetUp: 300, SetUpPerInk: 900, Gutter: 5 * mm,
		Prices: []programme.PriceBreak{{From: 1, Price: 400}, {From: 30, Price: 250}},
		Sheets: []programme.SheetSize{{Width: 300 * mm, Height: 400 * mm}},
	}
	rng := rand.New(rand.NewPCG(61, 64))
	dearer := 0
	for range 5 {
		var sizes [][3]int
		for range 10 {
			sizes = append(sizes, [3]int{40 + rng.IntN(90), 40 + rng.IntN(90), 5 + rng.IntN(90)})
		}
		wants := wantsOf(true, sizes...)
		for i := range wants {
			client := string(rune('A' + i/5))
			wants[i].line.Client, wants[i].art.Client, wants[i].art.InkSet = client, client, client
		}
		f, err := newField("", kind, kind.Sheets[0], wants)
		require.NoError(t, err)
		task, err := newGangTask(f, Budget{})
		require.NoError(t, err)
		require.Len(t, task.alone, 2)
		own := 0.0
		for _, s := range task.alone {
			s.Improve(60)
			best, err := s.Best()
			require.NoError(t, err)
			own += best.Net()
		}
		begun := task.best()
		if begun.Net() > own {
			dearer++
		}
		task.pool()
		pooled := task.best()
		require.LessOrEqual(t, pooled.Net(), min(begun.Net(), own)+1e-9)
	}
	require.Positive(t, dearer, "together they had hardly been searched")
}

// A trimmer's roll takes a spare only where what is cut in one go stays as short as
// the trimmer allows, or as it was already.
func TestASpareMakesNoCutOfARollTooLong(t *testing.T) {
	image := func(x, y, w, h int) Item {
		return Item{X: programme.Length(x) * mm, Y: programme.Length(y) * mm, W: programme.Length(w) * mm,
			H: programme.Length(h) * mm}
	}
	layout := &Layout{Width: 200 * mm, Height: 400 * mm, Items: []Item{image(0, 0, 100, 200), image(0, 200, 100, 200)}}
	beside, across := image(100, 0, 100, 200), image(100, 100, 100, 200)
	for _, c := range []struct {
		name            string
		roll            bool
		cut             programme.CutStyle
		longest         programme.Length
		beside, crosses bool
	}{
		{"a roll cut 200 mm long", true, programme.Trimmer, 200 * mm, true, false},
		{"a roll cut 399 mm long", true, programme.Trimmer, 399 * mm, true, false},
		{"a roll cut 400 mm long", true, programme.Trimmer, 400 * mm, true, true},
		{"a longer part is there already", true, programme.Trimmer, 150 * mm, true, false},
		{"a roll without a limit", true, programme.Trimmer, 0, true, true},
		{"a sheet", false, programme.Trimmer, 200 * mm, true, true},
		{"by scissors", true, programme.Scissors, 200 * mm, true, true},
	} {
		f := &field{kind: &programme.TransferKind{Cut: c.cut, LongestCut: c.longest},
			size: programme.SheetSize{Roll: c.roll}}
		require.Equal(t, c.beside, f.cuttable(layout, beside), c.name)
		require.Equal(t, c.crosses, f.cuttable(layout, across), c.name)
	}
}
