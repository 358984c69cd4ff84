package demand

import (
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
	// rates are expected hires over the horizon with their weights.
	rates []quadrature.Node
	// ends is the chance that a starter's piece ends within the weeks looked at.
	ends func(garment, colour string) float64
}

func newHires(shop *programme.Shop, client *programme.Client, s *Staffing, asOf programme.Date, days float64, known int) *hires {
	season := s.season(asOf, days)
	h := &hires{shop: shop, client: client, staff: s, rates: s.Joining.Nodes(rateNodes)}
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
	each := h.each(func(l *programme.KitLine) bool { return l.Garment == k.Garment && l.Colour == k.Colour })
	var m mixture
	for _, r := range h.rates {
		for _, p := range h.shares(g, k.Size) {
			m.add(r.Weight*p.Weight, h.arrivals(r.At, p.At, each))
		}
	}
	return m.pmf().withEndings(h.ends(k.Garment, k.Colour))
}

// all returns the PMF of pieces in all sizes of the kit lines chosen.
func (h *hires) all(is func(*programme.KitLine) bool) pmf {
	each := h.each(is)
	var m mixture
	for _, r := range h.rates {
		m.add(r.Weight, h.arrivals(r.At, 1, each))
	}
	return m.pmf().withEndings(h.meanEnds(is))
}

// meanEnds returns ends averaged over the pieces that starters take of the lines chosen.
func (h *hires) meanEnds(is func(*programme.KitLine) bool) float64 {
	sum, pieces := 0.0, 1e-300
	for i := range h.client.Roles {
		share := h.staff.RoleShare[h.client.Roles[i].Code]
		for j := range h.client.Roles[i].Kit {
			if l := &h.client.Roles[i].Kit[j]; is(l) {
				n := share * float64(l.Each)
				sum, pieces = sum+n*h.ends(l.Garment, l.Colour), pieces+n
			}
		}
	}
	return sum / pieces
}

// each returns the pieces of a kit by role, for the lines chosen.
func (h *hires) each(is func(*programme.KitLine) bool) []int {
	out := make([]int, len(h.client.Roles))
	for i := range h.client.Roles {
		kit := h.client.Roles[i].Kit
		for j := range kit {
			if is(&kit[j]) {
				out[i] += kit[j].Each
			}
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
