package programme

import (
	"cmp"
	"strconv"
	"strings"
)

// NumberOf writes a number with its noun: 1 piece, 2 pieces, 3 entries, 4 people.
func NumberOf(n int, noun string) string {
	if n != 1 {
		noun = plural(noun)
	}
	return strconv.Itoa(n) + " " + noun
}

// Listing writes what words says of each entry, with commas between.
func Listing[E any](list []E, words func(E) string) string {
	parts := make([]string, len(list))
	for i, x := range list {
		parts[i] = words(x)
	}
	return strings.Join(parts, ", ")
}

// Numbers writes numbers with commas between: 12, 13.
func Numbers(list []int64) string {
	return Listing(list, func(n int64) string { return strconv.FormatInt(n, 10) })
}

// YesNo writes a yes or no.
func YesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

func plural(noun string) string {
	stem, y := strings.CutSuffix(noun, "y")
	switch {
	case noun == "person":
		return "people"
	case y && !strings.HasSuffix(stem, "a"): // but days
		return stem + "ies"
	case strings.HasSuffix(noun, "sh"):
		return noun + "es"
	}
	return noun + "s"
}

// GarmentName returns what people call a garment: its code where the shop has no name for it.
func (s *Shop) GarmentName(code string) string {
	if g, ok := s.Garment(code); ok {
		return cmp.Or(g.Name, code)
	}
	return code
}

// SupplierName returns what people call a supplier: its code where the shop has no name for it.
func (s *Shop) SupplierName(code string) string {
	if x, ok := s.Supplier(code); ok {
		return cmp.Or(x.Name, code)
	}
	return code
}

// KindName returns what people call a transfer kind: its code where the shop has no name for it.
func (s *Shop) KindName(code string) string {
	if k, ok := s.Kind(code); ok {
		return cmp.Or(k.Name, code)
	}
	return code
}

// RoleName returns what people call a role: its code where the programme has no name for it.
func (c *Client) RoleName(code string) string {
	if r, ok := c.Role(code); ok {
		return cmp.Or(r.Name, code)
	}
	return code
}
