package demand

import "github.com/kitmuster/kitmuster/programme"

// Muster is the state and forecast of one client on a date: what will be
// needed in weeks 1..Weeks after AsOf, stock ignored in the distributions.
// Its JSON shape is versioned by Format and fixed by the tests.
type Muster struct {
	Format int            `json:"format"`
	Client string         `json:"client"`
	AsOf   programme.Date `json:"as_of"`
	Weeks  int            `json:"weeks"`
	Lines  []Line         `json:"lines"`
	Pieces []Outlook      `json:"pieces"`
	// Total is the distribution of all pieces together; it is wider than the
	// lines taken as independent, since kits and unknown rates tie them.
	Total Distribution `json:"total"`
	// Weekly is the client's expected pieces by week and cause, week 1 first.
	Weekly []programme.Causes `json:"weekly"`
	// Garments are distributions over all colours and sizes of each garment.
	Garments []GarmentTotal `json:"garments,omitempty"`
	// Short lists who is missing which pieces today, in the order of the roster and the
	// kits. Its pieces add up to the Owed of the lines.
	Short []Short `json:"-"`
	// Coming lists what people on the roster are to be given on a known day up to the end
	// of Weeks, in the same order: the kits of those who have yet to start or to come back,
	// the rest of kits given in two parts, and pieces of a season or of a change of kit
	// that begins.
	Coming []Short `json:"-"`
}

// GarmentTotal is the demand for one garment in all colours and sizes.
type GarmentTotal struct {
	Garment string `json:"garment"`
	Distribution
	known pmf // pieces for people whose first day is known
}

// Distribution is the chance of each whole number of pieces.
type Distribution struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	// Quantiles maps "0.1", "0.5", "0.8", "0.9", "0.95", "0.99" to the smallest
	// whole q with P(demand <= q) >= p.
	Quantiles map[string]int `json:"quantiles"`
	PMF       []float64      `json:"pmf"`
}

// Line is the demand for one garment, colour and size.
type Line struct {
	programme.SKU
	Distribution
	ByCause programme.Causes `json:"by_cause"`
	OnHand  int              `json:"on_hand"`
	OnOrder int              `json:"on_order"`
	// Owed is the number of pieces that active staff are short of today. It is no part of the distribution; it is
	// taken off the stock position.
	Owed int `json:"owed"`
	// Reissuable are returned pieces with enough life left to go out again, where
	// the programme allows it; they are a part of OnHand.
	Reissuable int `json:"reissuable,omitempty"`
	// Weekly is the expected pieces of each week, week 1 first.
	Weekly []float64 `json:"weekly,omitempty"`
}

// Outlook is the forecast of one piece in service.
type Outlook struct {
	StaffID string `json:"staff_id"`
	programme.SKU
	// Next is the line that would replace the piece, where that is another than its own; see Replacement.
	Next   programme.SKU  `json:"next,omitzero"`
	Issued programme.Date `json:"issued"`
	Washes float64        `json:"washes"`
	// Assumed says that the piece, or its age, is only assumed: a count shows that a piece of
	// past orders is there, not when it was handed out.
	Assumed bool `json:"assumed,omitempty"`
	// PEnd is the chance that it ends within the weeks of the muster and needs replacing.
	PEnd float64 `json:"p_end"`
	// D10, D50, D90 are the dates by which 10, 50 and 90 % of such pieces would
	// have ended; no date when beyond ten years.
	D10 programme.Date `json:"d10"`
	D50 programme.Date `json:"d50"`
	D90 programme.Date `json:"d90"`
	// Cause is the likeliest cause of its ending.
	Cause programme.Cause `json:"cause"`
}

// Replacement returns what would replace the piece: of the size that its holder has today.
func (o *Outlook) Replacement() programme.SKU {
	if o.Next != (programme.SKU{}) {
		return o.Next
	}
	return o.SKU
}
