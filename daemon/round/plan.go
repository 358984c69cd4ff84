package round

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/counting"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/kitchange"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Plan is the result of a round before anything is written down.
type Plan struct {
	AsOf       programme.Date
	NextRound  programme.Date
	Entries    []Entry // one for each client, ordered by code
	Sheets     sheet.Plan
	books      *books.Books
	forecaster *forecast.Forecaster
	// events are those that the owner's mail tells.
	events []store.Event
	// alarms are told for the first time.
	alarms []store.Event
	// told marks what the last round told, see message.Mail.
	told []string
}

// Entry is one client in a round.
type Entry struct {
	Client   *programme.Client
	People   []programme.Person
	Proposal *reorder.Proposal // nil when not due
	// Before is the form of the same number that the customer holds and has not
	// answered; nil = there is none. Where nothing noticeable differs, Stands is set:
	// Proposal is then that form, nobody is written to, and Now is what this round would propose in its place.
	Before *reorder.Proposal
	Stands bool
	Now    *reorder.Proposal
	// Differs lists the changes that a customer who holds the older form would notice.
	Differs []reorder.Difference
	// Replaces are other unanswered proposals, whose pieces are in this one.
	Replaces []*reorder.Proposal
	Decision reorder.Decision
	// Refused are the client's noes and not nows for the owner to read of.
	Refused []message.Refused
	// Ahead is the forecast for the picture; only of clients with a proposal.
	Ahead *demand.Muster
	// Expected is the number of pieces that are expected to be needed over the cover.
	Expected float64
	// Evidence counts the records that the forecast rests on.
	Evidence wear.Evidence
	// InService is the number of pieces that its people hold by the records.
	InService int
	Learnt    []message.Learnt
	// Doubts says in sentences where the records leave much out.
	Doubts []string
	// suspicions are the groups of pieces that wear faster than the others.
	suspicions []wear.Suspicion
	// Changes say how far kits have changed, Ended what suppliers have no more of.
	Changes []string
	Ended   []kitchange.Ended
	// Former are finished pieces with a version of an artwork that is printed no more.
	Former []programme.FormerPieces
	// LastCount is the day of the newest count in the ledger.
	LastCount programme.Date
	// monthly is the usual need a month of each artwork.
	monthly map[string]float64
	// CountRows lists what is worth counting now, and Count holds the expected saving; only of
	// clients that count.
	CountRows []message.CountRow
	Count     counting.Choice
	count     stocktake
	// held is the count that an order waits for; nil = none.
	held *store.CountPlan
	// holds is the number of pieces on record of each row that is asked for.
	holds map[store.CountAsk]int
}

// Remark says of a client that is not due what a date alone would hide; empty = nothing.
func (e *Entry) Remark() string {
	if !slices.ContainsFunc(e.People, func(p programme.Person) bool { return p.End.IsZero() }) {
		return "nobody is on its roster"
	}
	for _, r := range e.Decision.Reasons {
		if r.Kind == reorder.JustOrdered && r.Pieces > 0 {
			return fmt.Sprintf("%.0f missing that they struck off the last order", r.Pieces)
		}
	}
	if e.assumedStock() {
		return "from past orders alone; a count comes first"
	}
	return ""
}

// aheadWeeks is the span of the picture in the owner's mail; it is drawn for
// each due client where at most so many are due.
const (
	aheadWeeks = 26
	pictured   = 12
)

