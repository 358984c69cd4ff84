package wear_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// dayByDay is the ages of pieces by walking through every day: on each the pieces that
// are held share what is worn. It shares nothing with the package but its types.
type dayByDay struct {
	each     int
	perWeek  float64
	records  programme.Date
	person   programme.Person
	months   [12]float64 // factors
	inSeason programme.Months
	from     programme.Date // before it the line is not worn
	pieces   []lived
	until    programme.Date // up to it a wash was worth former of today's
	former   float64
}

type lived struct {
	in, out, counted programme.Date // out and counted are no date where there are none
	size             string
}

func (d *dayByDay) share(day programme.Date) float64 {
	if day < d.from || !d.inSeason.All() && !d.inSeason[day.Time().Month()-1] {
		return 0
	}
	return d.person.ShareOn(day)
}

// washes is what a piece that is there had after from up to to.
func (d *dayByDay) washes(from, to programme.Date) float64 {
	sum := 0.0
	for day := from + 1; day <= to; day++ {
		n := 0
		for _, p := range d.pieces {
			if p.in < day && (p.out == 0 || day <= p.out) {
				n++
			}
		}
		if day <= d.records {
			n = max(n, d.each)
		}
		worn := d.share(day) * d.months[day.Time().Month()-1] * d.perWeek / 7 / float64(max(n, 1))
		if day <= d.until {
			worn *= d.former
		}
		sum += worn
	}
	return sum
}

func (d *dayByDay) there(from, to programme.Date) (days float64) {
	for day := from + 1; day <= to; day++ {
		if d.share(day) > 0 {
			days++
		}
	}
	return days
}

// Random holdings of one person, a size a piece so that nothing is shared over alike
// ones, traced and walked through.
func TestPiecesAgeAsTheyDoDayByDay(t *testing.T) {
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 5))
		begin := programme.NewDate(2024, 3, 1).Add(rng.IntN(300))
		asOf := begin.Add(200 + rng.IntN(500))
		day := func() programme.Date { return begin.Add(rng.IntN(asOf.Sub(begin))) }
		d := dayByDay{each: 1 + rng.IntN(4), perWeek: float64(1 + rng.IntN(9)),
			person: programme.Person{StaffID: "a", Role: "floor", Start: begin - 100}}
		shop, client := smallShop()
		for i := range d.months {
			d.months[i] = 1
		}
		if rng.IntN(3) == 0 {
			for i := range client.Work.WearByMonth {
				client.Work.WearByMonth[i] = 0.5 + rng.Float64()
			}
			d.months = wear.NewSeason(client.Work.WearByMonth)
		}
		if rng.IntN(3) == 0 { // cloth and print last half as long today
			d.until, d.former = begin.Add(rng.IntN(700)), 0.5
			shop.Baselines.Regimes = []programme.Regime{{Code: "soft", Cotton: 1, Column: "home"},
				{Code: "hard", Cotton: 0.5, Column: "industrial"}}
			shop.Baselines.Decorations = []programme.DecorationBaseline{
				{Code: "plastisol", Median: 55, Shape: 3, Industrial: 0.5}}
			client.Laundering = programme.Laundering{Regime: "hard",
				Before: []programme.FormerLaundering{{Until: d.until, Regime: "soft"}}}
		}
		if rng.IntN(2) == 0 {
			d.records = day()
		}
		if rng.IntN(3) == 0 {
			d.from = day()
		}
		if rng.IntN(3) == 0 {
			for m := range d.inSeason {
				d.inSeason[m] = rng.IntN(2) == 0
			}
			d.inSeason[5] = true
		}
		from := d.from
		for at := begin; rng.IntN(8) > 0; {
			s := programme.Spell{From: at.Add(rng.IntN(60)), Share: []float64{0, 0, 0.4}[rng.IntN(3)]}
			s.Until = s.From.Add(rng.IntN(40))
			at = s.Until + 1
			d.person.Spells = append(d.person.Spells, s)
		}
		if rng.IntN(5) == 0 {
			d.person.Start = asOf + programme.Date(rng.IntN(2)) // on the day itself somebody has started
			if d.person.Start > asOf {
				d.from = d.person.Start // what was packed before is not worn
			}
		}
		if n := len(d.person.Spells); n > 0 && rng.IntN(4) == 0 {
			d.person.Spells[n-1].Until = 0
		}
		client.RecordsStart = d.records
		client.OldPiecesKept = true // nothing is read from what is handed out beyond the kit
		kit := &client.Roles[0].Kit[0]
		kit.Each, kit.WearsAWeek, kit.From, kit.Months = d.each, d.perWeek, from, d.inSeason
		var moves []programme.Movement
		move := func(at programme.Date, kind programme.MovementKind, size string) {
			moves = append(moves, programme.Movement{
				Date: at, Kind: kind, StaffID: "a", Pieces: 1, Reason: programme.Worn,
				SKU: programme.SKU{Garment: "tee", Colour: "black", Size: size},
			})
			if kind != programme.Ended {
				moves[len(moves)-1].Reason = ""
			}
		}
		for i := range 1 + rng.IntN(7) {
			p := lived{in: day(), size: fmt.Sprintf("s%d", i)}
			move(p.in, programme.Issued, p.size)
			if rng.IntN(2) == 0 {
				p.out = p.in.Add(rng.IntN(asOf.Sub(p.in) + 1))
				move(p.out, programme.Ended, p.size)
			} else if rng.IntN(2) == 0 {
				p.counted = p.in.Add(1 + rng.IntN(asOf.Sub(p.in)))
				move(p.counted, programme.Counted, p.size)
			}
			d.pieces = append(d.pieces, p)
		}
		book, err := wear.NewBook(shop, client, nil)
		require.NoError(t, err)
		h := book.Trace([]programme.Person{d.person}, moves, asOf)
		require.Len(t, append(slices.Clone(h.InService), h.Ended...), len(d.pieces))
		for _, p := range append(slices.Clone(h.InService), h.Ended...) {
			name := fmt.Sprintf("seed %d, piece %s", seed, p.SKU.Size)
			l := d.pieces[slices.IndexFunc(d.pieces, func(l lived) bool { return l.size == p.SKU.Size })]
			end := asOf
			if l.out > 0 {
				end = l.out
			}
			require.Equal(t, [2]programme.Date{l.in, l.out}, [2]programme.Date{p.Issued, p.Ended}, name)
			require.InDelta(t, d.washes(l.in, end), p.Washes, 1e-7, name)
			seen := end
			if l.out == 0 {
				seen = min(end, max(l.in, d.records, l.counted))
				require.InDelta(t, d.there(seen, end), p.UnseenDays, 1e-9, name)
			}
			require.InDelta(t, d.washes(l.in, seen), p.FromWashes, 1e-7, name)
			require.InDelta(t, d.washes(l.in, end), p.ToWashes, 1e-7, name)
			observed := min(end, max(l.in, d.records))
			require.InDelta(t, d.washes(l.in, observed), p.EntryWashes, 1e-7, name)
			require.InDelta(t, float64(end-observed)-d.there(observed, end), p.AwayDays, 1e-9, name)
			require.False(t, p.Alike || p.Assumed || p.Replaced || p.Shelved || p.Kept || p.Implied || p.Reissued, name)
			require.Zero(t, p.Part, name)
		}
	}
}

