package round

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Forecaster answers for every client of the shop on one date, with what all
// of them together have taught about wear.
type Forecaster struct {
	books      *books.Books
	asOf       programme.Date
	clients    []*programme.Client
	faults     []books.Fault                    // programmes that cannot be read
	heavy      []tooHeavy                       // clients whose records come to too much to forecast from
	stock      map[string][]programme.StockLine // finished pieces by client
	shelf      []programme.StockLine            // blanks and transfers
	experience *wear.Experience
	// orders are the newest ones that clients said yes to, by client.
	orders map[string]*reorder.Proposal
	// pasts are what learning left to forecast from, each until it is asked for.
	pasts sync.Map
}

// tooHeavy is a client whose records come to too much to forecast from.
type tooHeavy struct {
	*programme.Client
	why *demand.TooMuch
}

// workers is how many clients are computed at the same time.
const workers = 2

// NewForecaster reads the shop's stock and learns from the records of all clients.
func NewForecaster(ctx context.Context, b *books.Books, asOf programme.Date) (*Forecaster, error) {
	clients, faults, err := b.Readable(ctx)
	if err != nil {
		return nil, err
	}
	f := &Forecaster{books: b, asOf: asOf, clients: clients, faults: faults, stock: map[string][]programme.StockLine{}}
	if err := f.readStock(ctx); err != nil {
		return nil, err
	}
	if f.orders, err = b.Store.LastOrders(ctx, asOf); err != nil {
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
			f.stock[l.Client] = append(f.stock[l.Client], l)
		} else {
			f.shelf = append(f.shelf, l)
		}
	}
	coming, err := f.books.Store.Proposals(ctx, "", reorder.OnItsWay()...)
	if err != nil {
		return err
	}
	for i := range coming {
		f.stock[coming[i].Client] = append(f.stock[coming[i].Client], arriving(&coming[i])...)
	}
	return nil
}

// arriving is what a proposal is still to bring, back-orders on their own days.
func arriving(p *reorder.Proposal) []programme.StockLine {
	lines := make([]programme.StockLine, 0, len(p.Lines))
	for _, c := range p.Coming() {
		lines = append(lines, programme.StockLine{AsOf: p.AsOf, Goods: programme.FinishedGoods(p.Client, c.SKU), Pieces: c.Pieces, Expected: c.On})
	}
	return lines
}

// learn gathers the shop's experience from every client's records.
func (f *Forecaster) learn(ctx context.Context) error {
	records := make([]*wear.Records, len(f.clients))
	much := make([]*demand.TooMuch, len(f.clients))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(workers)
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
			f.heavy = append(f.heavy, tooHeavy{c, much[i]})
			continue
		}
		all, light = append(all, *records[i]), append(light, c)
	}
	f.clients = light
	f.experience = wear.Gather(all)
	return nil
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
	out := &past{last: f.last(client.Code, rec)}
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
}

// Experience is what the records of all clients together have taught about wear.
func (f *Forecaster) Experience() *wear.Experience { return f.experience }

// Inspect prepares the forecast of one client. What learning has read is used
// up by the first call, so that a large shop's pieces are not all in memory.
func (f *Forecaster) Inspect(ctx context.Context, client *programme.Client) (*Inspection, error) {
	p, err := f.pastOf(ctx, client)
	if err != nil {
		return nil, err
	}
	in, err := p.Prepare(f.stock[client.Code], f.experience)
	if err != nil {
		return nil, err
	}
	return &Inspection{Input: in, LastCount: p.lastCount, Last: p.last}, nil
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
	f, err := NewForecaster(ctx, b, asOf)
	if err != nil {
		return nil, err
	}
	return f.Inspect(ctx, client)
}

// Basis is what a forecast rests on.
type Basis struct {
	Evidence wear.Evidence
	// Doubts say where the records leave much out.
	Doubts []string
}

// Muster forecasts one client for weeks 1..weeks after asOf.
// It also says on what the forecast rests, and where the records leave much out.
func Muster(ctx context.Context, b *books.Books, code string, asOf programme.Date, weeks int) (*demand.Muster, Basis, error) {
	in, err := Inspect(ctx, b, code, asOf)
	if err != nil {
		return nil, Basis{}, err
	}
	m := in.Muster(weeks)
	return &m, Basis{evidence(in.Input), Doubts(in.Input)}, nil
}
