package study

import (
	"maps"
	"math"
	"slices"
	"sort"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/programme"
)

// Settings holds the figures that a way of ordering is tuned by.
type Settings struct {
	// Every is the weeks between two looks at the shelf.
	Every int `json:"every_weeks"`
	// Buffer scales the shelf that a habit keeps: the needs of so many times
	// order interval and lead time.
	Buffer float64 `json:"buffer,omitempty"`
	// Months is the age at which a calendar rule replaces whole kits; 0 = never.
	Months int `json:"months,omitempty"`
	// Window is the weeks whose average stands for the need to come.
	Window int `json:"window_weeks,omitempty"`
	// Unworn is the number of pieces of each garment that, spread over its sizes as people
	// usually need them, are added to those issued to see how its need splits over
	// sizes; 0 = no size is held before it was issued.
	Unworn float64 `json:"unworn,omitempty"`
	// RoundUp holds a piece of every size that is needed at all.
	RoundUp bool `json:"round_up,omitempty"`
	// Points is set for the rule of order point and order-up-to level: safety
	// stock is Z root needs of the lead time and a week, Cover the weeks between
	// both levels. All lines are ordered together, when Each says so as soon as
	// one of them is down to its point, else when they are together.
	Points bool    `json:"points,omitempty"`
	Z      float64 `json:"z,omitempty"`
	Cover  float64 `json:"cover_weeks,omitempty"`
	Each   bool    `json:"each,omitempty"`
}

// habit orders by rule of thumb.
type habit struct {
	Settings
	shop     *programme.Shop
	leadDays int
	start    programme.Date
	reviews  int
	renewed  programme.Date
	read     int                   // rows of the ledger seen so far
	worn     map[programme.SKU]int // pieces ever issued, the sizes that people wear
}

// newHabit returns reacting when the buffer is 0, a moving average above it, a
// calendar rule with months, and the rule of two levels with points.
func newHabit(s Settings, shop *programme.Shop, subject *market.Subject) *habit {
	return &habit{Settings: s, shop: shop, leadDays: subject.Terms.LeadDays, start: subject.Client.RecordsStart,
		renewed: subject.Client.RecordsStart, worn: map[programme.SKU]int{}}
}

// review orders when it is the habit's week.
func (h *habit) review(v *market.View) market.Decision {
	h.reviews++
	h.learnSizes(v)
	d := market.Decision{Renew: h.renews(v.AsOf)}
	if h.reviews%h.Every != 0 {
		return d
	}
	if h.Points {
		d.Order = h.upTo(v)
		return d
	}
	d.Order = map[programme.SKU]int{}
	maps.Copy(d.Order, v.Owed)
	if h.Buffer > 0 {
		span := float64(h.Every) + float64(h.leadDays)/7
		for _, r := range h.rates(v) {
			d.Order[r.SKU] += h.round(r.perWeek * span * h.Buffer)
		}
	}
	for k := range d.Order {
		d.Order[k] -= v.OnHand[k] + v.OnOrder[k]
	}
	return d
}

func (h *habit) round(x float64) int {
	if h.RoundUp {
		return int(math.Ceil(x))
	}
	return int(math.Round(x))
}

// upTo brings every line to its upper level once the order point is reached.
func (h *habit) upTo(v *market.View) map[programme.SKU]int {
	span := 1 + float64(h.leadDays)/7
	order := map[programme.SKU]int{}
	due, short := false, 0.0
	for _, r := range h.rates(v) {
		k := r.SKU
		position := v.OnHand[k] + v.OnOrder[k] - v.Owed[k]
		point := r.perWeek*span + h.Z*math.Sqrt(r.perWeek*span)
		order[k] = h.round(math.Max(0, point+r.perWeek*h.Cover)) - position
		short += point - float64(position)
		due = due || float64(position) <= point && order[k] > 0
	}
	if h.Each && !due || !h.Each && short < 0 {
		return nil
	}
	return order
}

// renews reports whether whole kits are due; they are ordered so as to arrive on the day.
func (h *habit) renews(today programme.Date) bool {
	if h.Months == 0 {
		return false
	}
	next := h.renewed.Add(int(float64(h.Months)*365.25/12) - h.leadDays)
	if today < next {
		return false
	}
	h.renewed = today.Add(h.leadDays)
	return true
}

// kind is a garment in a colour, whose need is spread over sizes.
type kind struct{ garment, colour string }

func kindOf(k programme.SKU) kind { return kind{k.Garment, k.Colour} }

// learnSizes counts what was issued since the last review.
func (h *habit) learnSizes(v *market.View) {
	for _, m := range v.Ledger[h.read:] {
		if m.Kind == programme.Issued {
			h.worn[m.SKU] += m.Pieces
		}
	}
	h.read = len(v.Ledger)
}

// rate is the need of one size in pieces a week.
type rate struct {
	programme.SKU
	perWeek float64
}

// rates returns what was needed of each garment over the window (or since the first
// day where that is less), handed out or owed now, spread over sizes.
func (h *habit) rates(v *market.View) []rate {
	since := max(h.start, v.AsOf.Add(-7*h.Window))
	weeks := math.Max(1, float64(v.AsOf.Sub(since))/7)
	needed := map[kind]int{}
	first := sort.Search(len(v.Ledger), func(i int) bool { return v.Ledger[i].Date > since })
	for _, m := range v.Ledger[first:] {
		if m.Kind == programme.Issued && m.Date != h.renewed {
			needed[kindOf(m.SKU)] += m.Pieces
		}
	}
	for k, owed := range v.Owed {
		needed[kindOf(k)] += owed
	}
	list := h.split()
	for i := range list {
		list[i].perWeek *= float64(needed[kindOf(list[i].SKU)]) / weeks
	}
	return list
}

// split returns the share of each size in its garment, ordered by size.
func (h *habit) split() []rate {
	weight := map[programme.SKU]float64{}
	issued := map[kind]bool{}
	for k, n := range h.worn {
		weight[k] += float64(n)
		issued[kindOf(k)] = true
	}
	if h.Unworn > 0 {
		for of := range issued {
			h.addUnworn(of, weight)
		}
	}
	list := make([]rate, 0, len(weight))
	for k, w := range weight {
		list = append(list, rate{k, w})
	}
	slices.SortFunc(list, func(a, b rate) int { return a.Compare(b.SKU) })
	all := map[kind]float64{}
	for _, r := range list {
		all[kindOf(r.SKU)] += r.perWeek
	}
	for i := range list {
		list[i].perWeek /= all[kindOf(list[i].SKU)]
	}
	return list
}

// addUnworn spreads some pieces over a garment's sizes as people usually need them.
func (h *habit) addUnworn(of kind, weight map[programme.SKU]float64) {
	g, _ := h.shop.Garment(of.garment)
	mix, sum := h.shop.SizeMix[g.SizeFamily], 0.0
	for _, s := range mix {
		sum += s.Share
	}
	for _, s := range mix {
		if _, sold := g.Size(s.Size); sold {
			weight[programme.SKU{Garment: of.garment, Colour: of.colour, Size: s.Size}] += h.Unworn * s.Share / sum
		}
	}
}
