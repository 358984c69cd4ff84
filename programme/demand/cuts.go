package demand

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// outfits are the roles as people wear them: where something of a kit comes in several cuts,
// one role for each set of cuts that is worn, or may be. So starters come in the cuts, and
// in each in the sizes, that the people of the role wear.
type outfits struct {
	shop  *programme.Shop
	roles []programme.Role // with codes of their own behind those of the programme
	// places holds the lines of each, by its code.
	places map[string][]place
	// of is the code in the programme, by the code here; cuts what comes in several, by the
	// role's code in the programme.
	of   map[string]string
	cuts map[string][]programme.Cuts
}

func outfitsOf(shop *programme.Shop, client *programme.Client, staff []programme.Person) *outfits {
	k := &outfits{shop: shop, places: map[string][]place{}, of: map[string]string{},
		cuts: map[string][]programme.Cuts{}}
	for i := range client.Roles {
		r := &client.Roles[i]
		cuts := r.Cuts()
		k.add(r, r.Code, cuts, &programme.Person{})
		if !r.HasCuts() {
			continue
		}
		k.cuts[r.Code] = cuts
		for _, l := range r.Kit { // who may come, though nobody wears it yet
			if g, ok := shop.Garment(l.Garment); ok && l.CutOf != (programme.Former{}) {
				k.addFor(r, cuts, &programme.Person{Role: r.Code, Sizes: map[string]string{g.SizeFamily: g.SizeFamily}})
			}
		}
		for j := range staff {
			if staff[j].Role == r.Code {
				k.addFor(r, cuts, &staff[j])
			}
		}
	}
	return k
}

func (k *outfits) addFor(r *programme.Role, cuts []programme.Cuts, p *programme.Person) {
	if code := k.role(p); k.of[code] == "" {
		k.add(r, code, cuts, p)
	}
}

func (k *outfits) add(r *programme.Role, code string, cuts []programme.Cuts, p *programme.Person) {
	out := *r
	out.Code = code
	k.roles = append(k.roles, out)
	k.of[code] = r.Code
	for _, c := range cuts {
		worn := c.Worn(k.shop, p)
		k.places[code] = append(k.places[code], place{lines: c[worn], others: slices.Concat(c[:worn], c[worn+1:])})
	}
}

// role returns the code of the role of which somebody wears the kit.
func (k *outfits) role(p *programme.Person) string {
	cuts := k.cuts[p.Role]
	if cuts == nil {
		return p.Role
	}
	var worn strings.Builder
	own := false
	for _, c := range cuts {
		w := c.Worn(k.shop, p)
		own = own || w > 0
		fmt.Fprintf(&worn, "/%d", w)
	}
	if !own {
		return p.Role
	}
	return p.Role + worn.String()
}

// told reports whether it is known which cuts somebody wears.
func (k *outfits) told(p *programme.Person) bool {
	return !slices.ContainsFunc(k.cuts[p.Role], func(c programme.Cuts) bool { return !c.Told(k.shop, p) })
}
