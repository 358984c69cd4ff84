package reorder

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// State is the state of a proposal.
type State string

// States of a proposal, in the order in which they are usually met.
const (
	Drafted      State = "drafted"
	Sent         State = "sent"
	PutOff       State = "put off" // until a day that the customer named
	Accepted     State = "accepted"
	Declined     State = "declined"
	Ordered      State = "ordered"
	PartReceived State = "part received" // some pieces came, others are still to come
	Received     State = "received"
	Lapsed       State = "lapsed"
)

// States returns all states in the order in which they are usually met.
func States() []State {
	return []State{Drafted, Sent, PutOff, Accepted, Declined, Ordered, PartReceived, Received, Lapsed}
}

// Proposal is a reorder suggested to one client. Everything in it was decided
// from the data of AsOf and explains itself; Number is given by the store.
type Proposal struct {
	Number int64          `json:"number"`
	Client string         `json:"client"`
	AsOf   programme.Date `json:"as_of"`
	State  State          `json:"state"`
	// Revision counts the forms of one proposal that went out; 0 and 1 are the
	// first. Asked is the day since which an answer is missing, the same through all revisions until a
	// not now answers it; no date = AsOf.
	Revision int            `json:"revision,omitempty"`
	Asked    programme.Date `json:"asked,omitzero"`
	// Until is the day until which it is put off, or until which a no holds.
	Until programme.Date `json:"until,omitzero"`
	// Because is the reason of a no, in the words of whoever gave it.
	Because string `json:"because,omitempty"`
	// Answered is the day of the last yes, no or not now.
	Answered programme.Date `json:"answered,omitzero"`
	// OrderBy is the last day on which a yes still keeps the promise, never
	// before the second working day after AsOf: people need time to answer.
	OrderBy programme.Date `json:"order_by"`
	// Late reports that even a yes of that second day comes too late for the
	// target; OrderBy is then simply as soon as possible.
	Late bool `json:"late,omitempty"`
	// Arrives is the day on which pieces are in hands if the yes comes by OrderBy.
	Arrives programme.Date `json:"arrives"`
	// CoverUntil is the day on which an order after this one is expected to arrive.
	CoverUntil programme.Date `json:"cover_until"`
	// LeadDays is the lead time from yes to pieces in hands.
	LeadDays   int     `json:"lead_days"`
	TargetFill float64 `json:"target_fill"`
	// Ending is the expected number of pieces of all lines, ordered or not, that come to an end until CoverUntil.
	Ending float64 `json:"ending,omitempty"`
	// FillNow is the expected fill rate over review and lead time without this
	// order; FillAfter until CoverUntil with it.
	FillNow   float64 `json:"fill_now"`
	FillAfter float64 `json:"fill_after"`
	Lines     []Line  `json:"lines"`
	Named     []Named `json:"named"`
	Pool      []Pool  `json:"pool"`
	Holds     []Hold  `json:"holds,omitempty"`
	// Money: what the shop pays, what the client pays.
	Blanks    programme.Money `json:"blanks_cost"`
	Transfers programme.Money `json:"transfers_cost"` // this client's share of the sheets
	Pressing  programme.Money `json:"pressing_cost"`
	Freight   programme.Money `json:"freight_cost"`
	Price     programme.Money `json:"price"`
	// Aside are the transfers that were taken off the shelf for it once it was
	// accepted, or that came for it and are not pressed yet.
	Aside []Aside `json:"aside,omitempty"`
	// PressHours is the time at the press.
	PressHours float64 `json:"press_hours"`
	// Suppliers lists what each supplier of blanks is to deliver.
	Suppliers []SupplierOrder `json:"suppliers,omitempty"`
	// Reasons says why the client is due.
	Reasons []Reason `json:"reasons,omitempty"`
	// OrderCost is the cost that an order of this client causes whatever is in it.
	OrderCost OrderCost `json:"order_cost"`
	// LateWeek is the expected cost, in missing pieces, of ordering a week later.
	LateWeek programme.Money `json:"late_week"`
	// Events says what has happened since the last order where that was meant to
	// last longer.
	Events []Occurrence `json:"events,omitempty"`
	// Curve are plans to choose from: what must be, what is suggested, what
	// lasts longer.
	Curve []Choice `json:"curve,omitempty"`
	// Waits are lines that were left for a later order.
	Waits []Waiting `json:"waits,omitempty"`
	// Pulled says why a client that is not yet due is in the round; nil when due.
	Pulled *Pulled `json:"pulled,omitempty"`
}

