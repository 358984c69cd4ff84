// Package market lets the clients of simulated shops live on under a way of ordering: a
// shelf that it fills, deliveries, rush orders, and what all of that costs.
package market

import "github.com/kitmuster/kitmuster/programme"

// Terms holds the times and costs of having pieces made for a client, the same for every
// way of ordering that is compared.
type Terms struct {
	LeadDays int // from order to pieces in hand
	RushDays int // the same for an emergency order
	// UnitCost is a finished piece: blank, transfers and pressing.
	UnitCost map[string]programme.Money
	// OrderCost is paid once an order: set-up of sheets, freight, handling.
	OrderCost programme.Money
	// RushExtra is added to the unit cost of a piece of a rush order, as a
	// share of it; RushCost is paid once for each rush order.
	RushExtra float64
	RushCost  programme.Money
	// HoldingPerYear is the yearly cost of keeping a piece, as a share of its cost.
	HoldingPerYear float64
}

// View holds what a shop knows of a client at a review. Nothing in it may be changed.
type View struct {
	AsOf programme.Date
	// Roster lists everybody who ever worked there, by staff number.
	Roster func() []programme.Person
	Ledger []programme.Movement
	// OnHand and OnOrder are finished pieces; Owed is known needs that wait.
	OnHand, OnOrder, Owed map[programme.SKU]int
}

// Decision lists what a shop orders at a review.
type Decision struct {
	Order map[programme.SKU]int
	// Renew orders everybody a whole new kit on top and withdraws all that is
	// in hands when it arrives, presentable or not.
	Renew bool
}

// Policy decides at every review.
type Policy func(v *View) Decision

// Score is the result of a policy over the weeks that it ran.
type Score struct {
	Weeks          int
	Needed, Filled int     // pieces asked for; of these handed out from the shelf in the week in which they were known
	StockWeeks     float64 // piece-weeks on the shelf
	ShortWeeks     float64 // piece-weeks that wearers went on in pieces past presentable, or without
	MissingWeeks   float64 // those of them that the shop knew of: needs that waited for pieces
	ScrappedEarly  int     // withdrawn while presentable
	Orders         int
	Pieces         int             // ordered, emergencies included
	Emergencies    int             // rush orders
	Rushed         int             // pieces in them
	Goods          programme.Money // all pieces ordered, less Unused and Left
	Ordering       programme.Money
	Rush           programme.Money
	Holding        programme.Money
	Missing        programme.Money // MissingWeeks at the shop's shares of the selling price
	Unused         programme.Money // cost of the pieces on the shelf or on their way at the end: nobody wears them
	Left           programme.Money // worth of the life left in hands at the end
}

// FillRate returns the share of needs met from the shelf at once.
func (s *Score) FillRate() float64 {
	if s.Needed == 0 {
		return 1
	}
	return float64(s.Filled) / float64(s.Needed)
}

// Handling returns everything but the goods that were put to use: orders, rushing,
// keeping, missing pieces, and goods left over at the end.
func (s *Score) Handling() programme.Money {
	return s.Ordering + s.Rush + s.Holding + s.Missing + s.Unused
}

// Cost returns Handling and the goods.
func (s *Score) Cost() programme.Money { return s.Goods + s.Handling() }

// Add adds the counts and sums of o.
func (s *Score) Add(o *Score) {
	s.Weeks = max(s.Weeks, o.Weeks)
	s.Needed, s.Filled = s.Needed+o.Needed, s.Filled+o.Filled
	s.StockWeeks, s.ShortWeeks, s.MissingWeeks = s.StockWeeks+o.StockWeeks, s.ShortWeeks+o.ShortWeeks,
		s.MissingWeeks+o.MissingWeeks
	s.ScrappedEarly, s.Orders, s.Pieces, s.Emergencies, s.Rushed = s.ScrappedEarly+o.ScrappedEarly, s.Orders+o.Orders,
		s.Pieces+o.Pieces, s.Emergencies+o.Emergencies, s.Rushed+o.Rushed
	s.Goods, s.Ordering, s.Rush, s.Holding = s.Goods+o.Goods, s.Ordering+o.Ordering, s.Rush+o.Rush, s.Holding+o.Holding
	s.Missing, s.Unused, s.Left = s.Missing+o.Missing, s.Unused+o.Unused, s.Left+o.Left
}
