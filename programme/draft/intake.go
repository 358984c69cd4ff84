package draft

import "github.com/kitmuster/kitmuster/programme"

// Intake is the answers to an intake sheet.
type Intake struct {
	Code     string
	Name     string
	Customer programme.Contact
	Manager  string
	Trade    Trade
	Work     programme.Work
	// ColdOrWet is weather that asks for an outer layer.
	ColdOrWet bool
	// Flames: people work near open flame or hot fat, where polyester melts onto skin.
	Flames bool
	// Traffic: people work beside moving vehicles.
	Traffic    bool
	Laundering programme.Laundering
	// Seen says whether customers see the staff.
	Seen       bool
	Protective []programme.Protective
	Roles      []Role
	// Pool is the whole kits that lie ready for people who may come.
	Pool int
	// ShowPrices: the customer's mail names prices, once each piece has one.
	ShowPrices bool
	// Services, Telephone and Area are what a mobile crew wants read from afar.
	Services  string
	Telephone string
	Area      string
	Colour    string
	// HiresPerYear and LeaversPerYear (share of staff) are 0 when not known.
	HiresPerYear   float64
	LeaversPerYear float64
}

// Role is a kind of job on the sheet.
type Role struct {
	Code     string
	Name     string
	People   int
	PartTime bool
	// BackRoom: not seen by customers even where the rest is.
	BackRoom bool
	// Indoors: works inside where the rest works out, on lighter duty.
	Indoors bool
}

// Trade is the kind of business, as far as clothing cares.
type Trade string

// Trades an intake sheet knows.
const (
	Food     Trade = "food"
	Retail   Trade = "retail"
	Hotel    Trade = "hotel"
	Care     Trade = "care"
	School   Trade = "school"
	Office   Trade = "office"
	Cleaning Trade = "cleaning"
	Grounds  Trade = "grounds"
	Building Trade = "building"
	Garage   Trade = "garage"
	Delivery Trade = "delivery"
	Workshop Trade = "workshop"
	Other    Trade = "other"
)

// Trades lists all of them, in the order of the sheet.
func Trades() []Trade {
	return []Trade{Food, Retail, Hotel, Care, School, Office, Cleaning, Grounds, Building, Garage, Delivery,
		Workshop, Other}
}

// Staff returns the headcount over all roles.
func (in *Intake) Staff() int {
	n := 0
	for _, r := range in.Roles {
		n += r.People
	}
	return n
}

// leavers returns the share of staff leaving a year by trade: annual separations of
// its industry, from memory of BLS JOLTS for 2021 and 2023-24, damped; a
// programme's own roster soon overrules it.
func (t Trade) leavers() float64 {
	switch t {
	case Food, Hotel:
		return 0.7
	case Retail, Cleaning, Delivery:
		return 0.6
	case Building, Grounds:
		return 0.55
	case Care, School:
		return 0.35
	case Garage, Workshop:
		return 0.35
	default:
		return 0.45
	}
}

// busy returns the months in which the trade hires most (from memory), at twice the usual.
func (t Trade) busy() []int {
	switch t {
	case Food, Hotel:
		return []int{4, 5, 6}
	case Retail:
		return []int{10, 11}
	case Building, Grounds:
		return []int{3, 4, 5}
	case School, Care:
		return []int{8, 9}
	default:
		return nil
	}
}
