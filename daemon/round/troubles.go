package round

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// staleRosterDays is the age from which a roster is no longer trusted in silence.
const staleRosterDays = 92

// troubles lists what went wrong since the last round: what stopped a forecast, incidents on
// record, goods and counts that are late, and what of a client's records asks for a person.
func (p *Plan) troubles(ctx context.Context, b *books.Books) ([]message.Trouble, error) {
	late, err := p.lateOrders(ctx)
	if err != nil {
		return nil, err
	}
	out := slices.Concat(p.withoutForecast(), unread(b), p.unapproved(b.Shop), p.incidents(), late, p.alarming())
	for i := range p.Entries {
		e := &p.Entries[i]
		stale, err := p.staleRoster(ctx, b, e)
		if err != nil {
			return nil, err
		}
		late, err := p.lateCount(ctx, b, e)
		if err != nil {
			return nil, err
		}
		out = slices.Concat(out, stale, e.doubtful(b.Shop, p.AsOf), late)
	}
	return out, nil
}

// withoutForecast names the clients that the round left out.
func (p *Plan) withoutForecast() (out []message.Trouble) {
	for _, f := range p.forecaster.Faults {
		out = append(out, message.Trouble{
			Kind: programme.BrokenClient, Client: f.Client, What: f.Err.Error(),
			Do: "Mend the programme or shop.yaml and apply it again; the client was left out of this round.",
		})
	}
	for _, h := range p.forecaster.Heavy {
		out = append(out, message.Trouble{
			Kind: programme.OtherTrouble, Client: h.Name,
			What: "There is no forecast: " + h.Why.Error() + ".",
			Do:   "The client was left out of this round; all others are in it.",
		})
	}
	return out
}

// unread tells that nobody reads the answers that come by mail.
func unread(b *books.Books) []message.Trouble {
	err := b.ReturnTrouble()
	if err == nil {
		return nil
	}
	return []message.Trouble{{Kind: programme.OtherTrouble, What: "Answers by mail are not read: " + err.Error() + ".",
		Do: "Until then answers go to the clients' managers."}}
}

// unapproved names artworks of which a version waits for the client.
func (p *Plan) unapproved(shop *programme.Shop) (out []message.Trouble) {
	for i := range shop.Artworks {
		a := &shop.Artworks[i]
		if v, waits := a.Awaiting(); waits {
			out = append(out, message.Trouble{
				Kind: programme.OtherTrouble, Client: p.clientName(a.Client),
				What: fmt.Sprintf("%s, version %s, waits for the client's approval and is not printed.", a.Name,
					v.Version), Do: "Write the day of it into shop.yaml.",
			})
		}
	}
	return out
}

// incidents are the events that no mail has told, but for good ones.
func (p *Plan) incidents() (out []message.Trouble) {
	for _, e := range p.events {
		if !e.Kind.Good() {
			out = append(out, message.Trouble{Kind: e.Kind, On: programme.DateOf(e.Last),
				Client: p.clientName(e.Client), What: e.What, Do: e.Mend})
		}
	}
	return out
}

// alarming tells what wears out faster than it should.
func (p *Plan) alarming() (out []message.Trouble) {
	for _, a := range p.alarms {
		out = append(out, message.Trouble{Kind: a.Kind, Client: p.clientName(a.Client), What: a.What, Do: a.Mend})
	}
	return out
}

// staleRoster tells of a staff list that has not been handed over for long.
func (p *Plan) staleRoster(ctx context.Context, b *books.Books, e *Entry) ([]message.Trouble, error) {
	in, known, err := b.Store.LastImport(ctx, "roster", e.Client.Code)
	given := programme.DateOf(in.At.In(b.Zone()))
	if err != nil || !known || p.AsOf.Sub(given) <= staleRosterDays {
		return nil, err
	}
	return []message.Trouble{{
		Kind: programme.StaleRoster, On: given, Client: e.Client.Name,
		What: "The staff list is older than three months.", Do: "Ask the client for today's list and import it.",
	}}, nil
}

// doubtful tells what of a client's records a person must look at: kits that changed, names
// that cannot be printed, goods that a supplier has no more of, and what cannot be so.
func (e *Entry) doubtful(shop *programme.Shop, asOf programme.Date) (out []message.Trouble) {
	say := func(what, do string) {
		out = append(out, message.Trouble{Kind: programme.OtherTrouble, Client: e.Client.Name, What: what, Do: do})
	}
	for j := range e.Former {
		say(e.Former[j].Words()+".", "")
	}
	for _, x := range e.Client.Unprintable(shop, e.People, asOf) {
		say(fmt.Sprintf("No name can be printed on the %s of %s: %v.", x.Garment,
			cmp.Or(x.Person.Name, x.Person.StaffID), x.Why),
			fmt.Sprintf("kitmuster change %s %s --print-name NAME, or - for none.", e.Client.Code, x.Person.StaffID))
	}
	for j := range e.Ended {
		say(e.Ended[j].Words(shop), e.Ended[j].Do(shop))
	}
	for _, d := range e.Doubts {
		say(d, "")
	}
	return out
}

// untold reads what no mail has told yet, with times as the shop's clock shows them.
func untold(ctx context.Context, b *books.Books) ([]store.Event, error) {
	events, err := b.Store.UntoldEvents(ctx)
	for i := range events {
		events[i].Last = events[i].Last.In(b.Zone())
	}
	return events, err
}

// taken lists the files that were taken in since the last round.
func (p *Plan) taken() []message.Taken {
	var out []message.Taken
	for _, e := range p.events {
		if e.Kind.Good() {
			out = append(out, message.Taken{On: programme.DateOf(e.Last), Client: p.clientName(e.Client), What: e.What})
		}
	}
	return out
}

// clientName calls a client by its name, whatever the case of its code in the
// name of a file; a code nobody has stays a code.
func (p *Plan) clientName(code string) string {
	for i := range p.Entries {
		if strings.EqualFold(p.Entries[i].Client.Code, code) {
			return p.Entries[i].Client.Name
		}
	}
	return code
}
