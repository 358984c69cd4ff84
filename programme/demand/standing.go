package demand

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Stand reads from the records up to and including asOf what people hold, for Short and Coming alone. It learns
// nothing, so it takes a moment. It returns the same errors as Prepare, and a [*TooMuch].
func Stand(shop *programme.Shop, client *programme.Client, staff []programme.Person, ledger []programme.Movement,
	asOf programme.Date) (*Input, error) {
	book, err := wear.NewBook(shop, client, nil)
	if err != nil {
		return nil, err
	}
	if much := tooMuch(ledger, asOf); much != nil {
		return nil, much
	}
	return &Input{
		Shop: shop, Client: client, Staff: staff, AsOf: asOf, Book: book,
		History: book.Trace(staff, ledger, asOf), Staffing: LearnStaffing(shop, client, staff, asOf),
	}, nil
}
