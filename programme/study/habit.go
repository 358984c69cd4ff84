package study

import (
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
}

// newHabit is reacting when the buffer is 0, a moving average above it, and a
// calendar rule with months.
func newHabit(s Settings, subject *simulate.Subject) *habit {
	return &habit{Settings: s, leadDays: subject.Terms.LeadDays, start: subject.Client.RecordsStart, renewed: subject.Client.RecordsStart}
}

// Review orders when it is the habit's week; what is owed is ordered in any case.
func (h *habit) Review(v *simulate.View) simulate.Decision {
	h.reviews++
	d := simulate.Decision{Renew: h.renews(v.AsOf)}
	if h.reviews%h.Every != 0 {
		return d
	}
	d.Order = map[programme.SKU]int{}
	for k, owed := range v.Owed {
		d.Order[k] = owed
	}
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

// rates are pieces a week that were needed over the last twelve weeks, or since
// the first day where that is less: what was handed out and what is owed now.
func (h *habit) rates(v *simulate.View) map[programme.SKU]float64 {
	since := max(h.start, v.AsOf.Add(-7*12))
	weeks := math.Max(1, float64(v.AsOf.Sub(since))/7)
	rates := map[programme.SKU]float64{}
	first := sort.Search(len(v.Ledger), func(i int) bool { return v.Ledger[i].Date > since })
	for _, m := range v.Ledger[first:] {
		if m.Kind == programme.Issued && m.Date != h.renewed {
			rates[m.SKU] += float64(m.Pieces) / weeks
		}
	}
	for k, owed := range v.Owed {
		rates[k] += float64(owed) / weeks
	}
	return rates
}