// Make computes a round over the named clients (all when none is named): who
// is due, what to order for whom, and the transfer sheets for all of it. It
// writes nothing.
func Make(ctx context.Context, b *books.Books, asOf programme.Date, only ...string) (*Plan, error) {
	f, err := forecast.New(ctx, b, asOf)
	if err != nil {
		return nil, err
	}
	clients, err := f.Clients(only...)
	if err != nil {
		return nil, err
	}
	p := &Plan{AsOf: asOf, NextRound: asOf.Add(b.Shop.ReviewDays), Entries: make([]Entry, len(clients)), books: b,
		forecaster: f}
	candidates := make([]*reorder.Candidate, len(clients))
	terms := p.pullTerms()
	near, adding := reorder.NewNearest(terms), sync.Mutex{}
	old := reorder.OldBlanks(clients, blanks(f.Shelf))
	g, gctx := errgroup.WithContext(ctx)
	g.SetLimit(forecast.Workers())
	for i, c := range clients {
		g.Go(func() (err error) {
			p.Entries[i].Client = c
			candidates[i], err = p.forecast(gctx, f, &p.Entries[i], old[c.Code], terms)
			if err != nil {
				return err
			}
			adding.Lock()
			defer adding.Unlock()
			near.Add(candidates[i])
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, fmt.Errorf("muster the clients: %w", err)
	}
	if err := p.raise(ctx, f); err != nil {
		return nil, err
	}
	return p, p.settle(ctx, candidates, terms)
}

// forecast computes one client's demand over both horizons and decides about the
// client by itself. What a client that is not wanted does not need is let go at
// once, so that the forecasts of a large shop are not all in memory.
func (p *Plan) forecast(ctx context.Context, f *forecast.Forecaster, e *Entry, old map[programme.SKU]int,
	terms reorder.PullTerms) (*reorder.Candidate, error) {
	in, err := f.Inspect(ctx, e.Client)
	if err != nil {
		return nil, err
	}
	e.People = in.Staff
	ready, quantity := reorder.Prepare(in.Input)
	ready.NextRound, ready.Last = p.NextRound, in.Last
	transferCosts(p.books.Shop, e.Client, ready.Lines)
	e.Expected = quantity.Total.Mean
	e.InService = len(in.History.InService)
	e.Evidence = in.Evidence()
	e.Learnt, e.Doubts = lessons(p.books.Shop, e.Client, in), in.Doubts()
	e.suspicions = in.Suspicions
	e.LastCount = in.LastCount
	stock := slices.Concat(f.Shelf, in.Stock)
	for _, s := range kitchange.Steps(in.Input, stock) {
		if !s.Done(p.AsOf) {
			e.Changes = append(e.Changes, s.Words(p.books.Shop, p.AsOf))
		}
	}
	e.Former = e.Client.CarryFormer(p.books.Shop, stock)
	e.Ended = kitchange.EndedOf(in.Input, &quantity, stock)
	if err := p.recallCounts(ctx, e, in, &ready); err != nil {
		return nil, err
	}
	reorder.RunOut(&ready, old)
	c := reorder.Consider(ready, terms)
	if c.Wanted() {
		e.monthly = monthly(p.books.Shop, e.Client, &quantity)
		quantity.Lines, quantity.Pieces, quantity.Short, quantity.Coming = nil, nil, nil, nil
		e.Ahead = &quantity
	}
	return c, nil
}

// transferCosts are first guesses at what the transfers of one piece of each
// line cost: their places on sheets at the price of what the lines need
// together. The sheets of the round replace them once they are laid out; set-ups
// belong to the order and not to a piece.
func transferCosts(shop *programme.Shop, client *programme.Client, lines []reorder.Stocked) {
	need := map[string]float64{}
	for i := range lines {
		on, _ := client.Decorations(shop, "", lines[i].Quantity.SKU) // of a holder who is not known
		for _, d := range on {
			need[d.Artwork] += lines[i].Quantity.Mean
		}
	}
	each := map[string]programme.Money{}
	for code, n := range need {
		a, ok := shop.Artwork(code)
		if !ok {
			continue
		}
		k, ok := shop.Kind(a.Kind)
		if !ok {
			continue
		}
		if guess, ok := sheet.Estimate(k, a, int(math.Ceil(n))); ok {
			each[code] = programme.Money(math.Round(guess.Print))
		}
	}
	for i := range lines {
		on, _ := client.Decorations(shop, "", lines[i].Quantity.SKU)
		for _, d := range on {
			lines[i].TransferCost += each[d.Artwork]
		}
	}
}

// tried is the number of clients up to which sheets are laid out on trial to see
// what one more client on them would save. A shop with more fills its sheets
// every week; what one more shares is worth cents.
const tried = 200

// compared is the number of orders up to which sheets on trial get a whole quick
// look; of more, each gets its share of that, so that time grows with orders and
// not faster.
const compared = 24

// pullTerms are the shop's, with what sheets on trial cost.
func (p *Plan) pullTerms() reorder.PullTerms {
	shop := p.books.Shop
	terms := reorder.PullTermsOf(shop)
	if len(p.Entries) > tried {
		return terms
	}
	terms.Transfers = func(list []*reorder.Proposal) programme.Money {
		budget := roughly(len(list))
		budget.Trial = true
		plan, err := p.arrange(list, budget)
		if err != nil {
			return 0
		}
		return plan.Cost.Total() + carried(shop, &plan, list)
	}
	return terms
}

// settle decides for all clients together and lays out the transfers.
func (p *Plan) settle(ctx context.Context, candidates []*reorder.Candidate, terms reorder.PullTerms) error {
	for i, s := range reorder.Pull(candidates, blanks(p.forecaster.Shelf), terms) {
		p.Entries[i].Proposal, p.Entries[i].Decision = s.Proposal, s.Decision
	}
	if err := p.keepAnswers(ctx); err != nil {
		return err
	}
	if err := p.continueForms(ctx); err != nil {
		return err
	}
	p.placeCounts()
	if err := p.keepHeld(ctx); err != nil {
		return err
	}
	var list []*reorder.Proposal
	var spares []sheet.Spare
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal != nil {
			list = append(list, e.Proposal)
			spares = append(spares, sparesOf(p.books.Shop, e.Client, e.Proposal, e.monthly)...)
		}
	}
	if err := p.lookAhead(ctx, len(list)); err != nil {
		return err
	}
	budget := roughly(len(list))
	if p.books.Search > 0 {
		budget = supply.Thoroughly(p.books)
	}
	plan, err := p.arrange(list, budget, spares...)
	if err != nil {
		return fmt.Errorf("lay out the transfers: %w", err)
	}
	p.Sheets = plan
	for _, prop := range list {
		prop.Transfers = shareOf(&plan, prop.Client)
	}
	carry(p.books.Shop, &plan, list)
	for i := range p.Entries {
		if e := &p.Entries[i]; e.Proposal != nil {
			e.Proposal.WeighWays(p.books.Shop, e.Client)
			e.Proposal.ChargeCurve()
		}
	}
	return nil
}

// lookAhead computes the longer view that pictures need. Where so many are due
// that the owner's mail shows no pictures, the view over the cover, which is
// there already, does for its words; a thousand clients' pieces are not kept
// for that.
func (p *Plan) lookAhead(ctx context.Context, due int) error {
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal == nil {
			e.Ahead = nil
			continue
		}
		if due > pictured {
			continue
		}
		in, err := p.forecaster.Inspect(ctx, e.Client)
		if err != nil {
			return err
		}
		m := in.Muster(aheadWeeks)
		e.Ahead = &m
	}
	return nil
}

