package demand

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Input is everything known about one client on a date. Prepare fills it;
// tests and what-if questions may change parts before they ask.
type Input struct {
	Shop   *programme.Shop
	Client *programme.Client
	Staff  []programme.Person
	Stock  []programme.StockLine
	AsOf   programme.Date
	// Book says how pieces are worn, History what became of them.
	Book    *wear.Book
	History wear.History
	// Learnt is what the records teach about each class of pieces.
	Learnt   map[wear.Class]*wear.Learnt
	Staffing Staffing
}

// Prepare reads the records of a client up to and including asOf and learns
// from them, with the shop's experience as prior (nil: the catalogue). Later
// movements, starts and ends in the records are not used. The error names what
// the programme refers to and the catalogue does not have.
func Prepare(shop *programme.Shop, client *programme.Client, staff []programme.Person, ledger []programme.Movement,
	stock []programme.StockLine, experience *wear.Experience, asOf programme.Date,
) (*Input, error) {
	book, err := wear.NewBook(shop, client, experience)
	if err != nil {
		return nil, err
	}
	in := &Input{Shop: shop, Client: client, Staff: staff, Stock: stock, AsOf: asOf, Book: book}
	in.History = book.Trace(staff, ledger, asOf)
	in.Learnt = book.Learn(in.History, asOf)
	in.Staffing = LearnStaffing(shop, client, staff, asOf)
	return in, nil
}
