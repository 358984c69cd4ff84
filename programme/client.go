package programme

import (
	"cmp"
	"slices"
)

// Client is one programme file: what a business has agreed with the shop.
type Client struct {
	Code     string
	Name     string
	Trade    string // what the business does, in the owner's words
	Customer Contact
	// Manager is the code of the shop's person who looks after this client.
	Manager string
	Work    Work
	// Laundering says how pieces are washed.
	Laundering Laundering
	Intake     Intake
	Leavers    Leavers
	// CoverWeeks is the longest that one order is to last; 0 = as long as costs least.
	CoverWeeks int
	// FillRate is the least share of needs to be met from stock until an order of
	// the next round would arrive, below 1; 0 = as the costs decide.
	FillRate float64
	// Starters and Pool say what is kept for people who may come: Pool is whole
	// kits, in the sizes that starters are likeliest to have.
	Starters Starters
	Pool     int
	// PoolBelongsTo is whose money lies in pieces that nobody has been given yet.
	PoolBelongsTo Owner
	SmallestOrder SmallestOrder
	// RecordsStart is the first day from which every movement is in the ledger.
	RecordsStart Date
	// Ends is the last day of what was agreed; no date = no end is known.
	Ends Date
	// OldPiecesKept says that a piece handed out beyond the kit is one more, not one
	// in place of another that ended.
	OldPiecesKept bool
	// Reissue allows clean returned pieces to go out again while at least
	// ReissueLifeLeft (share of the median life) is left; 0 = never.
	ReissueLifeLeft float64
	// CountEveryWeeks is the cycle of the count form; 0 = no counts by mail.
	CountEveryWeeks int
	// CountsByThemselves sends count forms to the customer; otherwise they are drafts
	// for the manager to send.
	CountsByThemselves bool
	// DaySheets says how often a sheet goes out on which whoever keeps the records writes
	// what happens.
	DaySheets DaySheets
	// ByMail are the addresses that may ask for something by mail.
	ByMail ByMail
	// ForgetAfterDays is the number of days for which a leaver's name is kept.
	ForgetAfterDays int
	// ShowPrices puts selling prices into the client's message, where every piece has one.
	ShowPrices bool
	// OrderNumber is the customer's own, for every order; empty = one is asked for.
	OrderNumber string
	// Approver is a second person whose yes the customer needs; no name = nobody.
	Approver Contact
	// Budget is the most that one order may cost; 0 = not stated.
	Budget Money
	// TaxFree says that this customer pays no tax on sales.
	TaxFree bool
	// Address is the address of parcels for sites that have none of their own.
	Address string
	Sites   []Site
	// Contacts are further people of the customer, each for one site or for all.
	Contacts []SiteContact
	Prices   []Price
	Roles    []Role
	// Headings maps this client's own column headings to ours.
	Headings map[string]string
	// Known takes the stated figures as certain: nothing is learnt, and rates
	// have no spread. For worked examples and what-if questions.
	Known bool
	// Schedule is a cron expression for rounds of this client alone, besides the shop's; empty = none.
	Schedule string
	// Language of numbers and dates follows the shop.
	// DeliveryDays overrides the shop's when above 0.
	DeliveryDays int
	Note         string
}

// Site is a place of the customer to which a parcel goes by itself.
type Site struct {
	Name    string // as the roster names it
	Address string // in one line
}

// SiteContact is a person of the customer for one site; no site = for all.
type SiteContact struct {
	Contact
	Site string
}

// DaySheets says how often day sheets go out.
type DaySheets string

// How often day sheets go out.
const (
	NoDaySheets     DaySheets = ""
	WeeklyDaySheets DaySheets = "weekly"
)

// ByMail are addresses by what they may ask for by mail, besides the shop's own people.
// Where a list is empty, those the programme names anyhow may: its customer, who
// approves, and the contacts.
type ByMail struct {
	Answers   []string // yes, not now and no to proposals
	Changes   []string // a yes with other numbers; empty = as Answers
	Counts    []string // count forms
	Rosters   []string // lists of staff
	DaySheets []string // day sheets; they also get the weekly one
}

// Work says where the work is done and how hard it is on clothing.
type Work struct {
	Place   Place
	Setting Setting
	Duty    Duty
	// StrongSun multiplies life once more (trade-facts section 11).
	StrongSun   bool
	DaysPerWeek float64
	// WearByMonth holds factors of the usual wear, January to
	// December; all alike when empty.
	WearByMonth [12]float64
	Food        bool // clean outer clothing is required of food staff
}

// Place says whether the client works at one place or drives to its customers.
type Place string

// Setting says whether the work is under a roof.
type Setting string

// Duty says how hard the work is on cloth.
type Duty string

// The values of Place, Setting and Duty.
const (
	Fixed  Place = "fixed"
	Mobile Place = "mobile"

	Indoor  Setting = "indoor"
	Outdoor Setting = "outdoor"

	Light  Duty = "light"
	Medium Duty = "medium"
	Heavy  Duty = "heavy"
	Dirty  Duty = "dirty"
)

