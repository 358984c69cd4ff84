// Package forecast prepares the forecast of a client from the shop's books: its records, the stock, and what the
// records of all clients together have taught about wear.
package forecast

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sort"
	"sync"

	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Forecaster answers for every client of the shop on one date, with what the records of all clients together have
// taught about wear.
type Forecaster struct {
	// Faults are the programmes that cannot be read.
	Faults []books.Fault
	// Heavy are the clients whose records come to too much to forecast from.
	Heavy []Heavy
	// Shelf is the stock of blanks and transfers.
	Shelf []programme.StockLine
	// Stock is the finished pieces on the shelf and on order, by client.
	Stock map[string][]programme.StockLine
	// Orders are the newest proposals that clients said yes to, by client.
	Orders map[string]*reorder.Proposal
	// Experience holds what the records of all clients together have taught about wear.
	Experience *wear.Experience

	books   *books.Books
	asOf    programme.Date
	clients []*programme.Client // those that can be forecast, in order of code
	// pasts holds each client's records as learning left them, until they are asked for.
	pasts sync.Map
}

// Heavy is a client whose records come to too much to forecast from.
type Heavy struct {
	*programme.Client
	Why *demand.TooMuch
}

// Workers returns the number of clients that are computed at the same time: one for
// every processor that the program may use.
func Workers() int { return runtime.GOMAXPROCS(0) }

// New reads the shop's stock and learns from the records of all clients.
func New(ctx context.Context, b *books.Books, asOf programme.Date) (*Forecaster, error) {
	clients, faults, err := b.Readable(ctx)
	if err != nil {
		return nil, err
	}
	f := &Forecaster{books: b, asOf: asOf, clients: clients, Faults: faults, Stock: map[string][]programme.StockLine{}}
	if err := f.readStock(ctx); err != nil {
		return nil, err
	}
	if f.Orders, err = b.Store.LastOrders(ctx, asOf); err != nil {
		return nil, err
	}
	return f, f.learn(ctx)
}

// readStock sorts the stated stock by client and adds what accepted proposals will bring.
func (f *Forecaster) readStock(ctx context.Context) error {
	lines, err := f.books.Store.Stock(ctx)
	if err != nil {
		return err
	}
	for _, l := range lines {
		if l.Kind == programme.Finished {
			f.Stock[l.Client] = append(f.Stock[l.Client], l)
		} else {
			f.Shelf = append(f.Shelf, l)
		}
	}
	coming, err := f.books.Store.Proposals(ctx, "", reorder.OnItsWay()...)
	if err != nil {
		return err
	}
	for i := range coming {
		f.Stock[coming[i].Client] = append(f.Stock[coming[i].Client], arriving(&coming[i])...)
	}
	return nil
}

// arriving returns what a proposal is still to bring, back-orders on their own days.
func arriving(p *reorder.Proposal) []programme.StockLine {
	lines := make([]programme.StockLine, 0, len(p.Lines))
	for _, c := range p.Coming() {
		lines = append(lines, programme.StockLine{AsOf: p.AsOf, Goods: programme.FinishedGoods(p.Client, c.SKU),
			Pieces: c.Pieces, Expected: c.On})
	}
	return lines
}

