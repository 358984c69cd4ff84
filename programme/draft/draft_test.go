package draft_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
	"github.com/kitmuster/kitmuster/programme/draft"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// catalogue is the shop of the demo, without its clients' artworks.
func catalogue() *programme.Shop {
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(1))
	w.Shop.Artworks = nil
	return &w.Shop
}

func kitchen() *draft.Intake {
	in := setup.BlankIntake()
	in.Code, in.Name, in.Trade = "millrace", "Millrace Kitchen", draft.Food
	in.Work.Duty, in.Flames = programme.Dirty, true
	in.Laundering.Regime = "home-hot"
	in.Roles = []draft.Role{{Code: "cook", Name: "Cook", People: 4, BackRoom: true},
		{Code: "floor", Name: "Floor", People: 6, PartTime: true}}
	return in
}

func crew() *draft.Intake {
	in := setup.BlankIntake()
	in.Code, in.Name, in.Trade = "fernhill", "Fernhill Gardens", draft.Grounds
	in.Work = programme.Work{Place: programme.Mobile, Setting: programme.Outdoor, Duty: programme.Heavy,
		StrongSun: true, DaysPerWeek: 5}
	in.ColdOrWet, in.Traffic = true, true
	in.Services, in.Telephone, in.Area, in.Colour = "Lawns Hedges Paths", "555 0142 777", "Marsh County", "moss"
	in.Protective = []programme.Protective{programme.HighVisibility, programme.FlameResistant}
	in.Roles = []draft.Role{{Code: "crew", Name: "Crew", People: 9},
		{Code: "office", Name: "Office", People: 2, Indoors: true}}
	return in
}

func clinic() *draft.Intake {
	in := setup.BlankIntake()
	in.Code, in.Name, in.Trade = "quayside", "Quayside Practice", draft.Care
	in.Laundering = programme.Laundering{Regime: "industrial", Chlorine: true}
	in.Roles = []draft.Role{{Code: "nurse", Name: "Nurse", People: 12}}
	return in
}

func made(t testing.TB, in *draft.Intake) *draft.Draft {
	t.Helper()
	d, err := draft.Make(catalogue(), in)
	require.NoError(t, err)
	return d
}

func line(c *programme.Client, role, family string) *programme.KitLine {
	shop := catalogue()
	r, ok := c.Role(role)
	if !ok {
		return nil
	}
	for i := range r.Kit {
		if g, _ := shop.Garment(r.Kit[i].Garment); g.SizeFamily == family || g.FabricClass == family {
			return &r.Kit[i]
		}
	}
	return nil
}

func TestDraftsOfThreeTrades(t *testing.T) {
	for _, in := range []*draft.Intake{kitchen(), crew(), clinic()} {
		goldentest.Equal(t, in.Code+".yaml", setup.WriteDraft(made(t, in)))
	}
}

func TestAFixedPlaceNeedsTheMarkAlone(t *testing.T) {
	d := made(t, kitchen())
	for _, role := range d.Client.Roles {
		for _, k := range role.Kit {
			require.LessOrEqual(t, len(k.Decorations), 1)
			for _, x := range k.Decorations {
				require.NotEqual(t, "full-back", x.Place)
			}
		}
	}
	require.Contains(t, d.Printing[0], "the mark alone")
}

func TestAMobileCrewIsReadableFromAfar(t *testing.T) {
	d := made(t, crew())
	top := line(&d.Client, "crew", "top")
	require.Len(t, top.Decorations, 2)
	require.Equal(t, "full-back", top.Decorations[1].Place)
	says := strings.Join(d.Printing, "\n")
	require.Contains(t, says, `"555 0142 777" can stand 1.25 in high`)
	require.Contains(t, says, "read comfortably from 12 ft")
	// An inch of letter for ten feet: common practice, no source.
	require.Equal(t, 3*programme.Inch, draft.LetterHeight(30*12*programme.Inch))
	in := crew()
	in.Telephone = ""
	require.Contains(t, strings.Join(made(t, in).Printing, "\n"), "gives no telephone")
}

func TestSetsFollowTheLaundry(t *testing.T) {
	require.Equal(t, 11, line(&made(t, clinic()).Client, "nurse", "top").Each, "2 x days + 1 with a weekly exchange")
	in := clinic()
	in.Laundering = programme.Laundering{Regime: "home-low"}
	require.Equal(t, 5, line(&made(t, in).Client, "nurse", "top").Each, "one a day with a weekly home wash")
	require.Equal(t, 3, line(&made(t, kitchen()).Client, "floor", "top").Each, "three for part-time staff")
}