// Cost returns what the shop pays for the whole proposal.
func (p *Proposal) Cost() programme.Money { return p.Blanks + p.Transfers + p.Pressing + p.Freight }

// Margin returns what is left for the shop.
func (p *Proposal) Margin() programme.Money { return p.Price - p.Cost() }

// Priced reports whether every line with an order has a selling price; without
// one, price and margin would be wrong numbers.
func (p *Proposal) Priced() bool {
	for i := range p.Lines {
		if p.Lines[i].Order > 0 && p.Lines[i].UnitPrice == 0 {
			return false
		}
	}
	return true
}

// Pieces returns how many pieces are to be ordered.
func (p *Proposal) Pieces() int {
	n := 0
	for i := range p.Lines {
		n += p.Lines[i].Order
	}
	return n
}

// Aside is transfers of one artwork, printed on one day, that no other proposal
// may count on. AsOf is the day on which the shelf was counted.
type Aside struct {
	Artwork string         `json:"artwork"`
	Pieces  int            `json:"pieces"`
	Made    programme.Date `json:"made,omitzero"`
	AsOf    programme.Date `json:"as_of"`
}

// SetAside notes what was taken off the shelf.
func (p *Proposal) SetAside(lines []programme.StockLine) {
	for i := range lines {
		l := &lines[i]
		p.Aside = append(p.Aside, Aside{l.Code, l.Pieces, l.Made, l.AsOf})
	}
}

// GiveBack leaves nothing set aside and returns what was, as it lay on the shelf.
func (p *Proposal) GiveBack() []programme.StockLine {
	lines := p.Shelf()
	p.Aside = nil
	return lines
}

// Shelf returns what is set aside, as it lay on the shelf.
func (p *Proposal) Shelf() []programme.StockLine {
	lines := make([]programme.StockLine, 0, len(p.Aside))
	for _, a := range p.Aside {
		lines = append(lines, programme.StockLine{AsOf: a.AsOf, Goods: programme.TransferGoods(a.Artwork),
			Pieces: a.Pieces, Made: a.Made})
	}
	return lines
}

// Line is one garment, colour and size of a proposal with its reasons.
type Line struct {
	programme.SKU
	// Expected pieces until CoverUntil, and its split by cause.
	Expected float64 `json:"expected"`
	programme.Causes
	// AtTarget is the stock level that costs least.
	AtTarget int `json:"at_target"`
	OnHand   int `json:"on_hand"`
	OnOrder  int `json:"on_order"`
	Owed     int `json:"owed"`
	// Wanted is AtTarget less the stock position; Order is what is bought after
	// pack sizes, minimums and price breaks, with the reason in Rounding.
	Wanted   int    `json:"wanted"`
	Order    int    `json:"order"`
	Rounding string `json:"rounding,omitempty"`
	// BlanksOnShelf is the number of undecorated pieces on the shelf that this order uses, Buy the number of blanks
	// to buy, StayBlank the number of both that are not pressed now: Order + StayBlank = BlanksOnShelf + Buy.
	BlanksOnShelf int `json:"blanks_on_shelf"`
	Buy           int `json:"buy"`
	StayBlank     int `json:"stay_blank,omitempty"`
	// SetAside are blanks taken off the shelf for this order once it is accepted.
	SetAside int `json:"set_aside,omitempty"`
	// OrderBlanksBy is the last working day on which the supplier must have the
	// order, so that this line is ready with the others.
	OrderBlanksBy programme.Date  `json:"order_blanks_by"`
	UnitCost      programme.Money `json:"unit_cost"` // blank, after price breaks
	UnitPrice     programme.Money `json:"unit_price"`
	// ShortBefore and ShortAfter are expected pieces short until CoverUntil.
	ShortBefore float64 `json:"short_before"`
	ShortAfter  float64 `json:"short_after"`
	// Demand is the chance of 0, 1, 2... pieces until CoverUntil.
	Demand []float64 `json:"demand,omitempty"`
	// Saves holds, for each piece of the order in turn, its saving until the next order in missing pieces less
	// keeping.
	Saves []programme.Money `json:"saves,omitempty"`
	// LineCost holds the costs by which the quantity was weighed.
	LineCost LineCost `json:"line_cost"`
	// Changed is set once somebody asked for another number than Offered.
	Changed bool `json:"changed,omitempty"`
	Offered int  `json:"offered,omitempty"`
	Progress
}

