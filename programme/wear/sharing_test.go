package wear_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Twenty thousand lives with two prints of one kind beside cloth and mishaps,
// of whose endings two in three have no cause written down, half of those only
// an interval: whatever the shares are, they must lead back to the truth that
// drew them. A piece is washed once a day.
func TestManyLivesOfUnknownCauseLeadBackToTheTruth(t *testing.T) {
	const mishap = 1.5 // a year
	shop, client := smallShop()
	shop.Baselines.MishapPerYear = mishap
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "back", Kind: "screen"})
	client.Roles[0].Kit[0].Decorations = append(client.Roles[0].Kit[0].Decorations,
		programme.Decoration{Artwork: "back"})
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	cloth, print := wear.FromMedian(48, 2.2), wear.FromMedian(62, 3.2)
	rng := rand.New(rand.NewPCG(4, 8))
	draw := func(w wear.Weibull) float64 { return w.Scale * math.Pow(rng.ExpFloat64(), 1/w.Shape) }
	var h wear.History
	for i := range 20_000 {
		c, p, m := draw(cloth), min(draw(print), draw(print)), rng.ExpFloat64()/mishap*365.2425
		x, why := c, programme.Worn
		if p < x {
			x, why = p, programme.Print
		}
		if m < x {
			x, why = m, programme.Lost
		}
		h.Ended = append(h.Ended, ending(x, why, i%3))
	}
	k := book.Learn(h, monday.Add(1000))[book.Classes()[0].Class]
	t.Logf("cloth %.2f %.3f of %.2f %.3f; print %.2f %.3f of %.2f %.3f; mishap %.3f of %.3f",
		k.Cloth.Typical().Median(), k.Cloth.Typical().Shape, cloth.Median(), cloth.Shape,
		k.Prints[0].Typical().Median(), k.Prints[0].Typical().Shape, print.Median(), print.Shape,
		k.Mishap.Mean(), mishap)
	require.InEpsilon(t, cloth.Median(), k.Cloth.Typical().Median(), 0.015)
	require.InEpsilon(t, cloth.Shape, k.Cloth.Typical().Shape, 0.03)
	require.InEpsilon(t, print.Median(), k.Prints[0].Typical().Median(), 0.015)
	require.InEpsilon(t, print.Shape, k.Prints[0].Typical().Shape, 0.03)
	require.InEpsilon(t, mishap, k.Mishap.Mean(), 0.04)
}

// ending is a life of x washes as it may be known: with its cause, without, or
// only between two counts 20 washes apart.
func ending(x float64, why programme.Reason, known int) programme.Piece {
	x = math.Ceil(x)
	p := programme.Piece{StaffID: "a", SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}, Issued: monday,
		Reason: why, Washes: x - 0.5}
	if known > 0 {
		p.Reason = programme.Unexplained
	}
	p.FromWashes, p.ToWashes = p.Washes, p.Washes
	if known == 2 {
		p.FromWashes = 20 * math.Floor((x-0.5)/20)
		p.ToWashes = p.FromWashes + 20
		p.Washes = p.FromWashes + 10
	}
	p.Ended = monday.Add(int(math.Round(p.Washes + 0.5)))
	return p
}

// One of two pieces was seen to end on day 10, and a count finds the other
// missing: it may have ended before that day as well as after it.
func TestAnUnseenEndingMayLieBeforeASeenOne(t *testing.T) {
	h := trace(t, nil, 40, issue(0, "M", 2), ended(10, "M", 1, programme.Worn), counted(30, "M", 0))
	require.Len(t, h.Ended, 2)
	unseen := h.Ended[1]
	require.Equal(t, programme.Unexplained, unseen.Reason)
	require.Zero(t, unseen.FromWashes)
	require.Greater(t, unseen.ToWashes, 20.0)
}

func TestHardWorkShortensClothAlone(t *testing.T) {
	shop, client := smallShop()
	client.Work.Duty = programme.Heavy
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	require.InDelta(t, 40*0.65, book.Classes()[0].Cloth.Median(), 1e-9)
	require.InDelta(t, 55, book.Classes()[0].Prints[0].Median(), 1e-9)
}

