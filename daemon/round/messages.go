package round

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sort"

	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Message is a mail of the round, of which the text alone stays once it is
// sealed, and the letters that carry it: the mail itself and, of a reorder, the draft
// to the customer. Their bytes are in the outbox.
type Message struct {
	message.Mail
	Client   string // code; empty for the owner's
	Proposal int64  // 0 = none
	Letters  []outbox.Letter
	spooled  []span // of the bytes of each letter
	// asDraft leaves the sending to the manager.
	asDraft bool
}

// commit puts the letters into the outbox; counted are the clients whose count
// forms this round has recorded.
func (m *Message) commit(tx *store.Tx, from *spool, asOf programme.Date, counted map[string]bool) error {
	if m.Kind == message.KindCount && !counted[m.Client] {
		// Two rounds at the same time may both have found that a form is due.
		if fresh, err := tx.AddCountForm(m.Client, asOf); err != nil || !fresh {
			return err
		}
		counted[m.Client] = true
	}
	if m.Kind == message.KindDaySheet { // as with count forms
		if sent, err := tx.Wrote(string(m.Kind), m.Client, m.Subject); err != nil || sent {
			return err
		}
	}
	for i, l := range m.Letters {
		var err error
		if l.Bytes, err = from.get(m.spooled[i]); err != nil {
			return err
		}
		if _, err := tx.Enqueue(l); err != nil {
			return err
		}
	}
	return nil
}

// seal writes the mail as letters, and their bytes into a spool.
func (m *Message) seal(opt Options, client *programme.Client, into *spool) error {
	if err := m.write(opt, client); err != nil {
		return err
	}
	m.HTML, m.Inline, m.Attachments, m.Forward = "", nil, nil, nil
	for i := range m.Letters {
		l := &m.Letters[i]
		where, err := into.put(l.Bytes)
		if err != nil {
			return err
		}
		m.spooled, l.Bytes = append(m.spooled, where), nil
	}
	return nil
}

// write writes the mail as letters.
func (m *Message) write(opt Options, client *programme.Client) error {
	e := delivery.Envelope{From: opt.From, Date: opt.Now, Client: m.Client, Proposal: m.Proposal}
	if m.asDraft {
		e.Way, e.From = outbox.Draft, m.ReplyTo
		l, err := delivery.Seal(m.AsDraft(m.To...), e)
		m.Letters = []outbox.Letter{l}
		return err
	}
	var err error
	m.Letters, err = delivery.SealForCustomer(m.Mail, e, client)
	return err
}

// compose reserves the numbers of the round and writes its messages.
func compose(ctx context.Context, b *books.Books, plan *Plan, opt Options, into *spool) (*Result, error) {
	numbers, err := b.Store.Reserve(ctx, plan.fresh())
	if err != nil {
		return nil, err
	}
	last, err := b.Store.LastRound(ctx)
	if err != nil {
		return nil, err
	}
	next := numbers.Proposal
	for i := range plan.Entries {
		e := &plan.Entries[i]
		switch {
		case e.isNew():
			e.Proposal.Number = next
			next++
		case e.Proposal != nil && !e.Stands:
			// A backup that was put back knows nothing of the forms that the rounds
			// after it sent out. None of their numbers is given out again.
			e.Proposal.Revision += int(numbers.Round - last - 1)
		}
	}
	owner, err := plan.ownersRound(ctx, b, numbers.Round)
	if err != nil {
		return nil, err
	}
	jobs := []func() (Message, error){func() (Message, error) {
		m, err := message.ComposeRound(owner)
		return Message{Mail: m}, err
	}}
	jobs = append(jobs, plan.reorders(b)...)
	jobs = append(jobs, plan.countForms(ctx, b)...)
	sheets, err := plan.daySheets(ctx, b)
	if err != nil {
		return nil, err
	}
	jobs = append(jobs, sheets...)
	res := &Result{Plan: plan, Number: numbers.Round, Messages: make([]Message, len(jobs))}
	g, _ := errgroup.WithContext(ctx)
	g.SetLimit(forecast.Workers())
	for i, job := range jobs {
		g.Go(func() error {
			m, err := job()
			if err != nil {
				return err
			}
			if err := m.seal(opt, plan.client(m.Client), into); err != nil {
				return err
			}
			res.Messages[i] = m
			return nil
		})
	}
	return res, g.Wait()
}

