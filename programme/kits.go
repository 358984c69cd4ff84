package programme

import "slices"

// Line returns what the kit says of a garment and colour.
func (r *Role) Line(garment, colour string) (*KitLine, bool) {
	return find(r.Kit, func(l *KitLine) bool { return l.Garment == garment && l.Colour == colour })
}

// KitLines returns the lines of all kits that have the garment, in any colour.
func (c *Client) KitLines(garment string) []*KitLine {
	var out []*KitLine
	for i := range c.Roles {
		for j := range c.Roles[i].Kit {
			if l := &c.Roles[i].Kit[j]; l.Garment == garment {
				out = append(out, l)
			}
		}
	}
	return out
}

// Decorations returns what a piece carries for the holder of a role: what the
// role's kit has on it or, for a piece whose holder's role is not known or does
// not have it, what the first role that has it has. Sure is false in that
// second case where roles decorate it differently.
func (c *Client) Decorations(role string, k SKU) (list []Decoration, sure bool) {
	if r, ok := c.Role(role); ok {
		if l, ok := r.Line(k.Garment, k.Colour); ok {
			return l.Decorations, true
		}
	}
	found, sure := false, true
	for i := range c.Roles {
		l, ok := c.Roles[i].Line(k.Garment, k.Colour)
		switch {
		case !ok:
		case !found:
			list, found = l.Decorations, true
		case !slices.Equal(list, l.Decorations):
			sure = false
		}
	}
	return list, sure
}