// Ended reports whether what was agreed with the client is over on a day.
func (c *Client) Ended(day Date) bool { return !c.Ends.IsZero() && c.Ends < day }

// LongestCover returns the weeks that an order of a day may last at the most: cover_weeks, and no
// longer than what was agreed with the client; 0 = no limit.
func (c *Client) LongestCover(day Date) float64 {
	limit := float64(c.CoverWeeks)
	if c.Ends.IsZero() {
		return limit
	}
	left := max(1, float64(c.Ends.Sub(day))/7)
	if limit > 0 {
		return min(limit, left)
	}
	return left
}

// Laundering is a regime with its extras.
type Laundering struct {
	Regime     string // a code of Baselines.Regimes
	Chlorine   bool
	Softener   bool
	NoPrePress bool
	// Before are the ways in which pieces were washed earlier, the oldest first.
	Before []FormerLaundering
}

// FormerLaundering is how pieces were washed up to and with a day.
type FormerLaundering struct {
	Until    Date
	Regime   string // a code of Baselines.Regimes
	Chlorine bool
	Softener bool
}

// Former returns the laundering as it was under one of Before.
func (l Laundering) Former(f FormerLaundering) Laundering {
	l.Regime, l.Chlorine, l.Softener, l.Before = f.Regime, f.Chlorine, f.Softener, nil
	return l
}

// Intake is the number of people who join, per year, with busy months.
type Intake struct {
	PerYear float64 // 0 = not stated, unless Nobody
	// Nobody is a stated 0: hardly anybody is expected to join.
	Nobody bool
	// PerRole, when set, states hires a year by role code and replaces PerYear.
	PerRole map[string]float64
	// Months are the busy-month factors January to December; all 1 when empty.
	Months [12]float64
	// Strength is the weight of the statement against the roster's history, in years.
	Strength float64
}

// Leavers is the stated share of staff leaving a year, with its weight in years.
type Leavers struct {
	PerYear  float64 // separations per head and year, 0 to 5; 0 = not stated, unless Nobody
	Nobody   bool    // a stated 0: hardly anybody is expected to leave
	Strength float64 // person-years the statement is worth
}

// Role is a kind of job; its kit is what each holder of it is issued.
type Role struct {
	Code string
	Name string
	Kit  []KitLine
}

// KitLine is one garment of a kit.
type KitLine struct {
	Garment string
	Colour  string
	Each    int
	// First is the number of them that a starter is given on the first day; the
	// rest follows RestAfterWeeks weeks later. 0 = all at once.
	First          int
	RestAfterWeeks int
	// WearsAWeek counts wears of all pieces of the garment together.
	WearsAWeek  float64
	Decorations []Decoration
	// From and Until are the first and the last day on which the line is part of
	// the kit; no date = always has been, and until further notice.
	From, Until Date
	// InsteadOf is the line that this one takes the place of on From, and Change how.
	// The kit may list that line still, with other terms; else it had the same.
	InsteadOf Former
	Change    Change
	// CutOf is the line that this one is another cut of, of another size family: it is
	// for those of the role who have a size in that family, and the other for the rest.
	CutOf Former
	// Months are those in which the line is worn; none named = all the year.
	Months Months
}

// Former names a line of a kit by garment and colour; the zero value is none.
type Former struct {
	Garment string
	Colour  string
}

// Change says how one line of a kit takes the place of another.
type Change string

const (
	// AsWorn lets pieces of the former line count as the new one's until they end;
	// what is ordered is the new. What lies on the shelf of the former stays there.
	AsWorn Change = ""
	// OnTheDay hands the new pieces to everybody on one day, and takes the former back.
	OnTheDay Change = "on-the-day"
	// RunOut is AsWorn where finished pieces and blanks of the former that lie on the
	// shelf, or are on their way, go out first.
	RunOut Change = "run-out"
)

// Decoration is an artwork at a place of a garment.
type Decoration struct {
	Artwork string
	Place   string
}

// Price is the client's price of one decorated piece; Size empty = all sizes.
type Price struct {
	Garment string
	Size    string
	Price   Money
	// From is the first day of orders at this price; no date = always has been.
	From Date
}

// Role returns the role with that code.
func (c *Client) Role(code string) (*Role, bool) {
	return find(c.Roles, func(r *Role) bool { return r.Code == code })
}

// PriceOf returns what the client pays for a piece that is ordered on a day: the
// price of that size if stated, else the garment's, each the newest that has begun.
func (c *Client) PriceOf(garment, size string, on Date) (Money, bool) {
	for _, of := range []string{size, ""} {
		var found *Price
		for i := range c.Prices {
			p := &c.Prices[i]
			if p.Garment == garment && p.Size == of && p.From <= on && (found == nil || p.From >= found.From) {
				found = p
			}
		}
		if found != nil {
			return found.Price, true
		}
	}
	return 0, false
}

// NewPrices returns the prices that begin after one day, up to and including another, in the
// order of their days.
func (c *Client) NewPrices(after, until Date) (out []Price) {
	for _, p := range c.Prices {
		if p.From > after && p.From <= until {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b Price) int { return cmp.Compare(a.From, b.From) })
	return out
}