// fresh returns how many entries have a proposal that needs a number.
func (p *Plan) fresh() (n int) {
	for i := range p.Entries {
		if p.Entries[i].isNew() {
			n++
		}
	}
	return n
}

func (p *Plan) client(code string) *programme.Client {
	for i := range p.Entries {
		if p.Entries[i].Client.Code == code {
			return p.Entries[i].Client
		}
	}
	return nil
}

// reorders returns the forwardable messages, one for each client with a proposal
// that the customer does not hold already, to the person of the shop who looks after it.
func (p *Plan) reorders(b *books.Books) []func() (Message, error) {
	var jobs []func() (Message, error)
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal == nil || e.Stands {
			continue
		}
		jobs = append(jobs, func() (Message, error) {
			to, _ := b.ReturnTo(e.Proposal) // its trouble stands in the owner's mail
			m, err := message.ComposeReorder(message.Reorder{Shop: b.Shop, Client: e.Client, Proposal: e.Proposal,
				People: e.People, Before: e.Before, Differs: e.Differs, Replaces: e.Replaces, ReturnTo: to})
			return Message{Mail: m, Client: e.Client.Code, Proposal: e.Proposal.Number}, err
		})
	}
	return jobs
}

// openFrom returns the day, or the first after it that is none of the closed days.
func openFrom(shop *programme.Shop, d programme.Date) programme.Date {
	for shop.Closed.Has(d) {
		d++
	}
	return d
}

// ownersRound gathers what the owner's mail tells.
func (p *Plan) ownersRound(ctx context.Context, b *books.Books, number int64) (message.Round, error) {
	r := message.Round{Shop: b.Shop, Number: number, AsOf: p.AsOf, Clients: len(p.Entries), Learnt: newest(p.Entries)}
	if err := p.recallTold(ctx, b); err != nil {
		return r, err
	}
	r.Told = p.told
	for i := range p.Entries {
		p.tell(&p.Entries[i], &r)
	}
	sort.SliceStable(r.Next, func(i, j int) bool { return earlier(r.Next[i].On, r.Next[j].On) })
	sheets, warnings, err := p.sheetsToOrder(b.Home, b.Shop)
	if err != nil {
		return r, err
	}
	r.Sheets, r.Counting = sheets, p.counting()
	if r.Waiting, err = p.waiting(ctx, b); err != nil {
		return r, err
	}
	if p.events, err = untold(ctx, b); err != nil {
		return r, err
	}
	r.Taken = p.taken()
	r.Troubles, err = p.troubles(ctx, b)
	r.Troubles = append(r.Troubles, unshown(warnings)...)
	return r, err
}

// recallTold reads what the mail of the last round told.
func (p *Plan) recallTold(ctx context.Context, b *books.Books) error {
	last, ok, err := b.Store.NewestRound(ctx)
	if err != nil || !ok {
		return err
	}
	var sum summary
	if err := json.Unmarshal(last.Summary, &sum); err != nil {
		return fmt.Errorf("read what round %d told: %w", last.ID, err)
	}
	p.told = sum.Told
	return nil
}

// earlier puts dates in order, those that are not known last.
func earlier(a, b programme.Date) bool {
	if a.IsZero() || b.IsZero() {
		return !a.IsZero()
	}
	return a < b
}

func (p *Plan) tell(e *Entry, r *message.Round) {
	r.Refused = append(r.Refused, e.Refused...)
	for _, c := range e.Changes {
		r.Changes = append(r.Changes, message.Changing{Client: e.Client.Name, What: c})
	}
	for _, n := range e.Client.NewPrices(p.AsOf, p.AsOf.Add(message.NewPriceDays)) {
		r.NewPrices = append(r.NewPrices, message.NewPrice{Client: e.Client, Price: n})
	}
	if e.Proposal != nil {
		r.Due = append(r.Due, message.Due{Client: e.Client, Proposal: e.Proposal, People: e.People, Ahead: e.Ahead,
			Arriving: arrivals(p.forecaster.Stock[e.Client.Code], p.AsOf), Evidence: e.Evidence, Stands: e.Stands,
			Now: e.Now})
		return
	}
	r.Next = append(r.Next, message.NextDue{Client: e.Client.Name, On: e.Decision.NextDue,
		Pieces: int(e.Expected + 0.5), Remark: e.Remark()})
	if len(e.Decision.Holds) > 0 {
		r.Held = append(r.Held, message.Held{Client: e.Client, Holds: e.Decision.Holds})
	}
}

