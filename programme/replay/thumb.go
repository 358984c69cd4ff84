package replay

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Rule is a rule of thumb: from what was known on a day it expects so many
// pieces of everything in the weeks ahead.
type Rule struct {
	Name   string
	Expect func(needs []Need, known Records, day programme.Date, weeks int) map[programme.SKU]float64
}

// Names of the rules of thumb.
const (
	Calendar    = "calendar"
	LastYear    = "last year"
	TwelveWeeks = "12-week mean"
)

// rules returns the three habits that the forecast is compared with.
// calendarMonths is the age at which the calendar rule replaces every piece.
func rules(calendarMonths int) []Rule {
	return []Rule{
		{Calendar, func(_ []Need, known Records, day programme.Date, weeks int) map[programme.SKU]float64 {
			return fallingDue(known.Ledger, day, weeks, calendarMonths)
		}},
		{LastYear, func(needs []Need, _ Records, day programme.Date, weeks int) map[programme.SKU]float64 {
			return rate(needs, day, 52, weeks)
		}},
		{TwelveWeeks, func(needs []Need, _ Records, day programme.Date, weeks int) map[programme.SKU]float64 {
			return rate(needs, day, 12, weeks)
		}},
	}
}

// rate carries the needs of the last window weeks on. When less is on record, the
// needs of what there is are carried on.
func rate(needs []Need, day programme.Date, window, weeks int) map[programme.SKU]float64 {
	expect := map[programme.SKU]float64{}
	for k, n := range Between(needs, day.Add(-7*window), day) {
		expect[k] = float64(n) * float64(weeks) / float64(window)
	}
	return expect
}

// fallingDue counts the pieces in service that reach an age in months within the weeks.
func fallingDue(ledger []programme.Movement, day programme.Date, weeks, months int) map[programme.SKU]float64 {
	due := map[programme.SKU]float64{}
	age := int(math.Round(float64(months) * 365.25 / 12))
	for at, issues := range inService(ledger) {
		for _, issued := range issues {
			if issued.Add(age) <= day.Add(7*weeks) {
				due[at.sku]++
			}
		}
	}
	return due
}

// inService returns the issue days of the pieces still held; endings take the oldest.
func inService(ledger []programme.Movement) map[slot][]programme.Date {
	held := map[slot][]programme.Date{}
	for _, m := range ledger {
		at := slot{m.StaffID, m.SKU}
		switch m.Kind {
		case programme.Issued:
			for range m.Pieces {
				held[at] = append(held[at], m.Date)
			}
		case programme.Ended:
			held[at] = held[at][min(m.Pieces, len(held[at])):]
		case programme.Counted:
			held[at] = held[at][max(0, len(held[at])-m.Pieces):]
		}
	}
	return held
}

// poisson returns the chances of 0, 1, 2... under a Poisson distribution, cut where
// less than 1e-12 is left.
func poisson(mean float64) []float64 {
	if mean <= 0 {
		return []float64{1}
	}
	var pmf []float64
	sum := 0.0
	for n := 0; sum < 1-1e-12 && n < 100000; n++ {
		lg, _ := math.Lgamma(float64(n + 1))
		p := math.Exp(float64(n)*math.Log(mean) - mean - lg)
		pmf = append(pmf, p)
		sum += p
		if float64(n) > mean && p < 1e-14 {
			break
		}
	}
	return pmf
}
