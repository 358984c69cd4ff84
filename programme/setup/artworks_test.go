package setup_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func TestArtworksAreAddedWithoutTouchingALine(t *testing.T) {
	text := string(file(t, "shop.yaml"))
	art := programme.Artwork{Code: "oak-back", Client: "oakyard", Name: "Oak: the back", Kind: "film",
		Width: 10 * programme.Inch, Height: 4 * programme.Inch, Turn: true}
	for name, before := range map[string]string{
		"at the end":           text,
		"without a line break": strings.TrimSuffix(text, "\n"),
		"before other keys":    text + "review_days: 14 # every second week\n",
		"indented not at all":  strings.ReplaceAll(text, "\n  - {code: bun", "\n- {code: bun") + "",
	} {
		if name == "indented not at all" {
			before = strings.ReplaceAll(before, "\n  - {code: oak", "\n- {code: oak")
		}
		t.Run(name, func(t *testing.T) {
			after, err := setup.AddArtworks([]byte(before), []programme.Artwork{art})
			require.NoError(t, err)
			shop, err := setup.ReadShop("shop.yaml", after)
			require.NoError(t, err, "%s", after)
			require.Len(t, shop.Artworks, 4)
			got, ok := shop.Artwork("oak-back")
			require.True(t, ok)
			require.Equal(t, &art, got)
			for line := range strings.SplitSeq(before, "\n") {
				require.Contains(t, string(after), line)
			}
			again, err := setup.AddArtworks(after, []programme.Artwork{art})
			require.NoError(t, err)
			require.Equal(t, string(after), string(again))
		})
	}
	_, err := setup.AddArtworks([]byte("artworks: [{code: a}]\n"), []programme.Artwork{art})
	require.ErrorContains(t, err, "stand in one line")
	none, err := setup.AddArtworks([]byte("name: x"), []programme.Artwork{art})
	require.NoError(t, err)
	require.Contains(t, string(none), "name: x\nartworks:\n  - {code: oak-back")
}

func TestAnIntakeSheetIsReadStrictly(t *testing.T) {
	shop := cornerPress(t)
	_, err := setup.ReadIntake("intake.yaml", []byte("code: a-client-with-a-very-long-code\nname: A\ncustomer: {name: B, email: b@c.example}\ntrade: gardening\nwork: {duty: mucky}\nprotective: [helmet]\nroles: [{code: x, peple: 3}]\n"), shop)
	require.EqualError(t, err, `intake.yaml line 4, trade: read "gardening"; write one of: food, retail, hotel, care, school, office, cleaning, grounds, building, garage, delivery, workshop, other
intake.yaml line 5, work.duty: read "mucky"; write one of: light, medium, heavy, dirty
intake.yaml line 6, protective[1]: read "helmet"; write high-visibility, flame-resistant or other-protective
intake.yaml line 7, roles[1]: unknown key peple; did you mean people?`)
	_, err = setup.ReadIntake("intake.yaml", setup.WriteIntake(setup.BlankIntake()), shop)
	require.NoError(t, err)
}

func FuzzReadIntake(f *testing.F) {
	shop := cornerPress(f)
	f.Add(setup.WriteIntake(setup.BlankIntake()))
	f.Fuzz(func(t *testing.T, text []byte) {
		in, err := setup.ReadIntake("intake.yaml", text, shop)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		again, err := setup.ReadIntake("intake.yaml", setup.WriteIntake(in), shop)
		require.NoError(t, err)
		require.Equal(t, in, again)
	})
}

// Any shop.yaml that reads still reads with an artwork more, or is left alone.
func FuzzAddArtworks(f *testing.F) {
	goldentest.Seeds(f, "testdata/bad/shop-*.yaml", "../../testdata/bakery/shop.yaml")
	f.Add(file(f, "shop.yaml"))
	art := programme.Artwork{Code: "new-mark", Client: "oakyard", Name: "New", Kind: "film", Width: programme.Inch,
		Height: programme.Inch, Turn: true}
	f.Fuzz(func(t *testing.T, text []byte) {
		before, err := setup.ReadShop("shop.yaml", text)
		if err != nil {
			return
		}
		after, err := setup.AddArtworks(text, []programme.Artwork{art})
		if err != nil {
			return
		}
		shop, err := setup.ReadShop("shop.yaml", after)
		if err != nil { // the kind it names may be gone, or its sheets too small
			require.Contains(t, err.Error(), "artworks.new-mark", "%s", after)
			return
		}
		_, ok := shop.Artwork("new-mark")
		require.True(t, ok)
		require.GreaterOrEqual(t, len(shop.Artworks), len(before.Artworks))
	})
}
