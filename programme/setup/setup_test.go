package setup_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

func TestWhatIsWrittenReadsBackTheSame(t *testing.T) {
	for seed := range uint64(3) {
		w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(seed))
		text := setup.WriteShop(&w.Shop)
		shop, err := setup.ReadShop("shop.yaml", text)
		require.NoError(t, err, "%s", text)
		require.Equal(t, text, setup.WriteShop(shop))
		for i := range w.Cases {
			c := &w.Cases[i].Client
			text := setup.WriteClient(c)
			got, err := setup.ReadClient(c.Code+".yaml", text, shop)
			require.NoError(t, err, "%s", text)
			require.Equal(t, c, got)
			require.Equal(t, text, setup.WriteClient(got))
			require.Empty(t, setup.Diff(c, got))
		}
		w.Shop.IndexArtworks() // as whoever reads a shop does
		require.Equal(t, &w.Shop, shop)
	}
}

func file(t testing.TB, parts ...string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(append([]string{"testdata"}, parts...)...))
	require.NoError(t, err)
	return text
}

func cornerPress(t testing.TB) *programme.Shop {
	t.Helper()
	shop, err := setup.ReadShop("shop.yaml", file(t, "shop.yaml"))
	require.NoError(t, err)
	return shop
}

func bunShop(t testing.TB) *programme.Client {
	t.Helper()
	c, err := setup.ReadClient("client.yaml", file(t, "client.yaml"), cornerPress(t))
	require.NoError(t, err)
	return c
}

func TestAShortFileIsAWholeShop(t *testing.T) {
	shop := cornerPress(t)
	tee, ok := shop.Garment("tee")
	require.True(t, ok)
	require.Equal(t, 1, tee.Pack)
	require.Equal(t, programme.Money(610), tee.Sizes[2].Cost)
	art, _ := shop.Artwork("bun-chest")
	require.Equal(t, programme.Inch*7/2, art.Width)
	require.Equal(t, 90*programme.Millimetre, art.Height)
	require.True(t, art.Turn)
	require.Equal(t, programme.DefaultBaselines(), shop.Baselines)
	c := bunShop(t)
	require.Zero(t, c.CoverWeeks, "as long as costs least")
	require.Equal(t, programme.UsualOrdering, shop.Ordering)
	require.Equal(t, programme.UsualMissing(), shop.Missing)
	require.Equal(t, "home-low", c.Laundering.Regime)
	goldentest.Equal(t, "shop-written.yaml", setup.WriteShop(shop))
	goldentest.Equal(t, "client-written.yaml", setup.WriteClient(c))
}

func TestRecordsBeginOnADayThatComes(t *testing.T) {
	shop, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	require.NoError(t, err)
	bakery, err := setup.ReadShop("shop.yaml", shop)
	require.NoError(t, err)
	harbour, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	for day, want := range map[string]string{"2024-01-01": "",
		"9999-12-31": "records_start: read 9999-12-31, on which no records begin",
		"0001-01-01": "on which no records begin"} {
		_, err := setup.ReadClient("harbour.yaml", []byte("records_start: "+day+"\n"+string(harbour)), bakery)
		if want == "" {
			require.NoError(t, err)
			continue
		}
		require.ErrorContains(t, err, want)
	}
}

func TestEveryProblemIsListedWithItsLine(t *testing.T) {
	shop := cornerPress(t)
	paths, err := filepath.Glob("testdata/bad/*.yaml")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(paths), 30)
	for _, path := range paths {
		name := filepath.Base(path)
		t.Run(name, func(t *testing.T) {
			text := file(t, "bad", name)
			var err error
			if strings.HasPrefix(name, "shop") {
				_, err = setup.ReadShop(name, text)
			} else {
				_, err = setup.ReadClient(name, text, shop)
			}
			var problems setup.Problems
			require.ErrorAs(t, err, &problems)
			goldentest.Equal(t, "bad/"+strings.TrimSuffix(name, ".yaml")+".txt", []byte(problems.Error()+"\n"))
		})
	}
}

