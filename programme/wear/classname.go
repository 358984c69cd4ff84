package wear

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Name returns what the shop's catalogue calls the cloth of a class and its prints.
func (c Class) Name(shop *programme.Shop) string {
	if c.Prints == "" {
		return c.clothName(shop) + ", no print"
	}
	return c.clothName(shop) + ", " + printNames(shop, c.Prints)
}

// BriefName is Name without saying which prints they are.
func (c Class) BriefName(shop *programme.Shop) string {
	if c.Prints == "" {
		return c.clothName(shop)
	}
	return c.clothName(shop) + ", printed"
}

func (c Class) clothName(shop *programme.Shop) string {
	name := c.Cloth
	if f, ok := shop.Baselines.Fabric(c.Cloth); ok {
		name = f.Name
	}
	if g, ok := shop.Garment(c.Cloth); ok {
		name = g.Name
	}
	return name
}

// printNames returns the catalogue's names of the prints of a class, equal ones once with their number.
func printNames(shop *programme.Shop, codes string) string {
	var names []string
	times := map[string]int{}
	for code := range strings.SplitSeq(codes, "+") {
		code, fit := strings.CutSuffix(code, " (industrial)")
		name := code
		if d, ok := shop.Baselines.Decoration(code); ok {
			name = strings.ToLower(d.Name[:1]) + d.Name[1:]
		}
		if fit {
			name += " fit for industrial laundry"
		}
		if times[name]++; times[name] == 1 {
			names = append(names, name)
		}
	}
	for i, n := range names {
		if times[n] > 1 {
			names[i] = fmt.Sprintf("%d times %s", times[n], n)
		}
	}
	return strings.Join(names, " and ")
}
