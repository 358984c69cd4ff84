package round

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// staleRosterDays is the age from which a roster is no longer trusted in silence.
const staleRosterDays = 92

// troubles lists what went wrong since the last round: programmes that no
// longer read, incidents on record, and lists that have grown old.
func (p *Plan) troubles(ctx context.Context, b *books.Books) ([]message.Trouble, error) {
	var out []message.Trouble
	for _, f := range p.forecaster.Faults {
		out = append(out, message.Trouble{
			Kind: programme.BrokenClient, Client: f.Client, What: f.Err.Error(),
			Do: "Mend the programme or shop.yaml and apply it again; the client was left out of this round.",
		})
	}
	for _, h := range p.forecaster.Heavy {
		out = append(out, message.Trouble{
			Kind: programme.OtherTrouble, Client: h.Name,
			What: "There is no forecast: " + h.Why.Error() + ".", Do: "The client was left out of this round; all others are in it.",
		})
	}
	if err := b.ReturnTrouble(); err != nil {
		out = append(out, message.Trouble{Kind: programme.OtherTrouble, What: "Answers by mail are not read: " + err.Error() + ".", Do: "Until then answers go to the clients' managers."})
	}
	for i := range b.Shop.Artworks {
		a := &b.Shop.Artworks[i]
		if v, waits := a.Awaiting(); waits {
			out = append(out, message.Trouble{
				Kind: programme.OtherTrouble, Client: p.clientName(a.Client),
				What: fmt.Sprintf("%s, version %s, waits for the client's approval and is not printed.", a.Name, v.Version), Do: "Write the day of it into shop.yaml.",
			})
		}
	}
	for _, e := range p.events {
		if e.Kind.Good() {
			continue
		}
		out = append(out, message.Trouble{Kind: e.Kind, On: programme.DateOf(e.Last), Client: p.clientName(e.Client), What: e.What, Do: e.Mend})
	}
	late, err := p.lateOrders(ctx)
	if err != nil {
		return nil, err
	}
	out = append(out, late...)
	for _, a := range p.alarms {
		out = append(out, message.Trouble{Kind: a.Kind, Client: p.clientName(a.Client), What: a.What, Do: a.Mend})
	}
	for i := range p.Entries {
		e := &p.Entries[i]
		in, known, err := b.Store.LastImport(ctx, "roster", e.Client.Code)
		if err != nil {
			return nil, err
		}
		given := programme.DateOf(in.At.In(b.Zone()))
		if known && p.AsOf.Sub(given) > staleRosterDays {
			out = append(out, message.Trouble{
				Kind: programme.StaleRoster, On: given, Client: e.Client.Name,
				What: "The staff list is older than three months.", Do: "Ask the client for today's list and import it.",
			})
		}
		for j := range e.Former {
			out = append(out, message.Trouble{Kind: programme.OtherTrouble, Client: e.Client.Name, What: e.Former[j].Words() + "."})
		}
		for _, x := range e.Client.Unprintable(b.Shop, e.People, p.AsOf) {
			out = append(out, message.Trouble{
				Kind: programme.OtherTrouble, Client: e.Client.Name,
				What: fmt.Sprintf("No name can be printed on the %s of %s: %v.", x.Garment, cmp.Or(x.Person.Name, x.Person.StaffID), x.Why),
				Do:   fmt.Sprintf("kitmuster change %s %s --print-name NAME, or - for none.", e.Client.Code, x.Person.StaffID),
			})
		}
		for j := range e.Ended {
			x := &e.Ended[j]
			out = append(out, message.Trouble{Kind: programme.OtherTrouble, Client: e.Client.Name, What: x.Words(b.Shop), Do: x.Do(b.Shop)})
		}
		for _, d := range e.Doubts {
			out = append(out, message.Trouble{Kind: programme.OtherTrouble, Client: e.Client.Name, What: d})
		}
		late, err := p.lateCount(ctx, b, e)
		if err != nil {
			return nil, err
		}
		out = append(out, late...)
	}
	return out, nil
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
