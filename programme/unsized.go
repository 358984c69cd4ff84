package programme

import (
	"fmt"
	"slices"
	"strings"
)

// Unsized returns the size families of a person's kit in which no size of theirs is known, one by
// one; the families of what comes in several cuts stand together while no cut is known.
func (c *Client) Unsized(shop *Shop, p *Person) (out [][]string) {
	role, ok := c.Role(p.Role)
	if !ok {
		return nil
	}
	for _, cuts := range role.Cuts() {
		if !cuts.Told(shop, p) {
			out = append(out, cuts.Families(shop))
			continue
		}
		for _, l := range cuts[cuts.Worn(shop, p)] {
			g, ok := shop.Garment(l.Garment)
			if ok && g.SizeFamily != "" && g.SizeFamily != "one" && p.Sizes[g.SizeFamily] == "" {
				out = append(out, []string{g.SizeFamily})
			}
		}
	}
	slices.SortFunc(out, slices.Compare)
	return slices.CompactFunc(out, slices.Equal)
}

// NoSizes is somebody for whom part of the kit cannot be ordered until a size is known.
type NoSizes struct {
	Person   *Person
	Families [][]string // as Client.Unsized returns them, at least one
}

// Words reads: 105 Ana Brill (bottom, top or ladies-top).
func (n NoSizes) Words() string {
	return fmt.Sprintf("%s (%s)", strings.TrimSpace(n.Person.StaffID+" "+n.Person.Name),
		Listing(n.Families, func(of []string) string { return strings.Join(of, " or ") }))
}

// WithoutSizes returns those of the people who are there on a day, or come later, of whose kit a size
// is not known, in the order in which they stand.
func (c *Client) WithoutSizes(shop *Shop, people []Person, on Date) (out []NoSizes) {
	for i := range people {
		p := &people[i]
		if !p.End.IsZero() && p.End < on {
			continue
		}
		if families := c.Unsized(shop, p); len(families) > 0 {
			out = append(out, NoSizes{p, families})
		}
	}
	return out
}

// namedUnsized is the number of people whom UnsizedWords names.
const namedUnsized = 10

// UnsizedWords says of whom a size is not known and what to do, or "" where all are known.
func (c *Client) UnsizedWords(list []NoSizes) string {
	if len(list) == 0 {
		return ""
	}
	names := Listing(list[:min(len(list), namedUnsized)], NoSizes.Words)
	if more := len(list) - namedUnsized; more > 0 {
		names += fmt.Sprintf(" and %d more", more)
	}
	first := list[0]
	return fmt.Sprintf("no size is known of %s, and nothing that needs one can be ordered for them: %s; ask before the next order, and enter it with 'kitmuster change %s %s --size %s=SIZE', or take the list again with sizes in it",
		NumberOf(len(list), "person"), names, c.Code, first.Person.StaffID, first.Families[0][0])
}
