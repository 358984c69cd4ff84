package demand

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// About one person in twenty changes size in a year, three in five of them to a
// larger one (common practice, no source). The belief weighs no more than the records
// of so many person-years, so that a shop where nobody changes is soon believed.
const (
	usualResizes  = 0.05
	resizesWeight = 8
	growing       = 0.6
	resizeNodes   = 3
)

// learnResizing learns the changes of size per person, family of sizes and year from
// who has changed and not exchanged everything yet.
func learnResizing(shop *programme.Shop, client *programme.Client, staff []programme.Person,
	personYears float64) wear.Gamma {
	pending := 0
	for i := range staff {
		pending += len(staff[i].Outgrown)
	}
	g := wear.Gamma{Count: usualResizes * resizesWeight, Exposure: resizesWeight}
	return g.Learn(float64(pending), personYears*float64(sizedFamilies(shop, client)))
}

// sizedFamilies is the number of families with more than one size that the kits have; of
// what comes in several cuts everybody wears one.
func sizedFamilies(shop *programme.Shop, client *programme.Client) (n int) {
	for _, family := range families(shop, client) {
		if len(sizesOf(shop, client, family)) > 1 && !otherCut(shop, client, family) {
			n++
		}
	}
	return n
}

// otherCut reports whether a family is of other cuts alone.
func otherCut(shop *programme.Shop, client *programme.Client, family string) bool {
	for l := range allLines(client) {
		if g, ok := shop.Garment(l.Garment); ok && g.SizeFamily == family && l.CutOf == (programme.Former{}) {
			return false
		}
	}
	return true
}

// exchanges counts the changes of size that the ledger shows: pieces of one person and
// family that ended for it on one day are one. Those of people who have not exchanged
// everything yet are known from the roster.
func exchanges(shop *programme.Shop, client *programme.Client, staff programme.Roster, ledger []programme.Movement,
	asOf programme.Date) int {
	type change struct {
		staffID, family string
		on              programme.Date
	}
	from := max(client.RecordsStart, asOf.Add(-rosterDays))
	seen := map[change]bool{}
	for i := range ledger {
		m := &ledger[i]
		if m.Kind != programme.Ended || m.Reason != programme.SizeChange || m.Date < from || m.Date > asOf {
			continue
		}
		g, ok := shop.Garment(m.SKU.Garment)
		if !ok {
			continue
		}
		if p, ok := staff.Find(m.StaffID); ok && len(p.Outgrown[g.SizeFamily]) > 0 {
			continue
		}
		seen[change{m.StaffID, g.SizeFamily, m.Date}] = true
	}
	return len(seen)
}

// resizes are the exchanges to come of people who are there and whose size fits: by
// what each takes, how many people are expected to want it at a rate of one a year. What
// they hold is worn, and replaced, until then (see Staffing.stays); of what they take, the very few that end within the
// weeks looked at are left out. What comes back counts once it lies on the shelf.
type resizes struct {
	rates  []quadrature.Node // changes of size expected of a person within the days looked at
	lines  []takers          // by line and number of pieces
	whole  takers            // of all garments of a family together
	byKind map[string]takers
}

func (f *forecast) resizes(days int) *resizes {
	rate := f.in.Staffing.Resizing
	if rate.Exposure <= 0 {
		return nil
	}
	years := float64(days) / daysPerYear
	years *= f.in.Staffing.Leaving.Survival(years / 2)
	r := &resizes{rates: rate.Nodes(resizeNodes), lines: make([]takers, len(f.lines)), whole: takers{},
		byKind: map[string]takers{}}
	for i := range r.rates {
		r.rates[i].At *= years
	}
	end := f.in.AsOf.Add(days)
	for i := range f.in.Staff {
		f.resizesOf(&f.in.Staff[i], r, end)
	}
	return r
}

// mayResize reports whether somebody may change to another size of a line.
func (s *scene) mayResize(p *programme.Person, l *programme.KitLine) bool {
	g, ok := s.in.Shop.Garment(l.Garment)
	return ok && p.ActiveOn(s.in.AsOf) && p.End.IsZero() && len(p.Outgrown[g.SizeFamily]) == 0 && len(g.Sizes) > 1
}

// resizesOf adds what one person would exchange.
func (f *forecast) resizesOf(p *programme.Person, r *resizes, end programme.Date) {
	families := map[string]int{}
	places := f.outfits.places[f.outfits.role(p)]
	for i := range places {
		on, l, ok := f.need(p, &places[i])
		if !ok || on > end || !f.mayResize(p, l) {
			continue
		}
		g, _ := f.in.Shop.Garment(l.Garment)
		some := false
		each := l.EachOn(p.Start, on)
		for size, share := range beside(g, p.Sizes[g.SizeFamily]) {
			line, listed := f.at[programme.SKU{Garment: l.Garment, Colour: l.Colour, Size: size}]
			if !listed {
				continue
			}
			some = true
			if r.lines[line] == nil {
				r.lines[line] = takers{}
			}
			r.lines[line][each] += share
		}
		if !some {
			continue
		}
		families[g.SizeFamily] += each
		if r.byKind[l.Garment] == nil {
			r.byKind[l.Garment] = takers{}
		}
		r.byKind[l.Garment][each]++
	}
	for _, pieces := range families {
		r.whole[pieces]++
	}
}

// beside are the sizes next to one, each with the part of those who change that takes it.
func beside(g *programme.Garment, size string) map[string]float64 {
	at := slices.IndexFunc(g.Sizes, func(s programme.GarmentSize) bool { return s.Code == size })
	switch last := len(g.Sizes) - 1; {
	case at < 0 || last == 0:
		return nil
	case at == 0:
		return map[string]float64{g.Sizes[1].Code: 1}
	case at == last:
		return map[string]float64{g.Sizes[last-1].Code: 1}
	default:
		return map[string]float64{g.Sizes[at+1].Code: growing, g.Sizes[at-1].Code: 1 - growing}
	}
}

// pmf is the distribution of pieces that people take in exchange.
func (r *resizes) pmf(t takers) pmf {
	if len(t) == 0 {
		return certainly(0)
	}
	var m mixture
	for _, rate := range r.rates {
		m.add(rate.Weight, t.pmf(rate.At))
	}
	return m.pmf()
}

// line is pmf of a line; nobody changes size where all figures are taken as certain.
func (r *resizes) line(i int) pmf {
	if r == nil {
		return certainly(0)
	}
	return r.pmf(r.lines[i])
}

// garment is pmf of a garment in all its sizes and colours, all that of all garments.
func (r *resizes) garment(code string) pmf {
	if r == nil {
		return certainly(0)
	}
	return r.pmf(r.byKind[code])
}

func (r *resizes) all() pmf {
	if r == nil {
		return certainly(0)
	}
	return r.pmf(r.whole)
}