func TestBaselinesAreOverriddenEntryByEntry(t *testing.T) {
	text := string(file(t, "shop.yaml")) + `
baselines:
  fabrics:
    - {code: fleece, median_washes: 44}
    - {code: waxed-cotton, fibre: cotton, median_washes: 30, shape: 2, wears_per_wash: 10}
  decorations:
    - {code: plastisol, industrial: 0.6}
  dirty: 0.5
`
	shop, err := setup.ReadShop("shop.yaml", []byte(text))
	require.NoError(t, err)
	want := programme.DefaultBaselines()
	for i := range want.Fabrics {
		if want.Fabrics[i].Code == "fleece" {
			want.Fabrics[i].Median = 44
		}
	}
	want.Fabrics = append(want.Fabrics, programme.FabricBaseline{Code: "waxed-cotton", Fibre: programme.Cotton,
		Median: 30, Shape: 2, WearsPerWash: 10})
	want.Decorations[0].Industrial = 0.6
	want.Dirty = 0.5
	require.Equal(t, want, shop.Baselines)
	again, err := setup.ReadShop("shop.yaml", setup.WriteShop(shop))
	require.NoError(t, err)
	require.Equal(t, shop, again)
}

func TestClosedDaysArePutInOrderAndSurviveTheirFile(t *testing.T) {
	shop, err := setup.ReadShop("shop.yaml", append(file(t, "shop.yaml"),
		"\nclosed: [2027-01-01, 2026-12-24/2026-12-26, '2026-11-26']\n"...))
	require.NoError(t, err)
	day := programme.NewDate
	require.Equal(t, programme.ClosedDays{
		{First: day(2026, 11, 26), Last: day(2026, 11, 26)}, {First: day(2026, 12, 24), Last: day(2026, 12, 26)},
		{First: day(2027, 1, 1), Last: day(2027, 1, 1)},
	}, shop.Closed)
	text := setup.WriteShop(shop)
	require.Contains(t, string(text), "closed: [2026-11-26, 2026-12-24/2026-12-26, 2027-01-01]")
	again, err := setup.ReadShop("shop.yaml", text)
	require.NoError(t, err)
	require.Equal(t, shop, again)
}

func TestKeepingGoodsCostsWhatTheShopSays(t *testing.T) {
	shop := cornerPress(t)
	require.Equal(t, programme.Keeping{CostPerYear: 0.2, LossPerYear: 0.1}, shop.Keeping, "where the file is silent")
	shop, err := setup.ReadShop("shop.yaml", append(file(t, "shop.yaml"),
		"\nkeeping: {cost_per_year: 0.12, loss_per_year: 0}\n"...))
	require.NoError(t, err)
	require.Equal(t, programme.Keeping{CostPerYear: 0.12}, shop.Keeping)
	again, err := setup.ReadShop("shop.yaml", setup.WriteShop(shop))
	require.NoError(t, err)
	require.Equal(t, shop, again)
}

// Any programme a person could write comes back from the file as it was.
func TestAnyProgrammeSurvivesItsFile(t *testing.T) {
	shop := cornerPress(t)
	rapid.Check(t, func(t *rapid.T) {
		c := anyClient(t)
		text := setup.WriteClient(&c)
		got, err := setup.ReadClient("c.yaml", text, shop)
		require.NoError(t, err, "%s", text)
		require.Equal(t, &c, got)
		other := anyClient(t)
		if says := setup.Diff(&c, &other); len(says) == 0 {
			require.Equal(t, string(text), string(setup.WriteClient(&other)), "a change was passed over")
		}
	})
}

