package replay

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// House is a shop with the records of all its clients. It makes the program's
// own forecast of any past day, with what all clients together had taught the
// shop by then. It is for one goroutine.
type House struct {
	shop       *programme.Shop
	clients    []*programme.Client
	records    []Records
	experience map[programme.Date]*wear.Experience
}

// NewHouse takes one entry of records for each client.
func NewHouse(shop *programme.Shop, clients []*programme.Client, records []Records) *House {
	return &House{shop, clients, records, map[programme.Date]*wear.Experience{}}
}

// Forecaster returns the program's forecast for a client.
func (h *House) Forecaster(client *programme.Client) Forecaster {
	return func(known Records, day programme.Date, weeks int) (Forecast, error) {
		experience, err := h.learntBy(day)
		if err != nil {
			return Forecast{}, err
		}
		in, err := demand.Prepare(h.shop, client, known.Roster, known.Ledger, nil, experience, day)
		if err != nil {
			return Forecast{}, err
		}
		m := in.Muster(weeks)
		f := Forecast{Total: m.Total.PMF, Lines: make(map[programme.SKU][]float64, len(m.Lines))}
		for i := range m.Lines {
			f.Lines[m.Lines[i].SKU] = m.Lines[i].PMF
		}
		return f, nil
	}
}

// learntBy gathers what all clients had taught by a day.
func (h *House) learntBy(day programme.Date) (*wear.Experience, error) {
	if e, ok := h.experience[day]; ok {
		return e, nil
	}
	all := make([]wear.Records, len(h.clients))
	for i, c := range h.clients {
		book, err := wear.NewBook(h.shop, c, nil)
		if err != nil {
			return nil, err
		}
		known := h.records[i].AsOf(day)
		all[i] = wear.Records{Book: book, Learnt: book.Learn(book.Trace(known.Roster, known.Ledger, day), day)}
	}
	h.experience[day] = wear.Gather(all)
	return h.experience[day], nil
}