// Spells that overlap, begin before and end after what is asked for, or never end, against
// a look at every day: where several have a day, the first counts. Many are searched through, few looked at.
func TestSpellsAreCountedDayByDay(t *testing.T) {
	shop, client := smallShop()
	client.Work.WearByMonth = [12]float64{time.July - 1: 3, time.August - 1: 1, time.May - 1: 0.5}
	seasonal, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	client.Work.WearByMonth = [12]float64{}
	even, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	season := wear.NewSeason([12]float64{time.July - 1: 3, time.August - 1: 1, time.May - 1: 0.5})
	rng := rand.New(rand.NewPCG(3, 3))
	for range 300 {
		first := programme.NewDate(2025, 6, 1)
		var a wear.Absence
		at := first
		for range rng.IntN(14) {
			s := programme.Spell{From: at.Add(rng.IntN(9)), Share: []float64{0, 0.3}[rng.IntN(2)]}
			s.Until = s.From.Add(rng.IntN(9))
			at = s.Until.Add(rng.IntN(3))
			a = append(a, s)
		}
		if n := len(a); n > 0 && rng.IntN(4) == 0 {
			a[n-1].Until = 0
		}
		from := first.Add(rng.IntN(60) - 10)
		to := from.Add(rng.IntN(60))
		there, worn, factored := 0, 0.0, 0.0
		for day := from + 1; day <= to; day++ {
			share := (&programme.Person{Spells: a}).ShareOn(day)
			if worn, factored = worn+share, factored+share*season[day.Time().Month()-1]; share > 0 {
				there++
			}
		}
		require.Equal(t, there, a.There(from, to), "%v after %s to %s", a, from, to)
		require.InDelta(t, worn, a.Wearing(even, from, to), 1e-9)
		require.InDelta(t, factored, a.Wearing(seasonal, from, to), 1e-9)
	}
}
