package message

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Reorder is everything a client's message tells.
type Reorder struct {
	Shop     *programme.Shop
	Client   *programme.Client
	Proposal *reorder.Proposal
	// People of the client's roster; only names of those who get something are used.
	People []programme.Person
	// Before is the form of the same proposal that the customer has and has not
	// answered, and Differs what is other in this one; nil = this is the first.
	Before  *reorder.Proposal
	Differs []reorder.Difference
	// Replaces are other proposals without an answer whose pieces are in this one.
	Replaces []*reorder.Proposal
	// ReturnTo is the address for the answer; nothing = to the manager.
	ReturnTo ReturnTo
}

// ReturnTo is an address that a program reads answers from, and the mark by which
// it knows what they answer.
type ReturnTo struct{ Address, Mark string }

// CountForm lists what a count form asks one client.
type CountForm struct {
	Shop   *programme.Shop
	Client *programme.Client
	AsOf   programme.Date
	// ReturnBy is the day by which the form should be back.
	ReturnBy programme.Date
	Rows     []CountRow
	// Assumed says that what is on record is only assumed, from past orders.
	Assumed bool
	// Site is the place it is for and To who fills it in there; no Site = of several
	// places or all, To nobody = by the customer.
	Site string
	To   programme.Contact
	// ReturnTo is the address for the filled form; nothing = to the manager.
	ReturnTo ReturnTo
}

// CountRow is one person and garment with what the records say.
type CountRow struct {
	Person programme.Person
	programme.SKU
	OnRecord int // pieces that should be there
}

// SupplierOrder is an order to one supplier: blanks, sheets, or both.
type SupplierOrder struct {
	Shop     *programme.Shop
	Supplier string // code
	// Number makes the order's reference and Message-ID: the round's number.
	Number int64
	AsOf   programme.Date
	// NeededBy is the day by which the goods must be in the shop; no date leaves it out.
	NeededBy programme.Date
	Blanks   []BlankLine
	Sheets   []SheetToOrder
}

// BlankLine is blanks of one garment, colour and size.
type BlankLine struct {
	programme.SKU
	Pieces   int
	UnitCost programme.Money // after price breaks; 0 = not stated
}

// Job is an accepted proposal on its way to the press.
type Job struct {
	Shop     *programme.Shop
	Client   *programme.Client
	Proposal *reorder.Proposal
	People   []programme.Person
	// Lines are the transfers of the proposal's artworks, for spares at the press; may be empty.
	Lines []sheet.Line
	// Pictures are the files of artworks by code; one that is missing is drawn as a box.
	Pictures map[string][]byte
}
