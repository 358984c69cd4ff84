package study

import (
	"maps"
	"math"
	"sort"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// Settings are what a habit may be tuned by.
type Settings struct {
	// Every is the weeks between two orders.
	Every int `json:"every_weeks"`
	// Buffer scales the shelf that is kept: the needs of so many times order
	// interval and lead time at the rate of the last twelve weeks.
	Buffer float64 `json:"buffer"`
	// Months is the age at which a calendar rule replaces whole kits; 0 = never.
	Months int `json:"months,omitempty"`
}

// habit orders by rule of thumb.
type habit struct {
	Settings
	leadDays int
	start    programme.Date
	reviews  int
	renewed  programme.Date
	read     int                   // rows of the ledger seen so far
	worn     map[programme.SKU]int // pieces ever issued, the sizes that people wear
}

// newHabit is reacting when the buffer is 0, a moving average above it, and a
// calendar rule with months.
func newHabit(s Settings, subject *simulate.Subject) *habit {
	return &habit{Settings: s, leadDays: subject.Terms.LeadDays, start: subject.Client.RecordsStart, renewed: subject.Client.RecordsStart, worn: map[programme.SKU]int{}}
}

// Review orders when it is the habit's week; what is owed is ordered in any case.
func (h *habit) Review(v *simulate.View) simulate.Decision {
	h.reviews++
	h.learnSizes(v)
	d := simulate.Decision{Renew: h.renews(v.AsOf)}
	if h.reviews%h.Every != 0 {
		return d
	}
	d.Order = map[programme.SKU]int{}
	maps.Copy(d.Order, v.Owed)
	if h.Buffer > 0 {
		span := float64(h.Every) + float64(h.leadDays)/7
		for k, perWeek := range h.rates(v) {
			d.Order[k] += int(math.Ceil(perWeek * span * h.Buffer))
		}
	}
	for k := range d.Order {
		d.Order[k] -= v.OnHand[k] + v.OnOrder[k]
	}
	return d
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
func (h *habit) learnSizes(v *simulate.View) {
	for _, m := range v.Ledger[h.read:] {
		if m.Kind == programme.Issued {
			h.worn[m.SKU] += m.Pieces
		}
	}
	h.read = len(v.Ledger)
}

// rates are pieces a week of each size: what was needed of the garment over the
// last twelve weeks (or since the first day where that is less), handed out or
// owed now, spread over the sizes that people wear.
func (h *habit) rates(v *simulate.View) map[programme.SKU]float64 {
	since := max(h.start, v.AsOf.Add(-7*12))
	weeks := math.Max(1, float64(v.AsOf.Sub(since))/7)
	needed, all := map[kind]float64{}, map[kind]float64{}
	first := sort.Search(len(v.Ledger), func(i int) bool { return v.Ledger[i].Date > since })
	for _, m := range v.Ledger[first:] {
		if m.Kind == programme.Issued && m.Date != h.renewed {
			needed[kindOf(m.SKU)] += float64(m.Pieces) / weeks
		}
	}
	for k, owed := range v.Owed {
		needed[kindOf(k)] += float64(owed) / weeks
	}
	for k, n := range h.worn {
		all[kindOf(k)] += float64(n)
	}
	rates := map[programme.SKU]float64{}
	for k, n := range h.worn {
		rates[k] = needed[kindOf(k)] * float64(n) / all[kindOf(k)]
	}
	return rates
}
