package round

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// lateCount tells of a count whose return day is over: that nothing came, or what of it is missing.
// Once the owner has stopped the count, there is nothing to tell.
func (p *Plan) lateCount(ctx context.Context, b *books.Books, e *Entry) ([]message.Trouble, error) {
	sent, err := b.Store.LastCountForm(ctx, e.Client.Code, p.AsOf)
	if err != nil || sent.IsZero() {
		return nil, err
	}
	plan, known, err := b.Store.LastCountPlan(ctx, e.Client.Code, p.AsOf)
	if err != nil || known && plan.Dropped && sent >= plan.Announced {
		return nil, err
	}
	t := message.Trouble{Kind: programme.StaleCount, On: sent, Client: e.Client.Name}
	if !known || sent < plan.Announced || e.LastCount < plan.Announced {
		if p.AsOf.Sub(sent) <= countDays || e.LastCount >= sent {
			return nil, nil
		}
		t.What = "The count form has not come back."
		t.Do = fmt.Sprintf("Ask for it: without a count, pieces that went missing are found out late. Stop it: kitmuster counts drop %s.", e.Client.Code)
		return []message.Trouble{t}, nil
	}
	if p.AsOf <= plan.ReturnBy {
		return nil, nil
	}
	moves, err := b.Store.Movements(ctx, e.Client.Code)
	if err != nil {
		return nil, err
	}
	if t.What = p.missingOf(e, &plan, moves); t.What == "" {
		return nil, nil
	}
	t.Do = fmt.Sprintf("Ask for the rest; until it comes the numbers on record stand. Enter what you hear: kitmuster count %s PERSON GARMENT PIECES. Stop it: kitmuster counts drop %s.",
		e.Client.Code, e.Client.Code)
	return []message.Trouble{t}, nil
}

// missingOf says which part of a count has not come, empty where what came will do: single cells that
// nobody could fill in are not asked for again, a site of which nothing came is.
func (p *Plan) missingOf(e *Entry, plan *store.CountPlan, moves []programme.Movement) string {
	missing := plan.Missing(moves, p.AsOf)
	asked, left := p.bySite(e, plan.Asks.Rows), p.bySite(e, missing)
	var whole []string
	names := map[string]bool{}
	for _, site := range slices.Sorted(maps.Keys(left)) {
		if site != "" && len(left[site]) == len(asked[site]) {
			whole = append(whole, fmt.Sprintf("nothing from %s (%s)", site, programme.NumberOf(len(left[site]), "row")))
			continue
		}
		for _, name := range left[site] {
			names[name] = true
		}
	}
	if len(whole) == 0 && (len(names) == 0 || plan.Back(len(plan.Asks.Rows)-len(missing))) {
		return ""
	}
	if len(names) > 0 {
		whole = append(whole, "not "+someNames(slices.Sorted(maps.Keys(names))))
	}
	return fmt.Sprintf("Of the count %d of %s came: %s.", len(plan.Asks.Rows)-len(missing),
		programme.NumberOf(len(plan.Asks.Rows), "row"), strings.Join(whole, "; "))
}

// bySite returns the names of rows by the sites of their people, those alone who are still there.
func (p *Plan) bySite(e *Entry, rows []store.CountAsk) map[string][]string {
	out := map[string][]string{}
	for _, ask := range rows {
		if person, ok := programme.Roster(e.People).Find(ask.StaffID); ok && person.ActiveOn(p.AsOf) {
			out[person.Site] = append(out[person.Site], cmp.Or(person.Name, person.StaffID))
		}
	}
	return out
}

// mostNames is the number of names that a line of the owner's mail lists.
const mostNames = 4

func someNames(names []string) string {
	if more := len(names) - mostNames; more > 1 {
		return fmt.Sprintf("%s and %d others", strings.Join(names[:mostNames], ", "), more)
	}
	return strings.Join(names, ", ")
}
