package main

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
	"github.com/kitmuster/kitmuster/programme/draft"
)

// draftedLine is one garment of a drafted kit, as JSON shows it.
type draftedLine struct {
	Role       string          `json:"role"`
	What       string          `json:"what"`
	Garment    string          `json:"garment"`
	Colour     string          `json:"colour"`
	Each       int             `json:"each"`
	WearsAWeek float64         `json:"wears_a_week"`
	Why        string          `json:"why"`
	Options    []choose.Option `json:"options"`
}

type draftedHead struct {
	Role   string          `json:"role"`
	People int             `json:"people"`
	Outfit programme.Money `json:"first_outfit"`
	AYear  programme.Money `json:"a_year"`
}

type draftDocument struct {
	Format   int           `json:"format"`
	Client   string        `json:"client"`
	Kit      []draftedLine `json:"kit"`
	Heads    []draftedHead `json:"cost_a_head"`
	Printing []string      `json:"printing"`
	Washing  []string      `json:"washing"`
	Cautions []string      `json:"cautions"`
	Missing  []string      `json:"missing"`
}

func draftJSON(d *draft.Draft) draftDocument {
	doc := draftDocument{Format: 1, Client: d.Client.Code, Printing: d.Printing, Washing: d.Washing,
		Cautions: d.Cautions, Missing: d.Missing}
	i := 0
	for _, role := range d.Client.Roles {
		for _, k := range role.Kit {
			p := d.Garments[i]
			doc.Kit = append(doc.Kit, draftedLine{role.Code, p.What, k.Garment, k.Colour, k.Each, k.WearsAWeek,
				p.Why, p.Options})
			i++
		}
	}
	for _, h := range d.Heads {
		doc.Heads = append(doc.Heads, draftedHead(h))
	}
	return doc
}
