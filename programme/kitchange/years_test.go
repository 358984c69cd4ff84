package kitchange_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/kitchange"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// years lives through two years of one client: a discontinued colour that runs out, a
// change of all polos on one day, summer and winter tees, another logo, part-timers,
// leave, leavers, starters, three changes of size, polos and winter shirts in two cuts, and
// somebody who changes from one cut to the other. What ends is drawn anew.
type years struct {
	t      *testing.T
	shop   *programme.Shop
	client *programme.Client
	staff  []programme.Person
	ledger []programme.Movement
	stock  map[programme.SKU]int // finished pieces on the shelf
	blanks map[programme.SKU]int
	coming []*reorder.Proposal
	held   map[string][]piece
	random *rand.Rand
	rounds int
	orders int
	// ordered are pieces by garment.
	ordered map[string]int
}

type piece struct {
	programme.SKU
	outgrown bool
}

var (
	begin   = programme.NewDate(2026, 1, 5)
	changes = programme.NewDate(2026, 8, 3)  // aprons
	polos   = programme.NewDate(2027, 5, 10) // all on that day
)

func newYears(t *testing.T) *years {
	sizes := func(codes ...string) (out []programme.GarmentSize) {
		for _, c := range codes {
			out = append(out, programme.GarmentSize{Code: c, Cost: 700})
		}
		return out
	}
	tops := sizes("S", "M", "L")
	garment := func(code, family, fabric string, colours ...string) programme.Garment {
		g := programme.Garment{Code: code, Name: code, Supplier: "blanks", SizeFamily: family, FabricClass: fabric,
			Colours: colours, Sizes: tops, Pack: 1, WearsPerWash: 1}
		if family == "one" {
			g.Sizes = sizes("one")
		}
		return g
	}
	y := &years{
		t: t, stock: map[programme.SKU]int{}, blanks: map[programme.SKU]int{}, held: map[string][]piece{},
		ordered: map[string]int{}, random: rand.New(rand.NewPCG(4, 2)),
		shop: &programme.Shop{
			Currency: "USD", DateStyle: programme.DayFirst, ReviewDays: 7, PressDays: 2, DeliveryDays: 1,
			Baselines: programme.DefaultBaselines(),
			Suppliers: []programme.Supplier{{Code: "blanks", LeadDays: 3}, {Code: "screens", LeadDays: 6}},
			Garments: []programme.Garment{
				garment("apron", "one", "apron-twill", "burgundy", "black"),
				garment("polo", "top", "blend-polo", "navy", "green"),
				garment("tee", "top", "cotton-tee-ringspun", "white"),
				garment("shirt", "top", "blend-work-shirt", "grey"),
				garment("polo-ladies", "ladies-top", "blend-polo", "navy", "green"),
				garment("shirt-ladies", "ladies-top", "blend-work-shirt", "grey"),
			},
			Kinds: []programme.TransferKind{{Code: "screen", Decoration: "plastisol", Printer: "screens"}},
			Artworks: []programme.Artwork{{Code: "mark", Client: "c", Kind: "screen",
				Versions: []programme.ArtworkVersion{{Version: "1", Approved: begin}, {Version: "2"}}}},
			Keeping: programme.UsualKeeping(), Ordering: programme.UsualOrdering, Missing: programme.UsualMissing(),
		},
	}
	var summer, winter programme.Months
	for m := range summer {
		summer[m] = m >= 3 && m <= 8
		winter[m] = !summer[m]
	}
	mark := []programme.Decoration{{Artwork: "mark", Place: "left-chest"}}
	black := programme.KitLine{Garment: "apron", Colour: "black", Each: 3, WearsAWeek: 5, Decorations: mark,
		From: changes, InsteadOf: programme.Former{Garment: "apron", Colour: "burgundy"}, Change: programme.RunOut}
	green := programme.KitLine{Garment: "polo", Colour: "green", Each: 4, WearsAWeek: 5, Decorations: mark, From: polos,
		InsteadOf: programme.Former{Garment: "polo", Colour: "navy"}, Change: programme.OnTheDay}
	shirt := programme.KitLine{Garment: "shirt", Colour: "grey", Each: 3, WearsAWeek: 5, Decorations: mark,
		Months: winter}
	ladies := func(l programme.KitLine) programme.KitLine {
		l.CutOf, l.Garment = l.Former(), l.Garment+"-ladies"
		if l.InsteadOf.Garment != "" {
			l.InsteadOf.Garment += "-ladies"
		}
		return l
	}
	y.client = &programme.Client{
		Code: "c", Laundering: programme.Laundering{Regime: "home-low"},
		Work: programme.Work{Duty: programme.Medium, DaysPerWeek: 5}, RecordsStart: begin - 1,
		Leavers: programme.Leavers{PerYear: 0.2, Strength: 10},
		Roles: []programme.Role{{Code: "all", Kit: []programme.KitLine{
			black, green,
			{Garment: "tee", Colour: "white", Each: 3, WearsAWeek: 5, Decorations: mark, Months: summer},
			shirt, ladies(green), ladies(shirt),
		}}},
	}
	for i, size := range []string{"S", "M", "M", "L", "L", "M"} {
		y.hire(fmt.Sprint(i), size, i == 1 || i == 3, begin)
	}
	y.staff[1].Spells = []programme.Spell{{From: begin + 30, Share: 0.6}} // three days a week
	y.staff[2].Spells = []programme.Spell{{From: programme.NewDate(2026, 5, 1), Until: programme.NewDate(2026, 10, 31)}}
	return y
}

