package round

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// quietDays is the number of days in which an alarm that was told is not told again.
const quietDays = 182

// raise finds what is to be told of pieces that wear out faster than others, unless it was told lately.
func (p *Plan) raise(ctx context.Context, f *forecast.Forecaster) error {
	clients, err := f.Clients()
	if err != nil {
		return err
	}
	garments := 0
	for _, c := range clients {
		garments += garmentsOf(c)
	}
	for i := range p.Entries {
		e := &p.Entries[i]
		for _, s := range wear.Alarms(e.suspicions, len(clients), garments) {
			told, err := p.books.Store.ToldOf(ctx, programme.WearAlarm, e.Client.Code, p.AsOf.Add(-quietDays))
			if err != nil {
				return err
			}
			about := p.about(&s)
			if !slices.ContainsFunc(told, func(what string) bool { return strings.HasPrefix(what, about) }) {
				p.alarms = append(p.alarms, p.alarm(e.Client, &s))
			}
		}
	}
	return nil
}

// garmentsOf is the number of garments in a client's kits.
func garmentsOf(c *programme.Client) int {
	seen := map[string]bool{}
	for i := range c.Roles {
		for j := range c.Roles[i].Kit {
			seen[c.Roles[i].Kit[j].Garment] = true
		}
	}
	return len(seen)
}

// about is the beginning of the sentence by which an alarm is known again.
func (p *Plan) about(s *wear.Suspicion) string {
	switch {
	case !s.Delivery:
		return "Pieces wear out faster"
	case s.Garment == "":
		return "What was handed out"
	}
	return p.books.Shop.GarmentName(s.Garment) + " handed out"
}

// alarm says what wears out faster, and whom to ask what.
func (p *Plan) alarm(c *programme.Client, s *wear.Suspicion) store.Event {
	day := p.books.Shop.DateStyle.Date
	counts := fmt.Sprintf("%d ended by wear or print where %d were to be expected", int(math.Round(s.Ended)),
		int(math.Round(s.Expected)))
	e := store.Event{Kind: programme.WearAlarm, Client: c.Code}
	if !s.Delivery {
		e.What = fmt.Sprintf("%s since about %s: %s.", p.about(s), day(s.From), counts)
		e.Mend = "Ask the client whether the washing or the work has changed: another laundry, hotter water, chlorine, softener, a dryer. " +
			"If so, state it in the programme, with the day up to which it was as before; from the records alone the forecast learns it slowly. A busy season that the programme does not know (wear_by_month) looks the same, " +
			"and so may a bad delivery where people hold several pieces alike, so look at some of the worn ones."
		return e
	}
	e.What = fmt.Sprintf("%s from %s to %s wears out faster than the rest: %s. %d of these pieces are in use, with %d people.",
		p.about(s), day(s.From), day(s.To-1), counts, s.InUse, s.People)
	e.Mend = "Look at some of the worn ones and keep two. Ask the supplier for the lot of that delivery, and whether cloth or dye were changed; ask at the press whether film, heat or time were. " +
		"The forecast reckons with their wearing out sooner as far as the records show it yet, so more of them may end than it says."
	return e
}
