package sheet_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// shopNeed is a need as a shop meets it: 3 to 40 artworks of 40 to 330 mm, to a
// tenth of a millimetre, 1 to 60 of each, small ones more often.
func shopNeed(seed uint64, cut programme.CutStyle, size programme.SheetSize) sheet.Request {
	rng := rand.New(rand.NewPCG(seed, 1830))
	kind := programme.TransferKind{
		Code: "film", Process: programme.Digital, Cut: cut, Gutter: 6 * programme.Millimetre, Margin: 6 * programme.Millimetre,
		Prices: []programme.PriceBreak{{From: 0, Price: 1600}}, Sheets: []programme.SheetSize{size},
	}
	if cut == programme.Trimmer {
		kind.LongestCut = 1200 * programme.Millimetre
	}
	shop := &programme.Shop{Currency: "USD", Kinds: []programme.TransferKind{kind}}
	req := sheet.Request{AsOf: march, Shop: shop}
	side := func() programme.Length {
		u := rng.Float64()
		return programme.Length(400+int(2900*u*u*rng.Float64())) * programme.Millimetre / 10
	}
	for i := range 3 + rng.IntN(38) {
		a := programme.Artwork{Code: fmt.Sprintf("art%02d", i), Client: fmt.Sprint("client", i%4), Kind: "film", Width: side(), Height: side(), Turn: true}
		shop.Artworks = append(shop.Artworks, a)
		req.Needs = append(req.Needs, sheet.Need{Artwork: a.Code, Pieces: 1 + rng.IntN(60)})
	}
	return req
}

// lengthFloor is a length that no packing of the need is below.
func lengthFloor(req sheet.Request) float64 {
	k := &req.Shop.Kinds[0]
	var pieces []pack.Piece
	for i, n := range req.Needs {
		a := &req.Shop.Artworks[i]
		pieces = append(pieces, pack.Piece{W: int64(a.Width + k.Gutter), H: int64(a.Height + k.Gutter), Count: n.Pieces, Turn: true})
	}
	return float64(pack.StripBound(pieces, int64(k.Sheets[0].Width-2*k.Margin+k.Gutter)) - int64(k.Gutter) + int64(2*k.Margin))
}

var roll = programme.SheetSize{Code: "22in", Width: 22 * inch, Roll: true}

// TestShopNeedsComeNearTheBound: rolls cut with scissors and with a trimmer
// against a bound that nothing is below. The long form has 30 needs with about a
// second of search each.
func TestShopNeedsComeNearTheBound(t *testing.T) {
	needs, tries := 4, 250
	most := map[programme.CutStyle]float64{programme.Scissors: 0.02, programme.Trimmer: 0.04}
	if os.Getenv("KITMUSTER_FULL") == "1" {
		needs, tries = 30, 6000
		most = map[programme.CutStyle]float64{programme.Scissors: 0.012, programme.Trimmer: 0.03}
	}
	for _, cut := range []programme.CutStyle{programme.Scissors, programme.Trimmer} {
		var gap float64
		var islands, both, artworks int
		for i := range needs {
			req := shopNeed(uint64(i), cut, roll)
			req.Budget.Iterations = tries
			plan, err := sheet.Arrange(req)
			require.NoError(t, err)
			require.Empty(t, inspect.Plan(req.Shop, &plan))
			gap += float64(plan.Orders[0].Used)/lengthFloor(req) - 1
			n, m := islandsOf(&plan.Orders[0])
			islands, both, artworks = islands+n, both+m, artworks+len(req.Needs)
		}
		t.Logf("%v: %.2f %% above the bound, %.2f islands an artwork, %.0f %% of the artworks lie both ways",
			cut, 100*gap/float64(needs), float64(islands)/float64(artworks), 100*float64(both)/float64(artworks))
		require.LessOrEqual(t, gap/float64(needs), most[cut])
	}
}

// islandsOf counts the groups of equal images of an order, and its artworks that
// lie both ways on a layout.
func islandsOf(o *sheet.Order) (islands, both int) {
	for i := range o.Layouts {
		number := map[string]int{}
		var places []pack.Place
		for _, it := range o.Layouts[i].Items {
			if _, known := number[it.Artwork]; !known {
				number[it.Artwork] = len(number)
			}
			places = append(places, pack.Place{
				Piece: number[it.Artwork], X: int64(it.X), Y: int64(it.Y), W: int64(it.W + o.Gutter), H: int64(it.H + o.Gutter), Turned: it.Turned,
			})
		}
		n, m := pack.Islands(places)
		islands, both = islands+n, both+m
	}
	return islands, both
}
