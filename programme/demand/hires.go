package demand

import (
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Orders of the rules over what is not known of hires: their rate, their sizes.
const (
	rateNodes = 4
	sizeNodes = 3
)

// hires gives the PMF of pieces for new starters. Each takes the kit of the role, or its
// first part where the rest is not due yet or the starter is gone by then; the few of
// these pieces that end within the weeks looked at are added last.
// Kits tie garments together: per size each role brings whole multiples of
// its kit, and all sizes together whole kits.
type hires struct {
	shop    *programme.Shop
	outfits *outfits
	staff   *Staffing
	// lines are, by role, the lines of the kit that starters of the time looked at are
	// given in it.
	lines [][]issued
	// rates are expected hires over the horizon with their weights.
	rates []quadrature.Node
	// ends is the chance that a starter's piece ends within the weeks looked at.
	ends func(garment, colour string) float64
}

// issued is a line of the kit with the part of the starters who are given it, and the
// part who are given all of it: the rest too, where it follows.
type issued struct {
	*programme.KitLine
	part, whole float64
}

func newHires(in *Input, outfits *outfits, days, known int) *hires {
	s := &in.Staffing
	season := s.season(in.AsOf, float64(days))
	h := &hires{shop: in.Shop, outfits: outfits, staff: s, rates: s.Joining.Nodes(rateNodes),
		lines: issuedLines(in, outfits, days)}
	mean := s.Joining.Mean() * season
	left := 1.0
	if mean > 0 { // starters already on the roster are part of the intake
		left = max(0, 1-float64(known)/mean)
	}
	for i := range h.rates {
		h.rates[i].At *= season * left
	}
	return h
}

// sized returns the PMF of pieces of one garment, colour and size.
func (h *hires) sized(k programme.SKU) pmf {
	g, ok := h.shop.Garment(k.Garment)
	if !ok {
		return certainly(0)
	}
	parts := h.parts(func(l *programme.KitLine) bool { return l.Garment == k.Garment && l.Colour == k.Colour })
	var m mixture
	for _, p := range h.shares(g, k.Size) {
		h.arriving(&m, p.Weight, h.byRole(g, k.Size, p.At), parts)
	}
	return m.pmf().withEndings(h.ends(k.Garment, k.Colour))
}

// all returns the PMF of pieces in all sizes of the kit lines chosen.
func (h *hires) all(is func(*programme.KitLine) bool) pmf {
	var m mixture
	h.arriving(&m, 1, func(string) float64 { return 1 }, h.parts(is))
	return m.pmf().withEndings(h.meanEnds(is))
}

// meanEnds returns ends averaged over the pieces that starters take of the lines chosen.
func (h *hires) meanEnds(is func(*programme.KitLine) bool) float64 {
	sum, pieces := 0.0, 1e-300
	for i := range h.outfits.roles {
		share := h.staff.RoleShare[h.outfits.roles[i].Code]
		for _, l := range h.lines[i] {
			if is(l.KitLine) {
				n := share * (l.part*float64(l.AtFirst()) + l.whole*float64(l.Each-l.AtFirst()))
				sum, pieces = sum+n*h.ends(l.Garment, l.Colour), pieces+n
			}
		}
	}
	return sum / pieces
}

// portion holds the pieces that a share of a role's starters takes.
type portion struct {
	pieces int
	share  float64
}

// parts gives, for each part of the starters that is given some of the lines chosen,
// what those of each role take of it. All starters are given all of them but where the
// kit changes or a season begins or ends.
func (h *hires) parts(is func(*programme.KitLine) bool) map[float64][][]portion {
	lines := map[float64][][]issued{}
	for i := range h.lines {
		for _, l := range h.lines[i] {
			if !is(l.KitLine) {
				continue
			}
			if lines[l.part] == nil {
				lines[l.part] = make([][]issued, len(h.lines))
			}
			lines[l.part][i] = append(lines[l.part][i], l)
		}
	}
	out := map[float64][][]portion{}
	for part, roles := range lines {
		for _, of := range roles {
			out[part] = append(out[part], portions(of))
		}
	}
	return out
}

// portions parts the starters who are given lines, all the same part of them, by how
// much of these has come due: whoever has been there for the rest that follows last
// has all the others.
func portions(lines []issued) []portion {
	now := portion{share: 1}
	rest := map[float64]int{}
	for _, l := range lines {
		now.pieces += l.AtFirst()
		if more := l.Each - l.AtFirst(); more > 0 {
			rest[min(1, l.whole/l.part)] += more
		}
	}
	var out []portion
	for _, whole := range slices.Backward(slices.Sorted(maps.Keys(rest))) {
		out = append(out, portion{now.pieces, now.share - whole})
		now = portion{now.pieces + rest[whole], whole}
	}
	return append(out, now)
}

// arriving adds the distribution of the pieces that starters take, of whom a share of each role takes
// those of its kit, to m with a weight. Parts of the starters are taken as independent.
func (h *hires) arriving(m *mixture, weight float64, share func(role string) float64, parts map[float64][][]portion) {
	sorted := slices.Sorted(maps.Keys(parts))
	if len(h.staff.JoinTogether) > 0 {
		for _, r := range h.rates {
			f := certainly(0)
			for _, part := range sorted {
				f = f.plus(h.inGroups(r.At*part, share, parts[part]))
			}
			m.add(weight*r.Weight, f)
		}
		return
	}
	t := takers{}
	for _, part := range sorted {
		for i, portions := range parts[part] {
			role := h.outfits.roles[i].Code
			for _, p := range portions {
				t[p.pieces] += part * share(role) * p.share * h.staff.RoleShare[role]
			}
		}
	}
	for _, r := range h.rates {
		m.add(weight*r.Weight, t.pmf(r.At))
	}
}

// issuedLines are the lines of each role's kit with the part of the starters of some
// days who are given them within those days.
func issuedLines(in *Input, outfits *outfits, days int) [][]issued {
	out := make([][]issued, len(outfits.roles))
	for i := range outfits.roles {
		for _, at := range outfits.places[outfits.roles[i].Code] {
			if len(at.lines) == 1 && at.lines.Always() {
				l := &at.lines[0]
				out[i] = append(out[i], issued{l, 1, in.there(l, days)})
				continue
			}
			out[i] = append(out[i], in.issuedOf(at.lines, days)...)
		}
	}
	return out
}

// there is the part of the starters of some days whose rest of a line has come due by
// the end of them, and who are still there for it.
func (in *Input) there(l *programme.KitLine, days int) float64 {
	if l.AtFirst() == l.Each {
		return 1
	}
	before := max(0, days-7*l.RestAfterWeeks)
	season := in.Staffing.season(in.AsOf, float64(days))
	if season <= 0 {
		return 0
	}
	return in.Staffing.season(in.AsOf, float64(before)) / season * in.staysForRest(l)
}

// staysForRest is the chance that a starter is there when the rest of a line follows.
func (in *Input) staysForRest(l *programme.KitLine) float64 {
	return in.Staffing.Stays(in.AsOf, in.AsOf, in.AsOf.Add(7*l.RestAfterWeeks))
}

// issuedOf goes through the days on which somebody may start.
func (in *Input) issuedOf(lines programme.Succession, days int) []issued {
	end := in.AsOf.Add(days)
	months := in.Staffing.Months
	given := func(d programme.Date) (*programme.KitLine, bool) {
		on, l, ok := in.serve(lines, d)
		return l, ok && on <= end && (in.LeadDays == 0 || l == &lines[0] || l.From <= in.AsOf.Add(in.LeadDays))
	}
	parts, whole, all := map[*programme.KitLine]float64{}, map[*programme.KitLine]float64{}, 0.0
	for d := in.AsOf + 1; d <= end; d++ {
		weight := months.Days(d-1, d)
		all += weight
		l, ok := given(d)
		if !ok {
			continue
		}
		parts[l] += weight
		if l.AtFirst() == l.Each {
			whole[l] += weight
		} else if then, ok := given(l.RestOn(d)); ok && then == l {
			whole[l] += weight * in.staysForRest(l)
		}
	}
	var out []issued
	for i := range lines {
		if l := &lines[i]; parts[l] > 0 {
			out = append(out, issued{l, parts[l] / all, whole[l] / all})
		}
	}
	return out
}

// inGroups returns the PMF of pieces when hires are expected, who come in groups.
func (h *hires) inGroups(expected float64, share func(role string) float64, each [][]portion) pmf {
	var m mixture
	for _, g := range h.staff.JoinTogether {
		m.add(g.Weight, h.together(expected, share, g.At, each))
	}
	return m.pmf()
}

// together returns the PMF of arrivals in groups, counted in units that divide all kits.
func (h *hires) together(expected float64, share func(role string) float64, m float64, each [][]portion) pmf {
	unit, most := 0, 0
	for _, p := range slices.Concat(each...) {
		unit, most = gcd(unit, p.pieces), max(most, p.pieces)
	}
	if unit == 0 {
		return certainly(0)
	}
	one, taking := make([]float64, most/unit+1), 0.0
	for i, portions := range each {
		role := h.outfits.roles[i].Code
		for _, p := range portions {
			takes := share(role) * p.share * h.staff.RoleShare[role]
			one[p.pieces/unit] += takes
			taking += takes
		}
	}
	if taking <= 0 {
		return certainly(0)
	}
	one[0] += max(0, 1-taking)
	return grouped(expected, m, one).stretched(unit)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// byRole is a size's share among the starters of each role, where its share among
// all is what it is at one point of what may be: the roles' own shares move with it.
func (h *hires) byRole(g *programme.Garment, size string, share float64) func(role string) float64 {
	mine, sum := weighed(h.staff.Sizes[g.SizeFamily], g, size)
	return func(role string) float64 {
		own, all := weighed(h.staff.RoleSizes[role][g.SizeFamily], g, size)
		if mine <= 0 || all <= 0 {
			return share
		}
		return min(1, own/all*share*sum/mine)
	}
}

// weighed returns the weight of a size, and of all sizes in which the garment comes.
func weighed(mix []programme.SizeShare, g *programme.Garment, size string) (mine, sum float64) {
	for _, s := range mix {
		if !slices.ContainsFunc(g.Sizes, func(x programme.GarmentSize) bool { return x.Code == s.Size }) {
			continue
		}
		sum += s.Share
		if s.Size == size {
			mine = s.Share
		}
	}
	return mine, sum
}

// shares returns the distribution of a size's share among hires: Beta, the margin of the Dirichlet.
func (h *hires) shares(g *programme.Garment, size string) []quadrature.Node {
	mine, sum := weighed(h.staff.Sizes[g.SizeFamily], g, size)
	switch {
	case sum <= 0 || mine <= 0:
		return []quadrature.Node{{At: 0, Weight: 1}}
	case h.staff.sizesKnown || mine >= sum:
		return []quadrature.Node{{At: mine / sum, Weight: 1}}
	default:
		return quadrature.Beta(mine, sum-mine, sizeNodes)
	}
}

// retention gives the chance that a person of staff is still there after a number of weeks, and
// where in time the leaving of the others lies.
type retention struct {
	// moments are the times (weeks) until which pieces matter, with chances summing to 1.
	moments []quadrature.Node
}

// leaveNodes returns the order of the rule over the day of leaving; one will do
// where hardly anybody leaves, none where nobody does.
func leaveNodes(leavers float64) int {
	switch {
	case leavers < 1e-6:
		return 0
	case leavers < 0.05:
		return 1
	default:
		return 2
	}
}

// stays returns, by whether people may change size, the distribution of the time for which
// somebody needs more of what they hold, seen from weeks ahead at most. Both have the same moments.
func (s *Staffing) stays(weeks float64) map[bool]retention {
	stopping := s.stopping()
	nodes := leaveNodes(1 - stopping.Survival(weeks/weeksPerYear))
	return map[bool]retention{false: staying(s.Leaving, weeks, nodes), true: staying(stopping, weeks, nodes)}
}

// staying returns the distribution of the time until people go at a rate a year.
func staying(going wear.Gamma, weeks float64, nodes int) retention {
	if nodes == 0 {
		return until(weeks)
	}
	there := going.Survival(weeks / weeksPerYear)
	out := retention{[]quadrature.Node{{At: weeks, Weight: there}}}
	rate, sum := going.Mean()/weeksPerYear, 0.0
	rule := quadrature.Legendre(nodes)
	for i := range rule {
		rule[i].At *= weeks
		rule[i].Weight *= math.Exp(-rate * rule[i].At)
		sum += rule[i].Weight
	}
	for _, n := range rule {
		out.moments = append(out.moments, quadrature.Node{At: n.At, Weight: (1 - there) * n.Weight / sum})
	}
	return out
}

// times returns retention with what is not known of the pace beside it.
func (s retention) times(paces []quadrature.Node) retention {
	if len(paces) == 0 {
		return s
	}
	var out retention
	for _, p := range paces {
		for _, m := range s.moments {
			out.moments = append(out.moments, quadrature.Node{At: m.At, Weight: p.Weight * m.Weight})
		}
	}
	return out
}

// until returns the retention of somebody whose last day is known.
func until(weeks float64) retention {
	return retention{[]quadrature.Node{{At: max(0, weeks), Weight: 1}}}
}
