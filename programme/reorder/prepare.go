package reorder

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// fewPeople is the number under which a client's starters wait unless its
// programme asks for a pool: who may come is then too uncertain in number and
// size, and a small business sees every piece that lies in its cupboard.
const fewPeople = 20

// startersWait reports whether only people who are on the roster are ordered for.
func startersWait(client *programme.Client, people int) bool {
	return client.Starters == programme.StartersWait || client.Pool > 0 || people < fewPeople
}

// Prepare forecasts one client over both horizons and fills in what a proposal is decided from; stock and pieces
// owed are as in the forecast. It returns the muster of the longer horizon, without the totals of garments. Where
// starters wait or a pool is kept for them, in is changed to expect only people who are known.
func Prepare(in *demand.Input) (Input, demand.Muster) {
	people := 0
	for i := range in.Staff {
		if in.Staff[i].ActiveOn(in.AsOf) {
			people++
		}
	}
	if startersWait(in.Client, people) {
		in.ExpectNoStarters()
	}
	in.LeadDays = lastArrival(in.Shop, in.Client, in.AsOf).Sub(in.AsOf)
	h := Horizons(in.Shop, in.Client, in.AsOf)
	ms, date := in.ForecastUndated(7*h.Trigger, 7*h.Quantity)
	far := ms[len(ms)-1]
	out := Input{
		Shop: in.Shop, Client: in.Client, AsOf: in.AsOf,
		Lines: Stock(ms[0].Lines, far.Lines), Outlooks: far.Pieces, Date: date, Total: far.Total,
		Leaving: in.Staffing.Leaving.Mean(), People: people,
	}
	out.Owed, out.Coming = owedOf(far.Short), owedOf(far.Coming)
	return out, far
}

// lastArrival returns the day on which an order of a round comes if the client says yes
// on the last day before the next one.
func lastArrival(shop *programme.Shop, client *programme.Client, asOf programme.Date) programme.Date {
	c := calendar{shop.Closed}
	yes := max(c.addWorking(asOf, replyDays), asOf.Add(shop.ReviewDays-1))
	return LeadOfClient(shop, client).Arrival(yes)
}

func owedOf(list []demand.Short) (out []Owed) {
	for _, s := range list {
		out = append(out, Owed(s))
	}
	return out
}