// hire hands the whole kit out.
func (y *years) hire(id, size string, ladies bool, on programme.Date) {
	p := programme.Person{StaffID: id, Role: "all", Start: on, Sizes: map[string]string{"top": size, "one": "one"}}
	if ladies {
		p.Sizes["ladies-top"] = size
	}
	y.staff = append(y.staff, p)
	for _, cuts := range y.client.Roles[0].Cuts() {
		l, ok := cuts[cuts.Worn(y.shop, &p)].On(on)
		if !ok {
			continue
		}
		k := programme.SKU{Garment: l.Garment, Colour: l.Colour, Size: size}
		if l.Garment == "apron" {
			k.Size = "one"
		}
		for range l.Each {
			y.issue(id, k, on)
		}
	}
}

func (y *years) issue(id string, k programme.SKU, on programme.Date) {
	y.ledger = append(y.ledger, programme.Movement{Date: on, Kind: programme.Issued, StaffID: id, SKU: k, Pieces: 1})
	y.held[id] = append(y.held[id], piece{SKU: k})
}

func (y *years) end(id string, i int, why programme.Reason, on programme.Date) {
	k := y.held[id][i].SKU
	y.held[id] = append(y.held[id][:i:i], y.held[id][i+1:]...)
	y.ledger = append(y.ledger, programme.Movement{Date: on, Kind: programme.Ended, StaffID: id, SKU: k, Pieces: 1,
		Reason: why})
}

// place is what the kit has of a thing in all its cuts, lines what it has in that of a piece.
func (y *years) place(k programme.SKU) programme.Cuts {
	cuts, _ := y.client.Roles[0].In(k.Garment, k.Colour)
	return cuts
}

func (y *years) lines(k programme.SKU) programme.Succession {
	cuts := y.place(k)
	return cuts[slices.IndexFunc(cuts, func(s programme.Succession) bool { return s.Has(k.Garment, k.Colour) })]
}

// fits reports whether somebody wears the cut of a piece, in its size.
func (y *years) fits(p *programme.Person, k programme.SKU) bool {
	cuts := y.place(k)
	return cuts[cuts.Worn(y.shop, p)].Has(k.Garment, k.Colour) && !y.client.Roles[0].Outgrown(y.shop, p, k)
}