// Twenty thousand pieces counted at 30 washes and looked at again at 60: of what
// ended in between, two in five are still on the books.
func TestPiecesNotSeenSinceACountTeachNoMoreThanTheyCan(t *testing.T) {
	shop, client := smallShop()
	shop.Baselines.MishapPerYear = 0.5
	client.Roles[0].Kit[0].Decorations = nil
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	cloth := wear.FromMedian(48, 2.2)
	const hidden, mishap = 0.4, 0.5
	rng := rand.New(rand.NewPCG(6, 6))
	h := wear.History{Hidden: hidden}
	gone, unseen, chance := 0, 0, wear.Gone(cloth.Hazard(60)-cloth.Hazard(30)+mishap*30/365.2425, hidden)
	for range 20_000 {
		x, why := cloth.Scale*math.Pow(rng.ExpFloat64(), 1/cloth.Shape), programme.Worn
		if m := rng.ExpFloat64() / mishap * 365.2425; m < x {
			x, why = m, programme.Lost
		}
		switch {
		case x < 30 || x < 60 && rng.Float64() >= hidden:
			h.Ended = append(h.Ended, ending(x, why, 0))
		default:
			unseen++
			if x < 60 {
				gone++
			}
			h.InService = append(h.InService, programme.Piece{
				StaffID: "a", SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}, Issued: monday,
				Washes: 60, FromWashes: 30, ToWashes: 60, UnseenDays: 30,
			})
		}
	}
	require.InEpsilon(t, chance, float64(gone)/float64(unseen), 0.02)
	k := book.Learn(h, monday.Add(60))[book.Classes()[0].Class]
	t.Logf("cloth %.2f %.3f; mishap %.3f; %+v", k.Cloth.Typical().Median(), k.Cloth.Typical().Shape,
		k.Mishap.Mean(), k.Evidence)
	require.InEpsilon(t, cloth.Median(), k.Cloth.Typical().Median(), 0.015)
	require.InEpsilon(t, cloth.Shape, k.Cloth.Typical().Shape, 0.03)
	require.InEpsilon(t, mishap, k.Mishap.Mean(), 0.04)
	require.Equal(t, unseen, k.Evidence.InService)
}

// Three pieces, one written down, one found missing by the count; then one more
// is issued and nobody counts for 20 days.
func TestCountsTellHowManyEndingsStayHidden(t *testing.T) {
	h := trace(t, nil, 60, issue(0, "M", 3), ended(10, "M", 1, programme.Worn), counted(40, "M", 1), issue(50, "M", 1))
	require.InDelta(t, 2.0/12, h.Hidden, 1e-12, "one of ten believed before, one of two since")
	require.Len(t, h.InService, 2)
	old, fresh := h.InService[0], h.InService[1]
	require.InDelta(t, 20, old.UnseenDays, 0)
	require.InDelta(t, 10+5, old.Washes-old.FromWashes, 1e-9, "ten days alone, ten of two")
	require.InDelta(t, 10, fresh.UnseenDays, 0)
	require.InDelta(t, 0, fresh.FromWashes, 1e-9)
	require.Zero(t, trace(t, nil, 60, issue(0, "M", 3), ended(10, "M", 1, programme.Worn)).Hidden, "nobody counts")
	today := trace(t, nil, 60, issue(0, "M", 3), counted(60, "M", 3)).InService[0]
	require.Zero(t, today.UnseenDays)
	require.InDelta(t, today.Washes, today.FromWashes, 1e-9)
}

// Pieces that only mishaps end, three a year, known from counts 60 days apart
// alone: the days that they lived inside the gap decide the rate.
func TestMishapsFoundAtCountsLeadBackToTheirRate(t *testing.T) {
	const mishap, gap = 3.0, 60
	shop, client := smallShop()
	shop.Baselines.MishapPerYear = mishap
	shop.Garments[0].Median, shop.Garments[0].Shape = 1e9, 1
	client.Roles[0].Kit[0].Decorations = nil
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, 3))
	var h wear.History
	for range 60_000 {
		from := gap * math.Floor(rng.ExpFloat64()/mishap*365.2425/gap)
		h.Ended = append(h.Ended, programme.Piece{
			StaffID: "a", SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "M"}, Issued: monday,
			Reason:     programme.Unexplained,
			FromWashes: from, ToWashes: from + gap, Washes: from + gap/2, Ended: monday.Add(int(from) + gap/2),
		})
	}
	k := book.Learn(h, monday.Add(2000))[book.Classes()[0].Class]
	require.InEpsilon(t, mishap, k.Mishap.Mean(), 0.012)
}
