package answer

import (
	"context"
	"maps"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/orderlist"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/table"
)

// ReadList reads the list that went out with a proposal and came back with other
// numbers in it, by the headings that opt states and those of the client's programme.
func ReadList(ctx context.Context, b *books.Books, client *programme.Client, proposal int64, file string, data []byte,
	opt table.Options) ([]reorder.Listed, error) {
	headings := maps.Clone(opt.Stated)
	if headings == nil {
		headings = map[string]string{}
	}
	for theirs, ours := range client.Headings {
		if _, said := headings[theirs]; !said {
			headings[theirs] = ours
		}
	}
	opt.Headings = headings
	people, err := b.Store.People(ctx, client.Code)
	if err != nil {
		return nil, err
	}
	staff := match.ChoicesOf(people, func(x *programme.Person) (string, string) { return x.StaffID, "" })
	return orderlist.Read(file, data, orderlist.Options{Proposal: proposal,
		Catalogue: ledger.NewCatalogue(b.Shop.Garments), Staff: staff, Options: opt})
}