// live wears pieces for a week: of those that are worn, one in sixty ends.
func (y *years) live(on programme.Date) {
	for p := range y.staff {
		id := y.staff[p].StaffID
		for i := range slices.Backward(y.held[id]) {
			k := y.held[id][i].SKU
			if l, ok := y.lines(k).On(on); ok && l.Months.Has(on) && y.random.Float64() < y.staff[p].ShareOn(on)/60 {
				y.end(id, i, programme.Worn, on)
			}
		}
	}
}

// give hands out what a proposal brings: old pieces of another size, or the likeliest
// to end, go for it.
func (y *years) give(p *reorder.Proposal, on programme.Date) {
	for _, n := range p.Named {
		who, _ := programme.Roster(y.staff).Find(n.StaffID)
		for range n.Pieces {
			if !who.ActiveOn(on) || !y.fits(who, n.SKU) { // ordered before the change of size, or of cut
				y.stock[n.SKU]++
				continue
			}
			y.throwOut(&n, on)
			y.issue(n.StaffID, n.SKU, on)
		}
	}
	for _, x := range p.Pool {
		y.stock[x.SKU] += x.ForStarters + x.Spare
	}
}

// throwOut ends what a new piece comes for: one that is outgrown, else the oldest of
// its place, unless the person was short of it.
func (y *years) throwOut(n *reorder.Named, on programme.Date) {
	lines := y.place(n.SKU)
	for _, outgrown := range []bool{true, false} {
		if !outgrown && (n.Why == programme.CauseOwed || n.Why == programme.CauseKit) {
			return
		}
		for i, h := range y.held[n.StaffID] {
			if h.outgrown == outgrown && lines.Has(h.Garment, h.Colour) {
				why := programme.Worn
				if outgrown {
					why = programme.SizeChange
				}
				y.end(n.StaffID, i, why, on)
				return
			}
		}
	}
}

func (y *years) shelf(on programme.Date) (out []programme.StockLine) {
	for k, n := range y.stock {
		out = append(out, programme.StockLine{AsOf: on, Goods: programme.FinishedGoods("c", k), Pieces: n})
	}
	for _, p := range y.coming {
		for _, c := range p.Coming() {
			out = append(out, programme.StockLine{AsOf: on, Goods: programme.FinishedGoods("c", c.SKU),
				Pieces: c.Pieces, Expected: c.On})
		}
	}
	return out
}

// round proposes, and everybody says yes.
func (y *years) round(on programme.Date) {
	y.rounds++
	in, err := demand.Prepare(y.shop, y.client, y.staff, y.ledger, y.shelf(on), nil, on)
	require.NoError(y.t, err)
	y.owedOnce(in, on)
	ready, _ := reorder.Prepare(in)
	left := maps.Clone(y.blanks)
	reorder.RunOut(&ready, left)
	p := reorder.Pull([]*reorder.Candidate{reorder.Consider(ready, reorder.PullTermsOf(y.shop))}, y.blanks,
		reorder.PullTermsOf(y.shop))[0].Proposal
	if p == nil {
		return
	}
	y.orders++
	y.explained(p, on)
	for i := range p.Lines {
		y.blanks[p.Lines[i].SKU] -= p.Lines[i].BlanksOnShelf
	}
	y.coming = append(y.coming, p)
}

// owedOnce looks that what somebody holds of a place and is owed of it never is more
// than the kit has of it at any one time.
func (y *years) owedOnce(in *demand.Input, on programme.Date) {
	all := map[string]int{}
	for _, d := range in.Dues() {
		lines := y.place(d.SKU)
		key := d.StaffID + lines[0][0].Garment + lines[0][0].Colour
		all[key] += d.Pieces
		who, _ := programme.Roster(y.staff).Find(d.StaffID)
		require.True(y.t, y.fits(who, d.SKU), "%s: %s is owed %s", on, d.StaffID, d.SKU)
	}
	for p := range y.staff {
		id := y.staff[p].StaffID
		for _, lines := range y.client.Roles[0].Cuts() {
			each, fit := 0, 0
			for l := range lines.Lines() {
				each = max(each, l.Each)
			}
			for _, h := range y.held[id] {
				if !h.outgrown && lines.Has(h.Garment, h.Colour) {
					fit++
				}
			}
			owed := all[id+lines[0][0].Garment+lines[0][0].Colour]
			require.LessOrEqual(y.t, owed, max(0, each-fit), "%s: %s is owed %d %s and holds %d of %d", on, id, owed,
				lines[0].Newest().Garment, fit, each)
		}
	}
}

