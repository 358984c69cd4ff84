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
	// Learnt holds what the records teach about each class of pieces.
	Learnt   map[wear.Class]*wear.Learnt
	Staffing Staffing
	// SeasonLearnt says that the months in which Client wears harder are, in part, what the
	// records showed.
	SeasonLearnt bool
	// LeadDays is the time from an order on AsOf until its pieces are in hand. What such an order could only bring
	// after a line of the kit has ended is needed of the line after it, or not at all; 0 = nothing is to be
	// ordered.
	LeadDays int
}

// Prepare reads the records of a client up to and including asOf and learns
// from them, with the shop's experience as prior (nil: the catalogue). Later
// movements, starts and ends in the records are not used. The error names what
// the programme refers to and the catalogue does not have.
func Prepare(shop *programme.Shop, client *programme.Client, staff []programme.Person, ledger []programme.Movement,
	stock []programme.StockLine, experience *wear.Experience, asOf programme.Date,
) (*Input, error) {
	past, err := Recall(shop, client, staff, ledger, asOf)
	if err != nil {
		return nil, err
	}
	return past.Prepare(stock, experience)
}

// Past holds what the records of one client say before anything is known of the
// other clients: its pieces, and what they teach by themselves. It is small
// enough to keep for all clients until all have been heard.
type Past struct {
	Records wear.Records
	// Suspicions are the groups of pieces that wear faster than the others.
	Suspicions []wear.Suspicion
	shop       *programme.Shop
	client     *programme.Client
	seasonal   bool
	staff      []programme.Person
	history    wear.History
	asOf       programme.Date
	exchanges  int // changes of size in the ledger
}

// Recall reads the records of a client up to and including asOf. It returns the same errors as Prepare, and a
// [*TooMuch].
func Recall(shop *programme.Shop, client *programme.Client, staff []programme.Person, ledger []programme.Movement,
	asOf programme.Date) (*Past, error) {
	book, err := wear.NewBook(shop, client, nil)
	if err != nil {
		return nil, err
	}
	if much := tooMuch(ledger, asOf); much != nil {
		return nil, much
	}
	traced := book.Trace(staff, ledger, asOf)
	if m := traced.Overfull; m != nil {
		return nil, heaviest(ledger, asOf, func(of *programme.Movement) bool { return holdingOf(of) == holdingOf(m) })
	}
	if tooLong(traced.InService) {
		return nil, heaviest(ledger, asOf, func(*programme.Movement) bool { return true })
	}
	history, learnt := book.LearnWithSilence(traced, asOf)
	months, seasonal := book.LearnSeason(&history, learnt, asOf)
	if seasonal {
		taught := *client
		taught.Work.WearByMonth, client = months, &taught
		if book, err = wear.NewBook(shop, client, nil); err != nil {
			return nil, err
		}
		history, learnt = book.LearnWithSilence(book.Trace(staff, ledger, asOf), asOf)
	}
	p := &Past{shop: shop, client: client, staff: staff, history: history, asOf: asOf, Suspicions: history.Suspicions,
		seasonal: seasonal, exchanges: exchanges(shop, client, staff, ledger, asOf)}
	p.Records = wear.Records{Book: book, Learnt: learnt}
	return p, nil
}

// Trim lets go of what a forecast does not ask for, such as pieces that came to an
// end where the programme does not let returned ones out again, and keeps the rest in
// little room.
func (p *Past) Trim() {
	p.history.Pack(p.client.ReissueLifeLeft > 0)
	p.Records.Trim()
}

// Prepare learns once more, with the shop's experience as prior (nil: the catalogue).
func (p *Past) Prepare(stock []programme.StockLine, experience *wear.Experience) (*Input, error) {
	p.history.Unpack(p.staff)
	in := &Input{Shop: p.shop, Client: p.client, SeasonLearnt: p.seasonal, Staff: p.staff, Stock: stock, AsOf: p.asOf,
		Book: p.Records.Book, History: p.history, Learnt: p.Records.Learnt}
	if experience != nil {
		book, err := wear.NewBook(p.shop, p.client, experience)
		if err != nil {
			return nil, err
		}
		in.Book, in.Learnt = book, book.Relearn(p.Records.Learnt)
	}
	in.Staffing = LearnStaffing(p.shop, p.client, p.staff, p.asOf)
	if r := &in.Staffing.Resizing; r.Exposure > 0 {
		*r = r.Learn(float64(p.exchanges), 0)
	}
	return in, nil
}