func anyClient(t *rapid.T) programme.Client {
	words := rapid.StringMatching(`[A-Za-zé#:'"{}\[\]&*!|>%@-][a-z é#:,'"-]{0,12}[a-z#:"]`)
	c := *bunShopValue
	c.Name = words.Draw(t, "name")
	c.Note = rapid.OneOf(rapid.Just(""), words).Draw(t, "note")
	c.CoverWeeks = rapid.IntRange(1, 104).Draw(t, "cover")
	c.FillRate = rapid.Float64Range(0.5, 0.999).Draw(t, "fill")
	c.Work.StrongSun = rapid.Bool().Draw(t, "sun")
	c.Work.Duty = rapid.SampledFrom([]programme.Duty{programme.Light, programme.Dirty}).Draw(t, "duty")
	c.RecordsStart = programme.Date(rapid.IntRange(4000, 30000).Draw(t, "records"))
	c.Intake.PerYear = rapid.Float64Range(0, 1000).Draw(t, "intake")
	c.Intake.Nobody = c.Intake.PerYear == 0 && rapid.Bool().Draw(t, "none")
	if rapid.Bool().Draw(t, "busy") {
		for i := range c.Intake.Months {
			c.Intake.Months[i] = rapid.Float64Range(0, 12).Draw(t, "month")
		}
	}
	c.Prices = nil
	if rapid.Bool().Draw(t, "priced") {
		c.Prices = []programme.Price{{Garment: "tee",
			Price: programme.Money(rapid.Int64Range(0, 1e9).Draw(t, "price"))}}
	}
	c.Headings = rapid.SampledFrom([]map[string]string{nil, {"Payroll no.": "staff_id", "<<": "name"}}).Draw(t,
		"headings")
	c.Roles = anyRoles(t, words)
	return c
}