// explained looks that every piece of a proposal is for somebody or for the pool, says
// why, and is of a line that is still to be worn when it arrives.
func (y *years) explained(p *reorder.Proposal, on programme.Date) {
	for i := range p.Lines {
		l := &p.Lines[i]
		y.ordered[l.Garment] += l.Order
		n := 0
		for _, x := range p.Named {
			if x.SKU == l.SKU {
				n += x.Pieces
				require.NotEmpty(y.t, x.Why.Word())
			}
		}
		for _, x := range p.Pool {
			if x.SKU == l.SKU {
				n += x.ForStarters + x.Spare
			}
		}
		require.Equal(y.t, l.Order, n, "%s: %s", on, l.SKU)
		old := l.Garment == "apron" && l.Colour == "burgundy" && p.Arrives >= changes
		if old {
			require.Zero(y.t, l.Buy, "%s: no %s is bought once black ones are in the kit", on, l.SKU)
			continue
		}
		for _, line := range y.lines(l.SKU) {
			if line.Colour == l.Colour {
				require.True(y.t, line.Until.IsZero() || line.Until >= p.Arrives,
					"%s: %d × %s arrive on %s and are worn no more", on, l.Order, l.SKU, p.Arrives)
			}
		}
	}
}

func TestTwoYearsOfAProgrammeThatChanges(t *testing.T) {
	y := newYears(t)
	apron := programme.SKU{Garment: "apron", Colour: "burgundy", Size: "one"}
	y.stock[apron], y.blanks[apron] = 3, 4
	step := 14
	if os.Getenv("KITMUSTER_FULL") != "" {
		step = 7
	}
	resized := map[programme.Date][2]string{begin + 98: {"0", "M"}, begin + 294: {"0", "L"}, begin + 504: {"2", "L"}}
	for d := begin + 7; d <= programme.NewDate(2027, 12, 31); d += 7 {
		y.live(d)
		switch {
		case d == begin+182:
			y.hire("6", "M", true, d)
		case d == begin+350: // leaves, with all they hold
			y.staff[4].End = d
			y.held["4"] = nil
		case d == begin+378: // the client approves another logo
			mark := &y.shop.Artworks[0]
			mark.Versions[1].Approved = d
			require.Equal(t, d, mark.GoodFrom(), "transfers of the former no longer count")
		case d-7 < polos && d >= polos: // the old polos come back
			for id := range y.held {
				for i := range slices.Backward(y.held[id]) {
					if y.held[id][i].Colour == "navy" {
						y.held[id] = append(y.held[id][:i:i], y.held[id][i+1:]...)
					}
				}
			}
		}
		if to, ok := resized[d]; ok {
			p, _ := programme.Roster(y.staff).Find(to[0])
			p.Resize("top", to[1], false)
			for i, h := range y.held[to[0]] {
				y.held[to[0]][i].outgrown = h.Garment != "apron" && h.Size != to[1]
			}
		}
		if d == begin+434 { // from the men's cut to the ladies'
			p, _ := programme.Roster(y.staff).Find("5")
			before := *p
			p.Resize("ladies-top", "M", false)
			y.client.Roles[0].Recut(y.shop, &before, p)
			for i, h := range y.held["5"] {
				y.held["5"][i].outgrown = h.outgrown || y.client.Roles[0].Outgrown(y.shop, p, h.SKU)
			}
		}
		var waits []*reorder.Proposal
		for _, p := range y.coming {
			if p.Arrives <= d {
				y.give(p, d)
			} else {
				waits = append(waits, p)
			}
		}
		y.coming = waits
		y.fromShelf(d)
		if d.Sub(begin)%step == 0 {
			y.round(d)
		}
	}
	t.Logf("%d rounds, %d orders, %d movements", y.rounds, y.orders, len(y.ledger))
	require.Greater(t, y.orders, 4)
	// The kit is as written: no old polo is held, and the old aprons were used up first.
	last := programme.NewDate(2027, 12, 31)
	in, err := demand.Stand(y.shop, y.client, y.staff, y.ledger, last)
	require.NoError(t, err)
	for i := range in.History.InService {
		require.NotEqual(t, "navy", in.History.InService[i].SKU.Colour)
	}
	require.Zero(t, y.stock[apron], "finished old aprons went out")
	require.Zero(t, y.blanks[apron], "so did those that were pressed from old blanks")
	steps := kitchange.Steps(in, y.shelf(last))
	require.Len(t, steps, 3)
	// Who changed cut was given the new one for the old, and both cuts were ordered.
	worn := map[string]int{}
	for _, h := range y.held["5"] {
		worn[h.Garment]++
	}
	require.Zero(t, worn["polo"]+worn["shirt"], "%v", worn)
	require.Positive(t, worn["polo-ladies"])
	require.Positive(t, worn["shirt-ladies"])
	require.Positive(t, y.ordered["polo"])
	require.Positive(t, y.ordered["polo-ladies"])
}