func TestClothFollowsWashingAndDanger(t *testing.T) {
	shop := catalogue()
	fibre := func(garment string) programme.Fibre {
		g, _ := shop.Garment(garment)
		for _, f := range shop.Baselines.Fabrics {
			if f.Code == g.FabricClass {
				return f.Fibre
			}
		}
		return ""
	}
	require.Equal(t, programme.Cotton, fibre(line(&made(t, kitchen()).Client, "cook", "top").Garment),
		"near flames no polyester")
	garage := kitchen()
	garage.Trade, garage.Work.Food = draft.Garage, false
	d := made(t, garage)
	for _, r := range d.Client.Roles {
		for i := range r.Kit {
			require.Equal(t, programme.Cotton, fibre(r.Kit[i].Garment), "near flames no polyester on the legs either")
		}
	}
	require.NotNil(t, line(&d.Client, "cook", "top"))
	garage.Flames = false
	require.NotNil(t, line(&made(t, garage).Client, "cook", "bottom"), "without flames trousers of a blend will do")
	require.Equal(t, programme.Blend, fibre(line(&made(t, clinic()).Client, "nurse", "top").Garment),
		"an industrial laundry eats cotton")
}

// No draft puts a transfer on polyester that is pressed hotter than its dye stays put.
func TestADraftPressesPolyesterCool(t *testing.T) {
	seen := 0
	for _, trade := range draft.Trades() {
		in := crew()
		in.Trade, in.Work.Setting = trade, programme.Outdoor
		shop := setup.Starter(setup.Start{Units: programme.Inches})
		d, err := draft.Make(shop, in)
		require.NoError(t, err)
		shop.Artworks = append(shop.Artworks, d.Artworks...)
		for _, role := range d.Client.Roles {
			for _, l := range role.Kit {
				g, _ := shop.Garment(l.Garment)
				f, _ := shop.Baselines.Fabric(g.FabricClass)
				for _, x := range l.Decorations {
					a, _ := shop.Artwork(x.Artwork)
					k, _ := shop.Kind(a.Kind)
					require.False(t, k.Settings.TooHot(f.Fibre),
						"%s: %s on %s: no ticket has to send anybody to the transfer's maker", trade, k.Code, g.Code)
					if f.Fibre == programme.Blend {
						seen++
					}
				}
			}
		}
	}
	require.Positive(t, seen)
}

// A client has each mark as one transfer wherever its cloths take the same kind, and no two artworks of one name.
func TestAMarkIsOneTransferWhereItsClothsTakeIt(t *testing.T) {
	for _, trade := range draft.Trades() {
		in := crew()
		in.Trade, in.ColdOrWet, in.Work.Setting = trade, true, programme.Outdoor
		shop := setup.Starter(setup.Start{Units: programme.Inches})
		d, err := draft.Make(shop, in)
		require.NoError(t, err)
		names, kinds := map[string]bool{}, map[string][]string{}
		for _, a := range d.Artworks {
			require.False(t, names[a.Name], "%s: two artworks are called %q", trade, a.Name)
			names[a.Name] = true
			mark, _, _ := strings.Cut(strings.TrimPrefix(a.Code, in.Code+"-"), "-"+a.Kind)
			kinds[mark] = append(kinds[mark], a.Kind)
		}
		shop.Artworks = append(shop.Artworks, d.Artworks...)
		for mark, of := range kinds {
			if len(of) < 2 {
				continue
			}
			for _, role := range d.Client.Roles {
				for _, l := range role.Kit {
					g, _ := shop.Garment(l.Garment)
					f, _ := shop.Baselines.Fabric(g.FabricClass)
					for _, x := range l.Decorations {
						if x.Artwork == in.Code+"-"+mark+"-"+of[1] {
							first, _ := shop.Kind(of[0])
							require.True(t, choose.Refuses(shop, g, first) || first.Settings.TooHot(f.Fibre),
								"%s: %s would take %s", trade, g.Code, of[0])
						}
					}
				}
			}
		}
	}
}

func TestProtectiveClothingIsNeverDecoratedByADraft(t *testing.T) {
	d := made(t, crew())
	vest := line(&d.Client, "crew", "high-visibility")
	require.NotNil(t, vest)
	require.Empty(t, vest.Decorations)
	says := strings.Join(d.Cautions, "\n")
	require.Contains(t, says, "never print on or over a tape")
	require.Contains(t, says, "Nothing flame-resistant is in this draft")
}

// A protective garment of an ordinary cloth is taken only where it is asked for.
func TestNobodyIsDressedInProtectiveClothingByChance(t *testing.T) {
	shop := catalogue()
	for i := range shop.Garments {
		g := &shop.Garments[i]
		if g.Protective == programme.NotProtective && g.SizeFamily == "top" {
			shielded := *g
			shielded.Code, shielded.Protective = "shielded-"+g.Code, programme.FlameResistant
			shielded.Sizes = slices.Clone(g.Sizes)
			for j := range shielded.Sizes {
				shielded.Sizes[j].Cost = 1 // and cheaper than all
			}
			shop.Garments = append(shop.Garments, shielded)
		}
	}
	d, err := draft.Make(shop, kitchen())
	require.NoError(t, err)
	for _, r := range d.Client.Roles {
		for _, k := range r.Kit {
			require.NotContains(t, k.Garment, "shielded-")
		}
	}
}

