package message

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// notation writes dates, money and names as one shop's people read them.
type notation struct {
	shop *programme.Shop
	// client says what is a cut of what, where one is known.
	client *programme.Client
	// near leaves the year out of days that are close to it; no date keeps it.
	near programme.Date
}

// day writes a date with its weekday: Thu 5 Mar 2026, or Thu 5 Mar where the
// year is plain.
func (t notation) day(d programme.Date) string {
	if d.IsZero() {
		return "no date"
	}
	weekday := d.Weekday().String()[:3] + " "
	if far := d.Sub(t.near); !t.near.IsZero() && far > -120 && far < 240 {
		switch t.shop.DateStyle {
		case programme.DayFirst:
			return weekday + d.Time().Format("2 Jan")
		case programme.MonthFirst:
			return weekday + d.Time().Format("Jan 2")
		case programme.ISODate:
		}
	}
	return weekday + t.shop.DateStyle.Date(d)
}

func (t notation) date(d programme.Date) string { return t.shop.DateStyle.Date(d) }

func (t notation) money(m programme.Money) string { return m.In(t.shop.Currency) }

// about writes an amount that is only expected.
func (t notation) about(m programme.Money) string { return m.About(t.shop.Currency) }

// garment returns the name of a garment, or its code when the shop file has no such garment.
func (t notation) garment(code string) string {
	return clean.Short(t.shop.GarmentName(code))
}

// what names a garment in colour and size: Crew tee, black, M.
func (t notation) what(k programme.SKU) string {
	parts := []string{t.garment(k.Garment)}
	if k.Colour != "" {
		parts = append(parts, clean.Short(k.Colour))
	}
	if !t.oneSize(k) {
		parts = append(parts, clean.Short(k.Size))
	}
	return strings.Join(parts, ", ")
}

func (t notation) oneSize(k programme.SKU) bool {
	g, ok := t.shop.Garment(k.Garment)
	return k.Size == "" || ok && (g.SizeFamily == "one" || len(g.Sizes) == 1)
}

func (t notation) supplier(code string) string {
	return clean.Short(t.shop.SupplierName(code))
}

// clientName returns what people call the client.
func clientName(c *programme.Client) string {
	return clean.Short(cmp.Or(c.Name, c.Code))
}

// nameAndAddress writes a contact as people do: Tom Lark, tom@example.com.
func nameAndAddress(c programme.Contact) string {
	return strings.TrimPrefix(clean.Short(c.Name)+", "+clean.Line(c.Email), ", ")
}

// oneDecimal writes an expected number of pieces: 25.1, and 25 for 25.0.
func oneDecimal(x float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", x), ".0") }

// ofHundred writes a share as pieces of a hundred. It never rounds up to 100.
func ofHundred(x float64) string {
	n := int(x*100 + 0.5)
	if n == 100 && x < 1 {
		return "more than 99 of 100"
	}
	return strconv.Itoa(n) + " of 100"
}

// sentence joins parts with commas and a last "and"; parts that have commas
// themselves, with semicolons.
func sentence(parts []string) string {
	if len(parts) < 2 {
		return strings.Join(parts, "")
	}
	between := ", "
	for _, p := range parts[:len(parts)-1] {
		if strings.Contains(p, ",") {
			between = "; "
		}
	}
	return strings.Join(parts[:len(parts)-1], between) + " and " + parts[len(parts)-1]
}

// reason says why a person gets a piece. What is likelier to last than
// not is not said to be going.
// What is exchanged is not said to be missing.
func (t notation) reason(people []programme.Person, n *reorder.Named) string {
	if lasting(*n) {
		return "old one may last"
	}
	return cmp.Or(t.exchanged(people, n).Word(), n.Why.Word())
}

// exchanged reports whether a piece is owed since the person changed size, or cut.
func (t notation) exchanged(people []programme.Person, n *reorder.Named) programme.Exchange {
	p := findPerson(people, n.StaffID)
	if n.Why != programme.CauseOwed || len(p.Outgrown) == 0 {
		return programme.NoExchange
	}
	if t.client != nil {
		if role, ok := t.client.Role(p.Role); ok {
			return role.Exchanges(t.shop, &p, n.SKU)
		}
	}
	if g, ok := t.shop.Garment(n.Garment); ok && len(p.Outgrown[g.SizeFamily]) > 0 {
		return programme.NewSize
	}
	return programme.NoExchange
}

// percent writes a rate: 8.25 %, and 20 % for 20.00.
func percent(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) + "%" }

// protectiveWords names a class of protective clothing.
func protectiveWords(p programme.Protective) string {
	switch p {
	case programme.HighVisibility:
		return "high-visibility clothing"
	case programme.FlameResistant:
		return "flame-resistant clothing"
	case programme.OtherPPE:
		return "protective clothing"
	case programme.NotProtective:
	}
	return "clothing"
}
