package message

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Round is everything the owner's weekly mail tells.
type Round struct {
	Shop *programme.Shop
	// Number of the round; it makes the Message-ID.
	Number int64
	AsOf   programme.Date
	// Told marks the lines that the last round told, see Mail.Told.
	Told []string
	// Clients is the number of clients that were mustered.
	Clients int
	Due     []Due
	// Waiting are proposals of earlier rounds that still wait for a step.
	Waiting []Waiting
	// Refused are the noes and the not nows that hold, or were said since the last round.
	Refused []Refused
	// Held is protective clothing of clients that have no proposal this week;
	// the held clothing of Due is in their proposals.
	Held     []Held
	Sheets   []SheetToOrder
	Next     []NextDue
	Troubles []Trouble
	// Changes are the kits that change, or have begun to, each in a sentence.
	Changes []Changing
	// Counting are counts to come, and those whose forms go out with this round.
	Counting []Counting
	// Taken are the files that were taken in since the last round, oldest first.
	Taken  []Taken
	Learnt []Learnt
	// NewPrices lists the prices of clients that begin in the next weeks, by client and day.
	NewPrices []NewPrice
}

// Changing tells how far one line of a client's kits has taken the place of another.
type Changing struct {
	Client string
	What   string
}

// NewPrice is a price of a client that begins on a day to come.
type NewPrice struct {
	Client *programme.Client
	programme.Price
}

// NewPriceDays is the number of days before its first day at which a new price is announced.
const NewPriceDays = 60

// Due is one client with a proposal in this round.
type Due struct {
	Client   *programme.Client
	Proposal *reorder.Proposal
	// People of the client's roster, to name those who get something.
	People []programme.Person
	// Ahead is the client's muster over the next 26 weeks, for the picture and
	// the words on confidence; nil leaves both out.
	Ahead *demand.Muster
	// Arriving lists the pieces on order and the days on which they come. Without it, pieces on order count as
	// there from the start.
	Arriving []Arrival
	// Evidence counts the records that the forecast of this client rests on.
	Evidence wear.Evidence
	// Stands is true of a proposal that the client has had already: nothing that
	// they would notice has changed, and no other form went out.
	Stands bool
	// Now is what the round would propose in place of a form that stands: what is urgent today, and by when it
	// could come. nil where another form goes out.
	Now *reorder.Proposal
}

// Arrival is finished pieces of a client that are on their way.
type Arrival struct {
	On     programme.Date
	Pieces int
}

// Waiting is a proposal of an earlier round that somebody has to move on.
type Waiting struct {
	Client   *programme.Client
	Proposal *reorder.Proposal
}

// Refused is a no or a not now of a client.
type Refused struct {
	Client   *programme.Client
	Proposal *reorder.Proposal // declined, or put off
	// Until is the day until which it is not proposed again, and More whether it
	// comes back before that where more is missing.
	Until programme.Date
	More  bool
}

// Held is protective clothing that waits for a person's yes.
type Held struct {
	Client *programme.Client
	Holds  []reorder.Hold
}

// SheetToOrder is the sheets of one transfer kind in this round.
type SheetToOrder struct {
	sheet.Order
	// OrderBy is the last day on which the printer must have the order.
	OrderBy programme.Date
	// Lines tells the transfers on it by artwork: asked, spoilage, from the shelf, overs.
	Lines []sheet.Line
	// Proofs are the drawings at true scale, attached.
	Proofs []Part
	// Prints are the files that the printer prints, the art alone at exact size: they go to
	// the printer only. Unprinted says why there are none, or what they lack.
	Prints    []Part
	Unprinted []string
}

// NextDue is a client that is not due yet.
type NextDue struct {
	Client string // name
	// On is the first round at which it is expected to be due; no date = not within two years.
	On programme.Date
	// Pieces expected to be needed then; 0 = not said.
	Pieces int
	// Remark says in its place what the owner should know; may be empty.
	Remark string
}

// Counting is a count of a part of what one client's people hold.
type Counting struct {
	Client       *programme.Client
	Rows, People int
	// Came is the number of rows that are counted already.
	Came int
	// SendOn is the day from which the forms go out, ReturnBy when they are to be back.
	SendOn, ReturnBy programme.Date
	// Sent forms went out with this round, as drafts unless ByItself.
	Sent, ByItself bool
	// Saving is the expected saving of the count, after paying for the minutes that it takes.
	Saving programme.Money
	// Assumed says that what people hold is only assumed so far, Holds that an order
	// waits for the count.
	Assumed, Holds bool
}

// Trouble is one thing that went wrong since the last round.
type Trouble struct {
	Kind programme.EventKind
	On   programme.Date // no date = today
	// Client's name; empty when it is nobody's in particular.
	Client string
	// What happened, as a sentence with its place and value.
	What string
	// Do is a sentence that says what would mend it; may be empty.
	Do string
}

// Taken is one file that was taken in since the last round.
type Taken struct {
	On     programme.Date
	Client string // name; empty when it is nobody's in particular
	// What was taken in and what came of it, in a few words.
	What string
}

// Learnt is one thing that records taught: the median life of a kind of piece
// under its work and washing, all causes together, against the figure shipped with the program.
type Learnt struct {
	Client string // name; empty = the whole shop
	What   string // "Cotton tee, ring-spun; home, hot": a class in words
	// Baseline, Median, Low and High are medians of life in washes; Low and High
	// bound what is left open with 80 % chance.
	Baseline, Median, Low, High float64
	Evidence                    wear.Evidence
}
