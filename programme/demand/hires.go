package demand

import (
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// Orders of the rules over what is not known of hires: their rate, their sizes.
const (
	rateNodes = 4
	sizeNodes = 3
)

// hires gives the PMF of pieces for new starters. Each takes the whole kit of
// the role; the few of these pieces that end within the weeks looked at are added last.
// Kits tie garments together: per size each role brings whole multiples of
// its kit, and all sizes together whole kits.
type hires struct {
	shop   *programme.Shop
	client *programme.Client
	staff  *Staffing
	// lines are, by role, the lines of the kit that starters of the time looked at are
	// given in it.
	lines [][]issued
	// rates are expected hires over the horizon with their weights.
	rates []quadrature.Node
	// ends is the chance that a starter's piece ends within the weeks looked at.
	ends func(garment, colour string) float64
}

// issued is a line of the kit with the part of the starters who are given it.
type issued struct {
	*programme.KitLine
	part float64
}

func newHires(in *Input, places map[string][]place, days, known int) *hires {
	s := &in.Staffing
	season := s.season(in.AsOf, float64(days))
	h := &hires{shop: in.Shop, client: in.Client, staff: s, rates: s.Joining.Nodes(rateNodes), lines: issuedLines(in, places, days)}
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
	for _, r := range h.rates {
		for _, p := range h.shares(g, k.Size) {
			m.add(r.Weight*p.Weight, h.arriving(r.At, p.At, parts))
		}
	}
	return m.pmf().withEndings(h.ends(k.Garment, k.Colour))
}

// all returns the PMF of pieces in all sizes of the kit lines chosen.
func (h *hires) all(is func(*programme.KitLine) bool) pmf {
	parts := h.parts(is)
	var m mixture
	for _, r := range h.rates {
		m.add(r.Weight, h.arriving(r.At, 1, parts))
	}
	return m.pmf().withEndings(h.meanEnds(is))
}

// meanEnds returns ends averaged over the pieces that starters take of the lines chosen.
func (h *hires) meanEnds(is func(*programme.KitLine) bool) float64 {
	sum, pieces := 0.0, 1e-300
	for i := range h.client.Roles {
		share := h.staff.RoleShare[h.client.Roles[i].Code]
		for _, l := range h.lines[i] {
			if is(l.KitLine) {
				n := share * l.part * float64(l.Each)
				sum, pieces = sum+n*h.ends(l.Garment, l.Colour), pieces+n
			}
		}
	}
	return sum / pieces
}

// parts gives, for each part of the starters that is given some of the lines chosen,
// the pieces of it by role. All starters are given all of them but where the kit
// changes or a season begins or ends.
func (h *hires) parts(is func(*programme.KitLine) bool) map[float64][]int {
	out := map[float64][]int{}
	for i := range h.lines {
		for _, l := range h.lines[i] {
			if !is(l.KitLine) || l.part <= 0 {
				continue
			}
			if out[l.part] == nil {
				out[l.part] = make([]int, len(h.lines))
			}
			out[l.part][i] += l.Each
		}
	}
	return out
}

// arriving is arrivals over parts of the starters, taken as independent.
func (h *hires) arriving(expected, share float64, parts map[float64][]int) pmf {
	f := certainly(0)
	for _, part := range slices.Sorted(maps.Keys(parts)) {
		f = f.plus(h.arrivals(expected*part, share, parts[part]))
	}
	return f
}

// issuedLines are the lines of each role's kit with the part of the starters of some
// days who are given them within those days.
func issuedLines(in *Input, places map[string][]place, days int) [][]issued {
	out := make([][]issued, len(in.Client.Roles))
	for i := range in.Client.Roles {
		for _, at := range places[in.Client.Roles[i].Code] {
			if len(at.lines) == 1 && at.lines.Always() {
				out[i] = append(out[i], issued{&at.lines[0], 1})
				continue
			}
			out[i] = append(out[i], in.issuedOf(at.lines, days)...)
		}
	}
	return out
}

// issuedOf goes through the days on which somebody may start.
func (in *Input) issuedOf(lines programme.Succession, days int) []issued {
	end := in.AsOf.Add(days)
	months := in.Staffing.Months
	parts, all := map[*programme.KitLine]float64{}, 0.0
	for d := in.AsOf + 1; d <= end; d++ {
		weight := months.Days(d-1, d)
		all += weight
		on, l, ok := in.serve(lines, d)
		if ok && on <= end && (in.LeadDays == 0 || l == &lines[0] || l.From <= in.AsOf.Add(in.LeadDays)) {
			parts[l] += weight
		}
	}
	var out []issued
	for i := range lines {
		if part := parts[&lines[i]]; part > 0 {
			out = append(out, issued{&lines[i], part / all})
		}
	}
	return out
}

// arrivals returns the PMF of pieces when hires are expected, of whom a share takes
// the pieces of each role's kit.
func (h *hires) arrivals(expected, share float64, each []int) pmf {
	if h.staff.JoinTogether.stops > 0 {
		var m mixture
		for _, g := range h.staff.JoinTogether.sizes() {
			m.add(g.Weight, h.together(expected, share, g.At, each))
		}
		return m.pmf()
	}
	f := certainly(0)
	for i, n := range each {
		f = f.plus(kits(expected*share*h.staff.RoleShare[h.client.Roles[i].Code], n))
	}
	return f
}

// together returns the PMF of arrivals in groups, counted in units that divide all kits.
func (h *hires) together(expected, share, m float64, each []int) pmf {
	unit, most := 0, 0
	for _, n := range each {
		unit, most = gcd(unit, n), max(most, n)
	}
	if unit == 0 || share <= 0 {
		return certainly(0)
	}
	one := make([]float64, most/unit+1)
	one[0] = 1 - share
	for i, n := range each {
		one[n/unit] += share * h.staff.RoleShare[h.client.Roles[i].Code]
	}
	return grouped(expected, m, one).stretched(unit)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// shares returns the distribution of a size's share among hires: Beta, the margin of the Dirichlet.
func (h *hires) shares(g *programme.Garment, size string) []quadrature.Node {
	var mine, sum float64
	for _, s := range h.staff.Sizes[g.SizeFamily] {
		if !slices.ContainsFunc(g.Sizes, func(x programme.GarmentSize) bool { return x.Code == s.Size }) {
			continue
		}
		sum += s.Share
		if s.Size == size {
			mine = s.Share
		}
	}
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
// where hardly anybody leaves.
func leaveNodes(leavers float64) int {
	if leavers < 0.05 {
		return 1
	}
	return 2
}

// stay returns the distribution of the time somebody stays, seen from weeks ahead at most.
func (s *Staffing) stay(weeks float64) retention {
	there := s.Leaving.Survival(weeks / weeksPerYear)
	if 1-there < 1e-6 {
		return retention{[]quadrature.Node{{At: weeks, Weight: 1}}}
	}
	out := retention{[]quadrature.Node{{At: weeks, Weight: there}}}
	rate, sum := s.Leaving.Mean()/weeksPerYear, 0.0
	rule := quadrature.Legendre(leaveNodes(1 - there))
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
