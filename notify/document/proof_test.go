package document_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

const inch = programme.Inch

// proofShop is an invented shop with a screen-printed and a digital kind.
func proofShop() *programme.Shop {
	return &programme.Shop{
		Name: "Harbour Street Decorating", Currency: "USD", Units: programme.Inches,
		Kinds: []programme.TransferKind{
			{Code: "plastisol", Name: "Screen-printed, hot peel", Process: programme.ScreenPrinted,
				Cut: programme.Scissors, Gutter: inch / 4, Margin: inch / 4, SetUp: 2500, Spoilage: 0.02,
				Prices: []programme.PriceBreak{{From: 1, Price: 900}, {From: 10, Price: 650}},
				Sheets: []programme.SheetSize{{Code: "13x19", Width: 13 * inch, Height: 19 * inch}}},
			{Code: "film", Name: "Direct to film", Process: programme.Digital, Cut: programme.Trimmer, Gutter: inch / 4,
				Margin: inch / 4, Spoilage: 0.02, Prices: []programme.PriceBreak{{From: 0, Price: 1800}},
				Sheets: []programme.SheetSize{{Code: "22 in roll", Width: 22 * inch, Roll: true}}},
		},
		Artworks: []programme.Artwork{
			{Code: "bakery-chest", Client: "bakery", Kind: "plastisol", Width: 4 * inch, Height: 3 * inch,
				Turn: true, Inks: 2},
			{Code: "garage-chest", Client: "garage", Kind: "plastisol", Width: 7 * inch / 2,
				Height: 7 * inch / 2, Inks: 1},
			{Code: "garage-back", Client: "garage", Kind: "plastisol", Width: 11 * inch, Height: 6 * inch, Inks: 1},
			{Code: "school-back", Client: "school", Kind: "film", Width: 11 * inch, Height: 12 * inch, Turn: true},
			{Code: "school-cap", Client: "school", Kind: "film", Width: 9 * inch / 2, Height: 9 * inch / 4, Turn: true},
			{Code: "clinic-neck", Client: "clinic", Kind: "film", Width: 2 * inch, Height: 3 * inch, Turn: true},
		},
	}
}

func proofs(t testing.TB) []document.Proof {
	t.Helper()
	shop := proofShop()
	plan, err := sheet.Arrange(sheet.Request{AsOf: programme.NewDate(2026, 3, 9), Shop: shop,
		Budget: sheet.Budget{Iterations: 500}, Needs: []sheet.Need{
			{Artwork: "bakery-chest", Pieces: 40}, {Artwork: "garage-chest", Pieces: 22},
			{Artwork: "garage-back", Pieces: 22},
			{Artwork: "school-back", Pieces: 9}, {Artwork: "school-cap", Pieces: 30},
			{Artwork: "clinic-neck", Pieces: 31},
		}})
	require.NoError(t, err)
	var out []document.Proof
	for i := range plan.Orders {
		kind, _ := shop.Kind(plan.Orders[i].Kind)
		out = append(out, document.Proof{
			Head: document.Head{Shop: shop.Name, Units: shop.Units, AsOf: programme.NewDate(2026, 3, 9)},
			Ref:  "Transfers of 9 Mar 2026", Order: &plan.Orders[i], Kind: kind.Name,
			Pictures: map[string][]byte{"garage-back": testPicture(t)},
		})
	}
	return out
}