// Whatever is answered, the draft is a programme that the reader takes, over a
// shop.yaml that keeps every line it had.
func TestEveryDraftCanBeApplied(t *testing.T) {
	shop := catalogue()
	shop.Kinds = shop.Kinds[1:2] // one kind of transfer, for speed
	text := setup.WriteShop(shop)
	rapid.Check(t, func(t *rapid.T) {
		in := anyIntake(t)
		again, err := setup.ReadIntake("intake.yaml", setup.WriteIntake(in), shop)
		require.NoError(t, err)
		require.Equal(t, in, again)
		d, err := draft.Make(shop, in)
		require.NoError(t, err)
		next, err := setup.AddArtworks(text, d.Artworks)
		require.NoError(t, err)
		read, err := setup.ReadShop("shop.yaml", next)
		require.NoError(t, err)
		require.Len(t, read.Artworks, len(d.Artworks))
		c, err := setup.ReadClient("draft.yaml", setup.WriteDraft(d), read)
		require.NoError(t, err)
		require.Equal(t, &d.Client, c)
		require.Len(t, d.Heads, len(in.Roles))
	})
}

func anyIntake(t *rapid.T) *draft.Intake {
	in := setup.BlankIntake()
	in.Code, in.Name = "anyone", "Anyone"
	in.Trade = rapid.SampledFrom(draft.Trades()).Draw(t, "trade")
	in.Work.Place = rapid.SampledFrom([]programme.Place{programme.Fixed, programme.Mobile}).Draw(t, "place")
	in.Work.Setting = rapid.SampledFrom([]programme.Setting{programme.Indoor, programme.Outdoor}).Draw(t, "setting")
	in.Work.Duty = rapid.SampledFrom([]programme.Duty{programme.Light, programme.Medium, programme.Heavy,
		programme.Dirty}).Draw(t, "duty")
	in.Work.DaysPerWeek = rapid.Float64Range(0.5, 7).Draw(t, "days")
	in.Work.Food, in.ColdOrWet = rapid.Bool().Draw(t, "food"), rapid.Bool().Draw(t, "cold")
	in.Flames, in.Traffic, in.Seen = rapid.Bool().Draw(t, "flames"), rapid.Bool().Draw(t, "traffic"),
		rapid.Bool().Draw(t, "seen")
	in.Laundering.Regime = rapid.SampledFrom([]string{"home-low", "on-premises", "industrial"}).Draw(t, "regime")
	in.Laundering.Chlorine = rapid.Bool().Draw(t, "chlorine")
	in.Telephone = rapid.SampledFrom([]string{"", "555 0100"}).Draw(t, "telephone")
	in.Roles = []draft.Role{{Code: "a", Name: "A", People: rapid.IntRange(1, 300).Draw(t, "people"),
		PartTime: rapid.Bool().Draw(t, "part"), BackRoom: rapid.Bool().Draw(t, "back")}}
	return in
}

func TestACatalogueWithNothingForTheClientSaysSo(t *testing.T) {
	shop := catalogue()
	shop.Garments = nil
	_, err := draft.Make(shop, kitchen())
	require.ErrorContains(t, err, "the catalogue has none of what this client needs")
	shop.Kinds = nil
	_, err = draft.Make(shop, kitchen())
	require.ErrorContains(t, err, "no transfer kind")
}

// TestADraftNamesExtrasForFreeRoom: artworks that no garment carries, small enough
// for the room a sheet leaves, are the client's own and therefore offered where a
// sheet that is paid anyway has room.
func TestADraftNamesExtrasForFreeRoom(t *testing.T) {
	shop := catalogue()
	d, err := draft.Make(shop, kitchen())
	require.NoError(t, err)
	worn := map[string]bool{}
	var need []sheet.Need
	for _, r := range d.Client.Roles {
		for _, k := range r.Kit {
			for _, on := range k.Decorations {
				if !worn[on.Artwork] {
					need = append(need, sheet.Need{Artwork: on.Artwork, Pieces: 3})
				}
				worn[on.Artwork] = true
			}
		}
	}
	extras := map[string]bool{}
	for _, a := range d.Artworks {
		if !worn[a.Code] {
			extras[a.Code] = true
		}
	}
	require.Equal(t, map[string]bool{"millrace-neck-label": true, "millrace-sleeve-mark": true}, extras)
	require.Contains(t, strings.Join(d.Printing, "\n"), "inside-neck label (millrace-neck-label, 2.5 in × 2 in)")
	shop.Artworks = append(shop.Artworks, d.Artworks...)
	req := sheet.Request{Shop: shop, AsOf: programme.NewDate(2026, 3, 2), Needs: need}
	req.Spares = sheet.Likely(req)
	plan, err := sheet.Arrange(req)
	require.NoError(t, err)
	offered := map[string]bool{}
	for _, o := range plan.Orders {
		for _, r := range o.Room {
			offered[r.Artwork] = extras[r.Artwork] || offered[r.Artwork]
		}
	}
	require.True(t, offered["millrace-neck-label"], "offered: %v", offered)
}
