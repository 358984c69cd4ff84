package wear_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Of ten endings two were found by counts and three read from hand-overs: five were written down.
func TestOnWhatAFigureRestsIsSaid(t *testing.T) {
	endings := func(worn int) programme.Endings[int] { return programme.Endings[int]{Worn: worn} }
	for brief, c := range map[string]struct {
		evidence wear.Evidence
		words    string
	}{
		"0 endings": {wear.Evidence{}, "no endings yet"},
		"1 ending":  {wear.Evidence{Endings: endings(1)}, "1 recorded ending"},
		"10 endings, 2 counted, 3 handed over": {
			wear.Evidence{Endings: endings(4), Unexplained: 6, Counted: 2, HandedOver: 3, InService: 4, Assumed: 3},
			"5 recorded endings, 2 found missing at counts, 3 read from hand-overs beyond the kit; 3 of 4 pieces in service are only assumed to be there, or to be of their age",
		},
		"2 endings, 1 counted, 1 handed over": {
			wear.Evidence{Unexplained: 2, Counted: 1, HandedOver: 1, InService: 4, Assumed: 4, Ageless: 2},
			"1 found missing at a count, 1 read from a hand-over beyond the kit; all pieces in service are only assumed to be there, or to be of their age; " +
				"2 endings of pieces whose age is only assumed teach nothing about how long pieces last",
		},
		"2 endings": {wear.Evidence{Endings: endings(2), InService: 3}, "2 recorded endings"},
	} {
		require.Equal(t, brief, c.evidence.Brief())
		require.Equal(t, c.words, c.evidence.Words())
	}
	require.Zero(t, wear.Evidence{Endings: endings(1), Counted: 3}.Recorded(), "never less than none")
}

// Every figure of the sum is that of one and that of the other.
func TestEvidenceOfTwoClassesAddsUp(t *testing.T) {
	a := wear.Evidence{InService: 1, Endings: programme.Endings[int]{Worn: 2, Print: 3, Mishap: 4}, Unexplained: 5,
		Other: 6, Counted: 7, HandedOver: 8, Assumed: 9, Ageless: 10}
	b := wear.Evidence{InService: 100, Endings: programme.Endings[int]{Worn: 200, Print: 300, Mishap: 400},
		Unexplained: 500, Other: 600, Counted: 700, HandedOver: 800, Assumed: 900, Ageless: 1000}
	require.Equal(t, wear.Evidence{
		InService: 101, Endings: programme.Endings[int]{Worn: 202, Print: 303, Mishap: 404},
		Unexplained: 505, Other: 606, Counted: 707, HandedOver: 808, Assumed: 909, Ageless: 1010,
	}, a.Plus(b))
	require.Equal(t, 1, a.InService, "the first is left as it was")
}

func TestClassesAreCalledByTheNamesOfTheCatalogue(t *testing.T) {
	shop := &programme.Shop{
		Baselines: programme.Baselines{
			Fabrics: []programme.FabricBaseline{{Code: "polo-cloth", Name: "Cotton polo"}},
			Decorations: []programme.DecorationBaseline{{Code: "plastisol", Name: "Plastisol transfer"},
				{Code: "film", Name: "Film"}},
		},
		Garments: []programme.Garment{{Code: "coat", Name: "Long coat"}},
	}
	for class, want := range map[wear.Class][3]string{
		{Cloth: "polo-cloth"}: {"polo-cloth", "Cotton polo, no print", "Cotton polo"},
		{Cloth: "coat", Prints: "plastisol"}: {"coat with plastisol", "Long coat, plastisol transfer",
			"Long coat, printed"},
		{Cloth: "other", Prints: "film+plastisol+plastisol"}: {
			"other with film and plastisol and plastisol", "other, film and 2 times plastisol transfer",
			"other, printed",
		},
		{Cloth: "coat", Prints: "plastisol (industrial)+unknown"}: {
			"coat with plastisol (industrial) and unknown",
			"Long coat, plastisol transfer fit for industrial laundry and unknown", "Long coat, printed",
		},
	} {
		require.Equal(t, want, [3]string{class.String(), class.Name(shop), class.BriefName(shop)})
	}
}

// A role has two tees, washed 6 times a week between them after two wears each; another has
// one, worn 4 times a week: 3 / 2 and 2 washes of a piece, 1.75 on average.
func TestTheUsualPaceOfAClassIsTheMeanOverItsLines(t *testing.T) {
	shop, client := smallShop()
	shop.Garments[0].WearsPerWash = 2
	client.Roles[0].Kit[0].WearsAWeek = 6
	other := client.Roles[0].Kit[0]
	other.Each, other.WearsAWeek = 1, 4
	client.Roles = append(client.Roles, programme.Role{Code: "office", Kit: []programme.KitLine{other}})
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	require.Len(t, book.Classes(), 2)
	require.InDelta(t, 1.75, book.UsualPace(book.Classes()[0]), 1e-12)
	require.InDelta(t, 7, book.UsualPace(book.Classes()[1]), 1e-12, "the vest")
	require.Zero(t, book.UsualPace(&wear.Terms{}))
	tee, ok := book.Use("floor", "tee", "black")
	require.True(t, ok)
	require.InDelta(t, 3, tee.PerWeek, 1e-12)
	require.InDelta(t, 1.0, tee.Pace(3), 1e-12)
	require.InDelta(t, 3, tee.Pace(0), 1e-12, "as if by itself")

	// Where the garment does not say, its cloth does how often it is worn between washes.
	for perWash, want := range map[float64]float64{0: 3, 2: 3, 0.5: 12} {
		shop.Garments[0].WearsPerWash = perWash
		for i := range shop.Baselines.Fabrics {
			shop.Baselines.Fabrics[i].WearsPerWash = 2
		}
		book, err = wear.NewBook(shop, client, nil)
		require.NoError(t, err)
		tee, _ = book.Use("floor", "tee", "black")
		require.InDelta(t, want, tee.PerWeek, 1e-12)
	}
	for i := range shop.Baselines.Fabrics {
		shop.Baselines.Fabrics[i].WearsPerWash = 0
	}
	shop.Garments[0].WearsPerWash = 0
	book, err = wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	tee, _ = book.Use("floor", "tee", "black")
	require.InDelta(t, 6, tee.PerWeek, 1e-12, "after each wear where nobody says")
}

func TestAPrintIsCalledByItsDecoration(t *testing.T) {
	shop, client := smallShop()
	shop.Kinds = append(shop.Kinds, programme.TransferKind{Code: "tough", Decoration: "plastisol",
		FitForIndustrial: true})
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "badge", Kind: "tough"},
		programme.Artwork{Code: "lost", Kind: "none"})
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	for artwork, want := range map[string]string{"mark": "plastisol", "badge": "plastisol (industrial)", "lost": "",
		"none": ""} {
		require.Equal(t, want, book.PrintCode(artwork))
	}
}