// testPicture is an arrow pointing up on a gradient, so that a turn shows.
func testPicture(t testing.TB) []byte {
	t.Helper()
	m := image.NewNRGBA(image.Rect(0, 0, 220, 120))
	for y := range 120 {
		for x := range 220 {
			c := color.NRGBA{uint8(40 + x/2), uint8(90 + y/2), 160, 255}
			if d := x - 110; y > 20 && y < 100 && (d*d < 64 || (y < 60 && d*d < (y-20)*(y-20))) {
				c = color.NRGBA{250, 220, 90, 255}
			}
			m.SetNRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

func TestProofIsTheSameEveryTime(t *testing.T) {
	for _, p := range proofs(t) {
		a, warnings, err := p.PDF()
		require.NoError(t, err)
		require.Empty(t, warnings)
		b, _, err := p.PDF()
		require.NoError(t, err)
		require.True(t, bytes.Equal(a, b))
		first, warnings := p.SVG()
		require.Empty(t, warnings)
		second, _ := p.SVG()
		require.Equal(t, first, second)
	}
}

func TestProofSVGIsWellFormedAndTrueToScale(t *testing.T) {
	for _, p := range proofs(t) {
		pages, _ := p.SVG()
		for i, svg := range pages {
			require.NoError(t, readXML(svg))
			l := p.Order.Layouts[i]
			for _, it := range l.Items {
				require.Contains(t, string(svg), it.Artwork)
			}
			require.Contains(t, string(svg), `mm" viewBox="0 0 `)
		}
	}
}

// Whoever looks at a proof reads names as people say them; what has none keeps its code.
func TestProofCallsArtworksAndClientsByTheirNames(t *testing.T) {
	shop := proofShop()
	shop.Artworks[2].Name = "Quay wave, back"
	p := proofs(t)[0]
	for _, art := range shop.Artworks {
		p.Order.Room = append(p.Order.Room, sheet.Room{Layout: p.Order.Layouts[0].Name, Artwork: art.Code,
			Client: art.Client, Each: 1, From: monday})
	}
	p.Artwork, p.Clients = shop.Artwork, map[string]string{"garage": "Quay Garage"}
	pages, _ := p.SVG()
	drawn := string(bytes.Join(pages, nil))
	for _, want := range []string{"Quay wave, back", "Quay Garage", "bakery-chest",
		"Would fit as well, at no cost: 1 × “bakery-chest” of bakery (used from ",
		"1 × “Quay wave, back” of Quay Garage (used from ", "; and 3 more<"} {
		require.Contains(t, drawn, want)
	}
	require.NotContains(t, drawn, "garage-back")
	require.NotContains(t, drawn, "garage<")
	require.NotContains(t, drawn, "garage ·")
}

// A long name in a small box is broken into lines, since on one line nobody could read it.
func TestProofBreaksALongNameToBeRead(t *testing.T) {
	shop := proofShop()
	shop.Artworks[0].Name = "Crest of the Northgate school of hospitality and catering"
	p := proofs(t)[0]
	p.Artwork = shop.Artwork
	p.Order.Layouts = []sheet.Layout{{Name: "A", Copies: 1, Width: 13 * inch, Height: 19 * inch, Items: []sheet.Item{
		{Artwork: shop.Artworks[0].Code, Client: "bakery", X: inch, Y: inch, W: 2 * inch, H: 8 * inch / 5}}}}
	pages, _ := p.SVG()
	drawn := string(bytes.Join(pages, nil))
	name := regexp.MustCompile(`font-size="([\d.]+)" fill="#2b2722" font-weight="bold" text-anchor="middle">([^<]+)<`).
		FindAllStringSubmatch(drawn, -1)
	require.Greater(t, len(name), 1)
	var words []string
	for _, line := range name {
		size, err := strconv.ParseFloat(line[1], 64)
		require.NoError(t, err)
		require.Greater(t, size, 2.4, "7 points, in millimetres")
		words = append(words, line[2])
	}
	require.Equal(t, shop.Artworks[0].Name, strings.Join(words, " "))
}

func TestProofSaysThatNothingCostsLess(t *testing.T) {
	const words = "no way to print it costs less: proven"
	for _, p := range proofs(t) {
		for _, proven := range []bool{true, false} {
			p.Order.Proven = proven
			pages, _ := p.SVG()
			for _, svg := range pages {
				require.Equal(t, proven, strings.Contains(string(svg), words))
			}
		}
	}
}

func readXML(b []byte) error {
	d := xml.NewDecoder(bytes.NewReader(b))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

func TestProofDrawsABoxForAPictureThatIsNone(t *testing.T) {
	p := proofs(t)[0]
	whole := testPicture(t)
	p.Pictures = map[string][]byte{"garage-back": []byte("no picture"),
		"bakery-chest": []byte("\x89PNG\r\n\x1a\nbroken"), "garage-chest": whole[:len(whole)/2]}
	b, warnings, err := p.PDF()
	require.NoError(t, err)
	require.NotEmpty(t, b)
	text := strings.Join(warnings, "\n")
	require.Contains(t, text, "The picture of garage-back cannot be drawn: it is neither PNG, JPEG nor SVG.")
	require.Contains(t, text, "The picture of bakery-chest cannot be drawn: it is broken: ")
	require.Equal(t, 1, strings.Count(text, "The picture of garage-chest cannot be drawn: it is broken: "),
		"once, not for every copy")
}
