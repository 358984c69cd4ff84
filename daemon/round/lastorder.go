package round

import (
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// last tells the newest order of a client, and what its records say has
// happened since.
func (f *Forecaster) last(client string, rec books.Records) *reorder.Last {
	p := f.orders[client]
	if p == nil {
		return nil
	}
	l := reorder.LastOf(p)
	l.Happened(rec.People, rec.Movements, f.asOf)
	return l
}
