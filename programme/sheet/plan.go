package sheet

import (
	"iter"

	"github.com/kitmuster/kitmuster/programme"
)

// Plan lists what to take from the shelf and what to have printed.
type Plan struct {
	// Orders has one entry for each transfer kind that must be printed, in the
	// order of the shop file.
	Orders []Order `json:"orders"`
	// Lines says for every needed artwork how its number came about, by client
	// and artwork code.
	Lines []Line `json:"lines"`
	// Picks lists what to take from the shelf, oldest first.
	Picks []Pick `json:"picks,omitempty"`
	// Shares splits Cost between the clients; the shares add up to it exactly.
	Shares []Share `json:"shares"`
	Cost   Cost    `json:"cost"`
}

// Order is the order to one printer for one transfer kind.
type Order struct {
	Kind    string              `json:"kind"`
	Process programme.Process   `json:"process"`
	Printer string              `json:"printer,omitempty"`
	Sheet   programme.SheetSize `json:"sheet"`
	Cut     programme.CutStyle  `json:"cut"`
	Gutter  programme.Length    `json:"gutter"`
	Margin  programme.Length    `json:"margin"`
	Layouts []Layout            `json:"layouts"`
	Cost    Cost                `json:"cost"`
	Shares  []Share             `json:"shares"`
	// Length is the length of roll used by all layouts together; 0 for fixed sheets.
	Length programme.Length `json:"length,omitempty"`
	// Used is the length that images take up; Length is what is paid for.
	Used programme.Length `json:"used,omitempty"`
	// Fill is the share of the sheet area covered by images, 0 to 1.
	Fill float64 `json:"fill"`
	// Room lists what else would be printed at no cost.
	Room []Room `json:"room,omitempty"`
	// Proven says that no way to print it costs less.
	Proven bool `json:"proven,omitempty"`
	// Why gives the reasons for this order in plain sentences.
	Why []string `json:"why,omitempty"`
	// asUsed is the cost of the length in use, where a longer one costs less.
	asUsed programme.Money
}

// State is the state of an order of sheets.
type State string

// States of an order of sheets.
const (
	Planned  State = "planned"
	Ordered  State = "ordered"
	Received State = "received"
	Dropped  State = "dropped" // serves no proposal any more
)

// Part is the part of a plan that is of one transfer kind.
type Part struct {
	Order Order  `json:"order"`
	Lines []Line `json:"lines"`
	// For splits what is printed of each line between jobs, by numbers that whoever
	// planned gives them; empty = by client alone.
	For []For `json:"for,omitempty"`
}

// For is transfers of one artwork that are printed for one job.
type For struct {
	Number  int64  `json:"number"`
	Artwork string `json:"artwork"`
	Pieces  int    `json:"pieces"`
}

// Part returns the order of a transfer kind with its lines.
func (p *Plan) Part(o *Order) Part {
	part := Part{Order: *o}
	for _, l := range p.Lines {
		if l.Kind == o.Kind {
			part.Lines = append(part.Lines, l)
		}
	}
	return part
}

// Sheets returns the number of printed copies of all layouts.
func (o *Order) Sheets() int {
	n := 0
	for i := range o.Layouts {
		n += o.Layouts[i].Copies
	}
	return n
}

// Layout is one arrangement of transfers, printed Copies times. A roll is one
// layout for each piece of roll.
type Layout struct {
	// Name is A, B, ... within the order.
	Name   string           `json:"name"`
	Copies int              `json:"copies"`
	Width  programme.Length `json:"width"`
	// Height of the sheet, or the length of this piece of roll.
	Height programme.Length `json:"height"`
	Items  []Item           `json:"items"`
	// Inks is the number of ink colours set up for it; 0 for digital kinds.
	Inks int     `json:"inks,omitempty"`
	Fill float64 `json:"fill"`
	// setUp and print are this layout's part of the order's cost.
	setUp, print programme.Money
}

// Item is one image on a layout. X runs from the left edge of the sheet and Y
// from its top (for a roll: leading) edge to the image's nearest corner; W and
// H are as it lies, after a quarter turn when Turned.
type Item struct {
	Artwork string           `json:"artwork"`
	Client  string           `json:"client"`
	X       programme.Length `json:"x"`
	Y       programme.Length `json:"y"`
	W       programme.Length `json:"w"`
	H       programme.Length `json:"h"`
	Turned  bool             `json:"turned,omitempty"`
	// Spare lies on room that is paid anyway: it has no part in the cost.
	Spare bool `json:"spare,omitempty"`
}

// Line is one artwork's way from pieces to press to transfers printed.
type Line struct {
	Artwork string `json:"artwork"`
	Client  string `json:"client"`
	Kind    string `json:"kind"`
	// Asked is good transfers wanted; Spoilage the allowance on top.
	Asked    int `json:"asked"`
	Spoilage int `json:"spoilage"`
	// FromShelf is taken from stock, Expired is on the shelf but past its life.
	FromShelf int `json:"from_shelf"`
	Expired   int `json:"expired,omitempty"`
	// Former is on the shelf but of a version that is printed no more.
	Former int `json:"former,omitempty"`
	// Print is Asked + Spoilage - FromShelf; Printed is what the sheets carry.
	Print   int `json:"print"`
	Printed int `json:"printed"`
}

// Over returns how many transfers are left for the shelf if spoilage is as allowed for.
func (l *Line) Over() int { return l.Printed - l.Print }

// Pick is a batch of transfers to take from the shelf.
type Pick struct {
	Artwork string         `json:"artwork"`
	Made    programme.Date `json:"made"`
	Pieces  int            `json:"pieces"`
	// Expected is the day the batch arrives; no date when it is on the shelf.
	Expected programme.Date `json:"expected"`
}

// Cost is the cost of printing.
type Cost struct {
	SetUp programme.Money `json:"set_up"`
	Print programme.Money `json:"print"`
	// TopUp is the amount that the printer's minimum order adds.
	TopUp programme.Money `json:"top_up"`
	// OverWorth is the later worth of useful overs; it is not taken off Total.
	OverWorth programme.Money `json:"over_worth"`
}

// Total returns what the printer is paid.
func (c Cost) Total() programme.Money { return c.SetUp + c.Print + c.TopUp }

// plus adds two costs.
func (c Cost) plus(d Cost) Cost {
	return Cost{c.SetUp + d.SetUp, c.Print + d.Print, c.TopUp + d.TopUp, c.OverWorth + d.OverWorth}
}

// Share is one client's part of a cost with what it is based on: print and
// top-up go by the area of sheet its images take, set-up of a layout goes by
// area among those on that layout.
type Share struct {
	Client string `json:"client"`
	Cost   Cost   `json:"cost"`
	// Area is the client's part of the image area, 0 to 1.
	Area float64 `json:"area"`
}

// Artworks yields what lies on the layout, in the order of its items, and how often.
func (l *Layout) Artworks() iter.Seq2[string, int] {
	var codes []string
	on := map[string]int{}
	for i := range l.Items {
		code := l.Items[i].Artwork
		if on[code]++; on[code] == 1 {
			codes = append(codes, code)
		}
	}
	return func(yield func(string, int) bool) {
		for _, code := range codes {
			if !yield(code, on[code]) {
				return
			}
		}
	}
}
