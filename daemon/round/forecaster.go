package round

import (
	"context"
	"fmt"

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
	faults     []books.Fault
	stock      map[string][]programme.StockLine // finished pieces by client
	shelf      []programme.StockLine            // blanks and transfers
	experience *wear.Experience
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
	coming, err := f.books.Store.Proposals(ctx, "", reorder.Accepted, reorder.Ordered)
	if err != nil {
		return err
	}
	for i := range coming {
		f.stock[coming[i].Client] = append(f.stock[coming[i].Client], arriving(&coming[i])...)
	}
	return nil
}

func arriving(p *reorder.Proposal) []programme.StockLine {
	lines := make([]programme.StockLine, 0, len(p.Lines))
	for i := range p.Lines {
		l := &p.Lines[i]
		lines = append(lines, programme.StockLine{
			AsOf: p.AsOf, Kind: programme.Finished, Client: p.Client, Code: l.Garment, Colour: l.Colour, Size: l.Size,
			Pieces: l.Order, Expected: p.Arrives,
		})
	}
	return lines
}

// learn gathers the shop's experience from every client's records.
func (f *Forecaster) learn(ctx context.Context) error {
	records := make([]wear.Records, len(f.clients))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(workers)
	for i, c := range f.clients {
		g.Go(func() error {
			book, err := wear.NewBook(f.books.Shop, c, nil)
			if err != nil {
				return err
			}
			rec, err := f.books.Records(ctx, c.Code, f.asOf)
			if err != nil {
				return err
			}
			records[i] = wear.Records{Book: book, Learnt: book.Learn(book.Trace(rec.People, rec.Movements, f.asOf), f.asOf)}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return fmt.Errorf("learn from the records: %w", err)
	}
	f.experience = wear.Gather(records)
	return nil
}

// Inspection is everything known about one client on a date.
type Inspection struct {
	*demand.Input
	// LastCount is the day of the newest count in the ledger.
	LastCount programme.Date
}

// Experience is what the records of all clients together have taught about wear.
func (f *Forecaster) Experience() *wear.Experience { return f.experience }

// Inspect prepares the forecast of one client.
func (f *Forecaster) Inspect(ctx context.Context, client *programme.Client) (*Inspection, error) {
	rec, err := f.books.Records(ctx, client.Code, f.asOf)
	if err != nil {
		return nil, err
	}
	in, err := demand.Prepare(f.books.Shop, client, rec.People, rec.Movements, f.stock[client.Code], f.experience, f.asOf)
	if err != nil {
		return nil, err
	}
	out := &Inspection{Input: in}
	for i := range rec.Movements {
		if m := &rec.Movements[i]; m.Kind == programme.Counted {
			out.LastCount = max(out.LastCount, m.Date)
		}
	}
	return out, nil
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

// Muster forecasts one client for weeks 1..weeks after asOf.
func Muster(ctx context.Context, b *books.Books, code string, asOf programme.Date, weeks int) (*demand.Muster, error) {
	in, err := Inspect(ctx, b, code, asOf)
	if err != nil {
		return nil, err
	}
	m := in.Muster(weeks)
	return &m, nil
}