// onTheWay counts the pieces of a thing of the kit that come for somebody by name.
func (y *years) onTheWay(id string, k programme.SKU) (n int) {
	for _, p := range y.coming {
		for _, x := range p.Named {
			if x.StaffID == id && x.Why == programme.CauseOwed && y.place(k).Has(x.Garment, x.Colour) {
				n += x.Pieces
			}
		}
	}
	return n
}

// fromShelf hands finished pieces to people who are short, what runs out first.
func (y *years) fromShelf(on programme.Date) {
	in, err := demand.Stand(y.shop, y.client, y.staff, y.ledger, on)
	require.NoError(y.t, err)
	for _, s := range in.Dues() {
		if s.On > on {
			continue
		}
		for range s.Pieces - y.onTheWay(s.StaffID, s.SKU) {
			old := programme.SKU{Garment: s.Garment, Colour: "burgundy", Size: s.Size}
			for _, k := range []programme.SKU{old, s.SKU} {
				if y.stock[k] > 0 && (k == s.SKU || s.Garment == "apron") {
					y.stock[k]--
					y.throwOut(&reorder.Named{StaffID: s.StaffID, SKU: k, Why: programme.CauseOwed}, on)
					y.issue(s.StaffID, k, on)
					break
				}
			}
		}
	}
}

