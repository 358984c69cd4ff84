package main

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// sheetsJSON is the JSON shape of 'sheet' and 'sheet pack',
// format 1. Lengths are numbers of Unit ("in" or "mm"; "" = the unit of the
// list of rectangles), x from the left edge, y from the top or leading edge.
type sheetsJSON struct {
	Format int         `json:"format"`
	Unit   string      `json:"unit"`
	Sheets []sheetJSON `json:"sheets"`
	// UsedLength adds up the lengths of all sheets or pieces of roll, times copies.
	UsedLength float64        `json:"used_length"`
	Fill       float64        `json:"fill"`
	Cost       costJSON       `json:"cost"`
	Over       map[string]int `json:"over"`
	// What follows is given by 'sheet' only.
	Lines  []sheet.Line  `json:"lines,omitempty"`
	Picks  []sheet.Pick  `json:"picks,omitempty"`
	Shares []sheet.Share `json:"shares,omitempty"`
	Why    []string      `json:"why,omitempty"`
	// Room lists what else fits at no cost, on the sheets (taken) or offered.
	Room []sheet.Room `json:"room,omitempty"`
}

type sheetJSON struct {
	Name   string  `json:"name"`
	Kind   string  `json:"kind,omitempty"`
	Copies int     `json:"copies"`
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
	Fill   float64 `json:"fill"`
	// Proven says that no way to print what is on the sheets of this kind costs less;
	// from 'sheet pack', that no packing is shorter or takes fewer sheets.
	Proven bool       `json:"proven"`
	Items  []itemJSON `json:"items"`
}

type itemJSON struct {
	Label  string  `json:"label"`
	Client string  `json:"client,omitempty"`
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	W      float64 `json:"w"`
	H      float64 `json:"h"`
	Turned bool    `json:"turned"`
}

type costJSON struct {
	SetUp programme.Money `json:"set_up"`
	Print programme.Money `json:"print"`
	TopUp programme.Money `json:"top_up"`
	Total programme.Money `json:"total"`
}

// planJSON turns a plan into what other programs read, in the shop's unit.
func planJSON(shop *programme.Shop, plan *sheet.Plan) sheetsJSON {
	size := shop.Units.One()
	in := func(l programme.Length) float64 { return neat(float64(l) / float64(size)) }
	out := sheetsJSON{
		Format: 1, Unit: shop.Units.Suffix(), Sheets: []sheetJSON{}, Over: map[string]int{},
		Cost:  costJSON{plan.Cost.SetUp, plan.Cost.Print, plan.Cost.TopUp, plan.Cost.Total()},
		Lines: plan.Lines, Picks: plan.Picks, Shares: plan.Shares,
	}
	var images, whole float64
	for i := range plan.Orders {
		o := &plan.Orders[i]
		out.Why, out.Room = append(out.Why, o.Why...), append(out.Room, o.Room...)
		for j := range o.Layouts {
			l := &o.Layouts[j]
			s := sheetJSON{Name: l.Name, Kind: o.Kind, Copies: l.Copies, Width: in(l.Width), Height: in(l.Height),
				Fill: l.Fill, Proven: o.Proven}
			for _, it := range l.Items {
				s.Items = append(s.Items, itemJSON{it.Artwork, it.Client, in(it.X), in(it.Y), in(it.W),
					in(it.H), it.Turned})
			}
			out.Sheets = append(out.Sheets, s)
			out.UsedLength = neat(out.UsedLength + s.Height*float64(s.Copies))
			images += l.Fill * s.Width * s.Height * float64(l.Copies)
			whole += s.Width * s.Height * float64(l.Copies)
		}
	}
	if whole > 0 {
		out.Fill = images / whole
	}
	for i := range plan.Lines {
		out.Over[plan.Lines[i].Artwork] = plan.Lines[i].Over()
	}
	return out
}

// neat rounds to the seventh place, which is below a micrometre.
func neat(v float64) float64 { return math.Round(v*1e7) / 1e7 }