func anyRoles(t *rapid.T, words *rapid.Generator[string]) []programme.Role {
	codes := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z][a-z0-9_-]{0,8}`), 1, 4,
		rapid.ID[string]).Draw(t, "roles")
	roles := make([]programme.Role, len(codes))
	for i, code := range codes {
		roles[i] = programme.Role{Code: code, Name: words.Draw(t, "role")}
		for _, colour := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"black", "white"}), 0, 2,
			rapid.ID[string]).Draw(t, "colours") {
			k := programme.KitLine{Garment: "tee", Colour: colour, Each: rapid.IntRange(1, 100).Draw(t, "each"),
				WearsAWeek: rapid.Float64Range(0.01, 100).Draw(t, "wears")}
			if rapid.Bool().Draw(t, "printed") {
				k.Decorations = []programme.Decoration{{Artwork: "bun-chest", Place: "left-chest"}}
			}
			if rapid.Bool().Draw(t, "bounded") {
				k.From = programme.Date(rapid.IntRange(15000, 22000).Draw(t, "from"))
				k.Until = programme.Date(rapid.IntRange(int(k.From), 23000).Draw(t, "until"))
			}
			for m := range k.Months {
				k.Months[m] = rapid.Bool().Draw(t, "month")
			}
			if k.Months.All() {
				k.Months = programme.Months{}
			}
			roles[i].Kit = append(roles[i].Kit, k)
		}
		if kit := roles[i].Kit; len(kit) == 2 && rapid.Bool().Draw(t, "changes") {
			kit[1].InsteadOf = kit[0].Former()
			kit[1].Change = rapid.SampledFrom([]programme.Change{programme.AsWorn, programme.OnTheDay,
				programme.RunOut}).Draw(t, "change")
			kit[1].From, kit[1].Until = programme.Date(rapid.IntRange(24000, 30000).Draw(t, "new")), 0
		}
	}
	return roles
}

var bunShopValue = func() *programme.Client {
	text, err := os.ReadFile("testdata/shop.yaml")
	if err != nil {
		panic(err)
	}
	shop, err := setup.ReadShop("shop.yaml", text)
	if err != nil {
		panic(err)
	}
	if text, err = os.ReadFile("testdata/client.yaml"); err != nil {
		panic(err)
	}
	c, err := setup.ReadClient("client.yaml", text, shop)
	if err != nil {
		panic(err)
	}
	return c
}()

func TestChangesAreSaidInPlainWords(t *testing.T) {
	old, next := bunShop(t), bunShop(t)
	require.Empty(t, setup.Diff(old, next))
	next.CoverWeeks = 8
	next.Work.Duty = programme.Dirty
	next.Intake.PerYear = 6
	next.Roles[0].Kit[0].Each = 5
	next.Roles[0].Kit[0].Decorations = nil
	next.Roles = append(next.Roles, programme.Role{Code: "baker", Name: "Baker",
		Kit: []programme.KitLine{{Garment: "tee", Colour: "white", Each: 5, WearsAWeek: 5}}})
	next.Prices = []programme.Price{{Garment: "tee", Price: 1450}}
	next.Manager = "noor"
	next.Contacts = []programme.SiteContact{{Contact: programme.Contact{Name: "Jo Birch", Email: "jo@bunshop.example"}}}
	require.Equal(t, []string{
		"manager: nothing → noor",
		"work, duty: medium → dirty",
		"intake, a year: nothing → 6",
		"cover weeks: 0 → 8",
		"prices: tee is added (garment tee, price 14.50)",
		"contacts: Jo Birch jo@bunshop.example is added (name Jo Birch, email jo@bunshop.example)",
		"roles, counter, kit, tee black, each: 4 → 5",
		"roles, counter, kit, tee black, decorations: bun-chest left-chest is taken out (artwork bun-chest, place left-chest)",
		"roles: baker is added (code baker, name Baker, kit [garment tee, colour white, each 5, wears a week 5, decorations []])",
	}, setup.Diff(old, next))
	require.Equal(t, []string{"new client bunshop: The Bun Shop", "role counter: 4 tee black"}, setup.Diff(nil, old))
}

func FuzzReadShop(f *testing.F) {
	goldentest.Seeds(f, "testdata/bad/shop-*.yaml", "../../testdata/bakery/shop.yaml")
	f.Add(file(f, "shop.yaml"))
	f.Fuzz(func(t *testing.T, text []byte) {
		shop, err := setup.ReadShop("shop.yaml", text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		again, err := setup.ReadShop("shop.yaml", setup.WriteShop(shop))
		require.NoError(t, err)
		require.Equal(t, shop, again)
	})
}

func FuzzReadClient(f *testing.F) {
	shop := cornerPress(f)
	f.Add(file(f, "client.yaml"))
	goldentest.Seeds(f, "testdata/bad/client-*.yaml")
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := setup.ReadClient("c.yaml", text, shop)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		again, err := setup.ReadClient("c.yaml", setup.WriteClient(c), shop)
		require.NoError(t, err)
		require.Equal(t, c, again)
		require.Empty(t, setup.Diff(c, again))
	})
}

func TestArtworksMayBeLargerOnLargeSizes(t *testing.T) {
	shop := cornerPress(t)
	want := []programme.ArtworkSize{{On: "XS-S", Scale: 0.8}, {On: "2XL-5XL", Width: 4 * programme.Inch}}
	require.Equal(t, want, shop.Artworks[0].Sizes)
	text := setup.WriteShop(shop)
	require.Contains(t, string(text), `sizes: {XS-S: "80%", 2XL-5XL: 4in}`)
	again, err := setup.ReadShop("shop.yaml", text)
	require.NoError(t, err)
	require.Equal(t, shop, again)
	for wrong, says := range map[string]string{
		"{XS-S: 80%, S: 90%}":       "size S is in XS-S too; write each size once",
		"{2XL-5XL: 80%, 3XL: 90%}":  "size 3XL is in 2XL-5XL too; write each size once",
		"{S-XS: 80%}":               "write a size or the first and last of a range, such as 2XL or 2XL-5XL",
		"{XS: 4}":                   "is not a length; write a number with its unit",
		"{XS: 900%}":                "write a number from 20 to 500",
		"{XS: 0mm}":                 "write a width above 0",
		"{5XL: 30in, 2XL-4XL: 5in}": "on 5XL it is larger than every sheet of",
		"[S, M]":                    "write sizes with a per cent or a width, such as {XS-S: 80%, 2XL-5XL: 4.5in}",
	} {
		_, err := setup.ReadShop("shop.yaml",
			[]byte(strings.Replace(string(file(t, "shop.yaml")), "{XS-S: 80%, 2XL-5XL: 4in}", wrong, 1)))
		require.ErrorContains(t, err, says, wrong)
	}
}

// A shop that measures in centimetres finds no inches in the words of its first catalogue,
// and whole numbers on its rulers.
func TestAMetricShopBeginsWithMetricMeasures(t *testing.T) {
	inch := regexp.MustCompile(`\d in\b`)
	for _, units := range programme.AllUnits() {
		shop := setup.Starter(setup.Start{Units: units, Name: "Press", Currency: "EUR", TimeZone: "Europe/Berlin",
			DateStyle: programme.DayFirst, Owner: programme.Contact{Name: "Jo", Email: "jo@press.example"}})
		for _, g := range shop.Garments {
			for _, p := range g.Placements {
				if units.Metric() {
					require.NotRegexp(t, inch, p.Words, g.Code)
					require.Zero(t, p.Drop%programme.Millimetre, g.Code)
				} else {
					require.Zero(t, p.Drop%(programme.Inch/2), g.Code)
				}
			}
		}
		text := string(setup.WriteShop(shop))
		back, err := setup.ReadShop("shop.yaml", []byte(text))
		require.NoError(t, err)
		require.Equal(t, shop.Kinds, back.Kinds, "the press is set alike")
		l := back.Labels
		require.Equal(t, shop.Labels, l)
		require.Equal(t, l.PageWidth, 2*l.Left+l.PitchX+l.Width, "as much paper at the right as at the left")
		require.Equal(t, l.PageHeight, 2*l.Top+4*l.PitchY+l.Height, "and below as above")
		require.Equal(t, units.Metric(), l.PageWidth == 210*programme.Millimetre, "A4, ISO 216")
		if units.Metric() {
			require.NotRegexp(t, `[0-9](in|F)\b|[0-9] in\b`, text)
			require.Contains(t, text, "temperature: 185C")
		} else {
			require.Contains(t, text, "temperature: 365F")
		}
	}
}

// Polyester dye moves into a print from about 138 °C (280 °F; garment-printing trade
// magazines): of the first catalogue's transfers two are for it, by press settings of
// 127 to 140 °C, 8 to 12 s and a cold peel (common practice, no source).
func TestTheFirstCatalogueHasATransferForPolyester(t *testing.T) {
	shop := setup.Starter(setup.Start{Units: programme.Inches})
	var cool []string
	for i := range shop.Kinds {
		if k := &shop.Kinds[i]; !k.Settings.TooHot(programme.Polyester) {
			cool = append(cool, k.Code)
			require.GreaterOrEqual(t, k.Settings.Temperature, programme.Temperature(127))
			require.InDelta(t, 10, k.Settings.DwellSeconds, 2)
			require.Equal(t, "cold", k.Settings.Peel)
		}
		require.False(t, shop.Kinds[i].Settings.TooHot(programme.Cotton))
	}
	require.Equal(t, []string{"film-low", "screen-low"}, cool)
}

func TestTheShortNameOfAClientIsOfWholeWords(t *testing.T) {
	for name, want := range map[string]string{
		"Bramble Lane Garage": "bramble-lane", "Saltbox Bakery": "saltbox-bakery",
		"Larch & Finch Café":       "larch-finch-café",
		"Unbelievablylongname Ltd": "unbelievablylong", "Exactly sixteenx": "exactly-sixteenx",
		"Exactly sixteenx too": "exactly-sixteenx", "!!": "client",
	} {
		require.Equal(t, want, setup.CodeOf(name), name)
	}
}