// learn gathers the shop's experience from every client's records.
func (f *Forecaster) learn(ctx context.Context) error {
	records := make([]*wear.Records, len(f.clients))
	much := make([]*demand.TooMuch, len(f.clients))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(Workers())
	for i, c := range f.clients {
		g.Go(func() error {
			p, err := f.recall(ctx, c)
			if errors.As(err, &much[i]) {
				return nil
			}
			if err != nil {
				return err
			}
			p.Trim()
			f.pasts.Store(c.Code, p)
			records[i] = &p.Records
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return fmt.Errorf("learn from the records: %w", err)
	}
	var all []wear.Records
	var light []*programme.Client
	for i, c := range f.clients {
		if much[i] != nil {
			f.Heavy = append(f.Heavy, Heavy{c, much[i]})
			continue
		}
		all, light = append(all, *records[i]), append(light, c)
	}
	f.clients = light
	f.Experience = wear.Gather(all)
	return nil
}

// Clients returns the named clients, all that have not ended when none is named; a name that
// nobody has, a client that has ended and one that cannot be forecast are errors.
func (f *Forecaster) Clients(only ...string) ([]*programme.Client, error) {
	all := f.clients
	if len(only) == 0 {
		return slices.DeleteFunc(slices.Clone(all), func(c *programme.Client) bool { return c.Ended(f.asOf) }), nil
	}
	var list []*programme.Client
	for _, code := range only {
		i := sort.Search(len(all), func(i int) bool { return all[i].Code >= code })
		if i == len(all) || all[i].Code != code {
			for _, h := range f.Heavy {
				if h.Code == code {
					return nil, fmt.Errorf("%s: %w", code, h.Why)
				}
			}
			return nil, fmt.Errorf("there is no client %q; 'kitmuster programme list' shows them all", code)
		}
		if c := all[i]; c.Ended(f.asOf) {
			return nil, fmt.Errorf("what was agreed with %s ended on %s; where it goes on, take ends: out of its programme",
				c.Name, f.books.Shop.DateStyle.Date(c.Ends))
		}
		list = append(list, all[i])
	}
	return list, nil
}

// past is a client's records by themselves.
type past struct {
	*demand.Past
	lastCount programme.Date
	last      *reorder.Last
}

func (f *Forecaster) recall(ctx context.Context, client *programme.Client) (*past, error) {
	rec, err := f.books.Records(ctx, client.Code, f.asOf)
	if err != nil {
		return nil, err
	}
	out := &past{}
	if p := f.Orders[client.Code]; p != nil {
		out.last = reorder.LastOf(p)
		out.last.Happened(rec.People, rec.Movements, f.asOf)
	}
	for i := range rec.Movements {
		if m := &rec.Movements[i]; m.Kind == programme.Counted {
			out.lastCount = max(out.lastCount, m.Date)
		}
	}
	if out.Past, err = demand.Recall(f.books.Shop, client, rec.People, rec.Movements, f.asOf); err != nil {
		return nil, fmt.Errorf("%s: %w", client.Code, err)
	}
	return out, nil
}

// Inspection is everything known about one client on a date.
type Inspection struct {
	*demand.Input
	// LastCount is the day of the newest count in the ledger.
	LastCount programme.Date
	// Last is the newest order that the client said yes to; nil = none.
	Last *reorder.Last
	// Suspicions are the groups of pieces that wear faster than the others.
	Suspicions []wear.Suspicion
}

// Inspect prepares the forecast of one client. What learning has read is used
// up by the first call, so that a large shop's pieces are not all in memory.
func (f *Forecaster) Inspect(ctx context.Context, client *programme.Client) (*Inspection, error) {
	p, err := f.pastOf(ctx, client)
	if err != nil {
		return nil, err
	}
	in, err := p.Prepare(f.Stock[client.Code], f.Experience)
	if err != nil {
		return nil, err
	}
	return &Inspection{Input: in, LastCount: p.lastCount, Last: p.last, Suspicions: p.Suspicions}, nil
}

func (f *Forecaster) pastOf(ctx context.Context, client *programme.Client) (*past, error) {
	if p, ok := f.pasts.LoadAndDelete(client.Code); ok {
		return p.(*past), nil
	}
	return f.recall(ctx, client)
}

// Inspect prepares everything known about one client on a date.
func Inspect(ctx context.Context, b *books.Books, code string, asOf programme.Date) (*Inspection, error) {
	client, err := b.Client(ctx, code)
	if err != nil {
		return nil, err
	}
	f, err := New(ctx, b, asOf)
	if err != nil {
		return nil, err
	}
	return f.Inspect(ctx, client)
}