// Named is pieces of the proposal meant for one person.
type Named struct {
	StaffID string `json:"staff_id"`
	programme.SKU
	Pieces int `json:"pieces"`
	// Why is the likeliest cause of the ending, or that the person is short today.
	Why programme.Cause `json:"why"`
	// Washes of the oldest piece it replaces, and the date by which half of such pieces would have ended.
	Washes float64 `json:"washes"`
	// Assumed says that a piece it replaces, or the age of one, is only assumed.
	Assumed bool           `json:"assumed,omitempty"`
	By      programme.Date `json:"by"`
	PEnd    float64        `json:"p_end"`
	// Got is the number of Pieces that have come.
	Got int `json:"got,omitempty"`
}

// Pool is pieces kept for new starters and surprises.
type Pool struct {
	programme.SKU
	ForStarters int `json:"for_starters"`
	Spare       int `json:"spare"`
	// Got is the number of both that have come.
	Got int `json:"got,omitempty"`
}

// Hold is a line that waits for a person's yes, such as protective clothing.
type Hold struct {
	programme.SKU
	Pieces     int                  `json:"pieces"`
	Protective programme.Protective `json:"protective"`
	// LabelWashes is the label's limit; 0 when the label states none.
	LabelWashes float64 `json:"label_washes"`
	// Named are the people whose pieces are likeliest to need it.
	Named []Named `json:"named,omitempty"`
}

// Wearers returns the staff numbers of those it is for, each once, in the order of need.
func (h *Hold) Wearers() []string {
	return h.wearers(func(*Named) bool { return true })
}

// LabelSpent returns the staff numbers of those who wear pieces that have, as far as the records
// tell, had all the washes that their label allows, each once.
func (h *Hold) LabelSpent() []string {
	return h.wearers(func(n *Named) bool { return h.LabelWashes > 0 && n.Washes >= h.LabelWashes })
}

func (h *Hold) wearers(which func(*Named) bool) []string {
	var out []string
	for i := range h.Named {
		if n := &h.Named[i]; which(n) && !slices.Contains(out, n.StaffID) {
			out = append(out, n.StaffID)
		}
	}
	return out
}

// SupplierOrder is one supplier's part of the blanks to buy, or a printer's of
// the transfers where their way is paid for.
type SupplierOrder struct {
	Supplier string          `json:"supplier"`
	Value    programme.Money `json:"value"`
	// Freight is this proposal's share of it; 0 when it is free.
	Freight programme.Money `json:"freight"`
	// ToFreeFreight is the amount by which the whole round is below free freight; 0 when freight is free already or
	// never is.
	ToFreeFreight programme.Money `json:"to_free_freight"`
	// ToMinimum is the amount by which the whole round is below the supplier's minimum, when nothing could be added
	// to reach it.
	ToMinimum programme.Money `json:"to_minimum,omitempty"`
	// Pieces of the proposal need something of it; Saves is what they save until the
	// next order in missing pieces, less keeping.
	Pieces int             `json:"pieces,omitempty"`
	Saves  programme.Money `json:"saves,omitempty"`
}

// Pulled is the reason for ordering before the client is due.
type Pulled struct {
	// Saving is the saving of ordering with the others, less the cost of ordering early.
	Saving programme.Money `json:"saving"`
	// Kept is the part of that cost that is for keeping the goods until they
	// would have been due, at KeptPerYear of their cost a year.
	Kept        programme.Money `json:"kept"`
	KeptPerYear float64         `json:"kept_per_year"`
	// Reason is the shared cost that saves most.
	Reason   Shared         `json:"reason"`
	NextDue  programme.Date `json:"next_due"`
	Supplier string         `json:"supplier,omitempty"`
}