// What a kit is edited to, in one of the ways that the file has, makes nobody owed more
// than Raised says beforehand: not on the day, and not on any day of the year after it.
func TestAKitEditRaisesNoMoreThanWasSaid(t *testing.T) {
	for seed := range uint64(60) {
		random := rand.New(rand.NewPCG(seed, 1))
		y := newYears(t)
		before := *y.client
		before.Roles = []programme.Role{{Code: "all", Kit: []programme.KitLine{
			{Garment: "apron", Colour: "burgundy", Each: 3, WearsAWeek: 5},
			{Garment: "polo", Colour: "navy", Each: 4, WearsAWeek: 5},
		}}}
		split := func(l *programme.KitLine) { // the kit of a starter in two parts
			l.First, l.RestAfterWeeks = 1+random.IntN(l.Each-1), 2+random.IntN(20)
		}
		if random.IntN(2) == 0 {
			split(&before.Roles[0].Kit[1])
		}
		after := before
		kit := append([]programme.KitLine(nil), before.Roles[0].Kit...)
		switch polo := &kit[1]; random.IntN(4) {
		case 0:
			polo.First, polo.RestAfterWeeks = 0, 0
		case 1:
			split(polo)
		case 2:
			polo.Decorations = []programme.Decoration{{Artwork: "names", Place: "left-chest"}}
		}
		change := []programme.Change{programme.AsWorn, programme.OnTheDay, programme.RunOut}[random.IntN(3)]
		next := programme.KitLine{Garment: "apron", Colour: "black", Each: 1 + random.IntN(4), WearsAWeek: 5}
		if random.IntN(4) > 0 {
			next.From, next.InsteadOf, next.Change = begin.Add(random.IntN(200)), kit[0].Former(), change
		}
		if random.IntN(2) == 0 || next.From.IsZero() {
			kit = kit[1:]
		}
		if random.IntN(3) == 0 { // another cut of the polo, which some of the people wear
			cut := kit[len(kit)-1]
			if cut.Garment == "polo" {
				cut.CutOf, cut.Garment = cut.Former(), "polo-ladies"
				kit = append(kit, cut)
			}
		}
		if random.IntN(3) == 0 {
			kit[len(kit)-1].Months[time.July-1] = true
		}
		after.Roles = []programme.Role{{Code: "all", Kit: append(kit, next)}}
		today := begin + 30
		y.shop.Artworks = append(y.shop.Artworks, programme.Artwork{Code: "names", Client: "c",
			Kind: y.shop.Artworks[0].Kind, Width: 90 * programme.Millimetre, Height: 10 * programme.Millimetre,
			Text: programme.FirstName})
		for i, start := range []programme.Date{today - 20, today - 3, today + 9} {
			y.staff = append(y.staff, programme.Person{StaffID: fmt.Sprintf("new-%d", i), Name: "New", Role: "all",
				Start: start, Sizes: map[string]string{"top": "M"}})
			if random.IntN(2) == 0 {
				y.staff[len(y.staff)-1].Sizes["ladies-top"] = "M"
			}
		}
		stand := func(c *programme.Client, on programme.Date) *demand.Input {
			in, err := demand.Stand(y.shop, c, y.staff, y.ledger, on)
			require.NoError(t, err)
			return in
		}
		for id := range y.held { // somebody is short already
			y.end(id, 0, programme.Worn, begin+20)
		}
		after.Prices = []programme.Price{{Garment: "apron", Price: 900}, {Garment: "polo", Price: 1900},
			{Garment: "polo-ladies", Price: programme.Money(1500 + 100*random.IntN(10))}}
		all := kitchange.Sum(kitchange.Raised(stand(&before, today), stand(&after, today)))
		said := all.Pieces
		worth := func(in *demand.Input) map[string]programme.Money { // of what each is owed
			sum := map[string]programme.Money{}
			for _, d := range in.Dues() {
				price, _ := after.PriceOf(d.Garment, d.Size, today)
				sum[d.StaffID] += price * programme.Money(d.Pieces)
			}
			return sum
		}
		owed := func(in *demand.Input) (n int) {
			for _, d := range in.Dues() {
				n += d.Pieces
			}
			return n
		}
		short := func(in *demand.Input) (n int) {
			for _, d := range in.Dues() {
				if d.On <= in.AsOf {
					n += d.Pieces
				}
			}
			return n
		}
		for _, days := range []int{0, 1, 9, 40, 120, 199, 230, 365} {
			was, is := owed(stand(&before, today.Add(days))), owed(stand(&after, today.Add(days)))
			require.LessOrEqual(t, is-was, said, "seed %d, after %d days", seed, days)
			dearer, wasWorth := programme.Money(0), worth(stand(&before, today.Add(days)))
			for id, is := range worth(stand(&after, today.Add(days))) {
				dearer += max(0, is-wasWorth[id])
			}
			require.LessOrEqual(t, dearer, all.Price, "seed %d, in money, after %d days", seed, days)
			wasNow, isNow := short(stand(&before, today.Add(days))), short(stand(&after, today.Add(days)))
			require.LessOrEqual(t, isNow-wasNow, said, "seed %d, due by then, after %d days", seed, days)
		}
	}
}