// arrivals adds up the pieces of stock that are on order by the day they are expected, asOf at the earliest.
func arrivals(stock []programme.StockLine, asOf programme.Date) []message.Arrival {
	byDay := map[programme.Date]int{}
	for _, l := range stock {
		if !l.Expected.IsZero() {
			byDay[max(l.Expected, asOf)] += l.Pieces
		}
	}
	out := make([]message.Arrival, 0, len(byDay))
	for d, n := range byDay {
		out = append(out, message.Arrival{On: d, Pieces: n})
	}
	slices.SortFunc(out, func(a, b message.Arrival) int { return cmp.Compare(a.On, b.On) })
	return out
}

// sheetsToOrder pairs each order of sheets with its proofs and proposals, and
// says what the proofs could not show.
func (p *Plan) sheetsToOrder(home string,
	shop *programme.Shop) (out []message.SheetToOrder, warnings []string, err error) {
	names := map[string]string{}
	for i := range p.Entries {
		names[p.Entries[i].Client.Code] = p.Entries[i].Client.Name
	}
	for i := range p.Sheets.Orders {
		o := &p.Sheets.Orders[i]
		s := message.SheetToOrder{Order: *o, OrderBy: p.orderBy(shop, o), Lines: p.Sheets.Part(o).Lines}
		proofs, more, err := supply.Proofs(home, shop, p.AsOf, o, s.Lines, names)
		if err != nil {
			return nil, nil, fmt.Errorf("draw the proof of %s: %w", o.Kind, err)
		}
		s.Proofs = proofs
		out, warnings = append(out, s), append(warnings, more...)
	}
	return out, warnings, nil
}

// orderBy returns the last day for the sheets, which the most urgent proposal on them sets.
func (p *Plan) orderBy(shop *programme.Shop, o *sheet.Order) (first programme.Date) {
	for _, e := range p.on(o.Kind) {
		first = first.Earlier(e.Proposal.SheetsBy(shop, e.Client, o.Printer))
	}
	return first
}

func (p *Plan) proposalsOn(kind string) []int64 {
	var out []int64
	for _, e := range p.on(kind) {
		out = append(out, e.Proposal.Number)
	}
	return out
}

// on lists the entries whose transfers are printed on sheets of the kind.
func (p *Plan) on(kind string) []*Entry {
	clients := map[string]bool{}
	for _, l := range p.Sheets.Lines {
		if l.Kind == kind {
			clients[l.Client] = true
		}
	}
	var out []*Entry
	for i := range p.Entries {
		if e := &p.Entries[i]; e.Proposal != nil && clients[e.Client.Code] {
			out = append(out, e)
		}
	}
	return out
}

// waiting lists proposals of earlier rounds that somebody has to move on: those
// that are on their way, and those that wait for an answer although this round
// would not make them.
func (p *Plan) waiting(ctx context.Context, b *books.Books) ([]message.Waiting, error) {
	list, err := b.Store.Proposals(ctx, "", append(reorder.OnItsWay(), reorder.Drafted, reorder.Sent)...)
	if err != nil {
		return nil, err
	}
	entries := map[string]*Entry{}
	for i := range p.Entries {
		entries[p.Entries[i].Client.Code] = &p.Entries[i]
	}
	var out []message.Waiting
	for i := range list {
		e := entries[list[i].Client]
		if e == nil || list[i].State.Open() && (e.Proposal != nil || list[i].Lapses(p.AsOf)) {
			continue
		}
		out = append(out, message.Waiting{Client: e.Client, Proposal: &list[i]})
	}
	return out, nil
}
