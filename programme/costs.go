package programme

// Missing holds the weekly cost of a needed piece that is not there, as
// shares of what the client pays for it.
type Missing struct {
	Worn    float64 // somebody goes on wearing what is worn out
	Kit     float64 // somebody is short of the kit today
	Starter float64 // somebody new has no kit
}

// UsualMissing returns 8 % for worn-out pieces and 15 % for short kits and starters
// (common practice, no source).
func UsualMissing() Missing { return Missing{Worn: 0.08, Kit: 0.15, Starter: 0.15} }

// UsualOrdering is the cost of an order in time, telephone calls and the
// customer's attention, whatever is in it; UsualWorthPulling is the least saving
// for which an order is brought forward. In the shop's currency (common
// practice, no source).
const (
	UsualOrdering     Money = 2500
	UsualWorthPulling Money = 1000
)

// SmallestOrder is the least that an order must come to, unless somebody is short of a
// piece today: so many pieces, or what the client pays for them; 0 = anything.
type SmallestOrder struct {
	Pieces int
	Price  Money
}

// Starters says what is kept for people who may come.
type Starters string

// Ways of keeping pieces for starters; a pool is stated in kits.
const (
	StartersByCost Starters = ""     // what the costs say
	StartersWait   Starters = "wait" // nothing: their kits are ordered when they come
)

// Owner says whose money lies in pieces that nobody has been given yet.
type Owner string

// The two owners of a pool.
const (
	OwnedByCustomer Owner = ""     // they lie in the customer's cupboard
	OwnedByShop     Owner = "shop" // the shop keeps them; they are paid when issued
)