// A rest that is due on a later day is due at once where the kit is no longer given in
// two parts: that is said, and that it is only sooner.
func TestAKitNoLongerInTwoPartsSaysWhatIsDueSooner(t *testing.T) {
	y := newYears(t)
	before := *y.client
	line := programme.KitLine{Garment: "polo", Colour: "navy", Each: 5, WearsAWeek: 5, First: 3, RestAfterWeeks: 10}
	before.Roles = []programme.Role{{Code: "all", Kit: []programme.KitLine{line}}}
	after := before
	line.First, line.RestAfterWeeks = 0, 0
	after.Roles = []programme.Role{{Code: "all", Kit: []programme.KitLine{line}}}
	staff := []programme.Person{{StaffID: "n", Role: "all", Start: begin, Sizes: map[string]string{"top": "M"}}}
	ledger := []programme.Movement{{Date: begin, Kind: programme.Issued, StaffID: "n",
		SKU: programme.SKU{Garment: "polo", Colour: "navy", Size: "M"}, Pieces: 3}}
	stand := func(c *programme.Client) *demand.Input {
		in, err := demand.Stand(y.shop, c, staff, ledger, begin+7)
		require.NoError(t, err)
		return in
	}
	raised := kitchange.Raised(stand(&before), stand(&after))
	require.Len(t, raised, 1)
	require.Equal(t, []int{2, 2, 1}, []int{raised[0].Pieces, raised[0].Sooner, raised[0].People})
	require.Contains(t, raised[0].Words(y.shop), "2 polo, navy for 1 person, due at once, until now later: ")
	require.Empty(t, kitchange.Raised(stand(&after), stand(&before)), "less at first is nothing more")
}

func TestChangesAreSaidInTheOwnersWords(t *testing.T) {
	y := newYears(t)
	apron := programme.SKU{Garment: "apron", Colour: "burgundy", Size: "one"}
	y.stock[apron] = 12
	in, err := demand.Stand(y.shop, y.client, y.staff, y.ledger, begin+30)
	require.NoError(t, err)
	steps := kitchange.Steps(in, y.shelf(begin+30))
	require.Equal(t, "apron, burgundy → apron, black from 3 Aug 2026: 18 burgundy are worn on; 12 burgundy lie on the shelf and go out first.",
		steps[0].Words(y.shop, begin+30))
	require.Equal(t,
		"polo, navy → polo, green from 10 May 2027: all on that day; 16 navy pieces of 4 people come back.",
		steps[1].Words(y.shop, begin+30))
}

func TestWhatASupplierHasNoMoreOfConcernsItsClients(t *testing.T) {
	y := newYears(t)
	in, err := demand.Prepare(y.shop, y.client, y.staff, y.ledger, nil, nil, begin+30)
	require.NoError(t, err)
	ahead := in.Muster(26)
	require.Empty(t, kitchange.EndedOf(in, &ahead, nil))
	y.shop.Items = map[programme.SKU]programme.Item{}
	gone := func(garment, colour string, sizes ...string) {
		for _, z := range sizes {
			k := programme.SKU{Garment: garment, Colour: colour, Size: z}
			y.shop.Items[k] = programme.Item{SKU: k, Supply: programme.Discontinued}
		}
	}
	gone("shirt", "grey", "M", "L")
	gone("apron", "burgundy", "one")
	list := kitchange.EndedOf(in, &ahead, nil)
	require.Len(t, list, 2)
	require.Contains(t, list[0].Words(y.shop),
		"apron, burgundy is discontinued by its supplier. 6 people hold 18 of it")
	require.Equal(t, "apron, black takes its place from 3 Aug 2026; nothing of it is ordered after that.",
		list[0].Do(y.shop))
	require.Contains(t, list[1].Words(y.shop), "shirt, grey in M, L is discontinued")
	require.Contains(t, list[1].Do(y.shop),
		fmt.Sprintf("Order the last %d while there are any, or name what takes its place", list[1].LastOrder()))
}