// arrange lays out the transfers of some proposals.
func (p *Plan) arrange(list []*reorder.Proposal, budget sheet.Budget, spares ...sheet.Spare) (sheet.Plan, error) {
	entries := map[string]*Entry{}
	for i := range p.Entries {
		entries[p.Entries[i].Client.Code] = &p.Entries[i]
	}
	req := sheet.Request{AsOf: p.AsOf, Shop: p.books.Shop, Shelf: p.forecaster.Shelf, Budget: budget, Spares: spares}
	for _, prop := range list {
		e := entries[prop.Client]
		job := supply.Job{Proposal: prop, Client: e.Client, People: e.People}
		req.Needs = append(req.Needs, job.Needs(p.books.Shop, p.AsOf)...)
	}
	return sheet.Arrange(req)
}

// roughly returns the search for sheets that are only compared.
func roughly(orders int) (b sheet.Budget) {
	if orders > compared {
		b.Iterations = max(8, sheet.QuickIterations*compared/orders)
	}
	return b
}

// blanks counts undecorated pieces on the shelf and on their way.
func blanks(shelf []programme.StockLine) map[programme.SKU]int {
	out := map[programme.SKU]int{}
	for goods, p := range programme.Positions(shelf, 0) {
		if goods.Kind == programme.Blank {
			out[goods.SKU()] = p.Together()
		}
	}
	return out
}
