package message

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// peopleInMail is the number of people that a mail lists; the form and the list have all.
const peopleInMail = 12

// personRow is one person and all that they get.
type personRow struct {
	programme.Person
	Name, RoleName string
	Group          string // site and role
	named          []reorder.Named
	printed        map[programme.SKU]string // the name on those pieces that carry one
}

// pieces writes what the person gets: 2 × Crew tee, black, M. What for does not matter here.
func (p *personRow) pieces(t notation) string { return strings.Join(p.onTag(t), "; ") }

// what writes a garment, colour and size, with the name that the piece carries.
func (p *personRow) what(t notation, k programme.SKU) string {
	if name := p.printed[k]; name != "" {
		return fmt.Sprintf("%s, “%s”", t.what(k), clean.Short(name))
	}
	return t.what(k)
}

// onTag returns a line for each garment, colour and size, equal pieces together.
func (p *personRow) onTag(t notation) []string {
	n := map[programme.SKU]int{}
	var order []programme.SKU
	for i := range p.named {
		k := p.named[i].SKU
		if n[k] == 0 {
			order = append(order, k)
		}
		n[k] += p.named[i].Pieces
	}
	out := make([]string, len(order))
	for i, k := range order {
		out[i] = fmt.Sprintf("%d × %s", n[k], p.what(t, k))
	}
	return out
}

func (p *personRow) count() int {
	n := 0
	for i := range p.named {
		n += p.named[i].Pieces
	}
	return n
}

// noName is what pieces that nobody is named for are called wherever somebody reads of them.
const noName = "starters and spares"

// distribution lists who gets which pieces, and what is left for the pool.
type distribution struct {
	people   []personRow
	pool     []tally
	starters int
	spare    int
}

// distribute gives the pieces of the order to people; what is not named is the
// pool, so that both together are always the order.
func (r *Reorder) distribute(t notation) (distribution, error) {
	p := r.Proposal
	left := map[programme.SKU]int{}
	for i := range p.Lines {
		left[p.Lines[i].SKU] += p.Lines[i].Order
	}
	at := map[string]int{}
	var d distribution
	for _, n := range p.Named {
		left[n.SKU] -= n.Pieces
		if left[n.SKU] < 0 {
			return distribution{}, fmt.Errorf("more pieces of %s are named than ordered", n.SKU)
		}
		i, ok := at[n.StaffID]
		if !ok {
			i = len(d.people)
			at[n.StaffID] = i
			d.people = append(d.people, r.row(n.StaffID))
		}
		d.people[i].named = append(d.people[i].named, n)
		if name := r.printed(n.StaffID, n.SKU); name != "" {
			d.people[i].printed[n.SKU] = name
		}
	}
	for i := range d.people {
		slices.SortStableFunc(d.people[i].named, func(a, b reorder.Named) int { return t.compare(a.SKU, b.SKU) })
	}
	slices.SortStableFunc(d.people, byGroupAndSurname)
	d.pool, d.starters, d.spare = r.poolOf(t, left)
	return d, nil
}

// row begins the row of a person.
func (r *Reorder) row(staff string) personRow {
	p := findPerson(r.People, staff)
	role := clean.Short(r.Client.RoleName(p.Role))
	group := strings.TrimPrefix(strings.TrimSuffix(clean.Short(p.Site)+", "+role, ", "), ", ")
	return personRow{Person: p, Name: personName(r.People, staff), RoleName: role, Group: group,
		printed: map[programme.SKU]string{}}
}

// printed returns the name that a person's piece of the order carries; empty = none.
func (r *Reorder) printed(staff string, k programme.SKU) string {
	on, _ := r.Client.DecorationsOf(r.Shop, r.Proposal.Wearer(r.People, staff), k)
	for _, d := range on {
		if _, name, ok := r.Shop.NameOn(d.Artwork); ok {
			return name
		}
	}
	return ""
}

// byGroupAndSurname sorts people as they are found: by site and role, then by
// surname; those whose name is not kept come last.
func byGroupAndSurname(a, b personRow) int {
	return cmp.Or(
		strings.Compare(a.Site, b.Site), strings.Compare(a.Role, b.Role),
		-cmp.Compare(min(len(a.Person.Name), 1), min(len(b.Person.Name), 1)),
		strings.Compare(surname(a.Person.Name), surname(b.Person.Name)),
		strings.Compare(strings.ToLower(a.Person.Name), strings.ToLower(b.Person.Name)),
		strings.Compare(a.StaffID, b.StaffID),
	)
}

// surname returns the last word of a name, or what stands before a comma.
func surname(name string) string {
	if before, _, ok := strings.Cut(name, ","); ok {
		return strings.ToLower(before)
	}
	name, _, _ = strings.Cut(name, "(") // another spelling in brackets
	words := strings.Fields(name)
	if len(words) == 0 {
		return ""
	}
	return strings.ToLower(words[len(words)-1])
}

func findPerson(people []programme.Person, staff string) programme.Person {
	if p, ok := programme.Roster(people).Find(staff); ok {
		return *p
	}
	return programme.Person{StaffID: staff}
}

// personName returns what to call somebody: the name, with the staff number where
// two have the same name, or the number alone where no name is kept.
func personName(people []programme.Person, staff string) string {
	p := findPerson(people, staff)
	if p.Name == "" {
		return "staff no. " + clean.Short(staff)
	}
	same := 0
	for i := range people {
		if people[i].Name == p.Name {
			same++
		}
	}
	if same > 1 {
		return clean.Short(p.Name) + " (" + clean.Short(staff) + ")"
	}
	return clean.Short(p.Name)
}

// poolOf returns what nobody is named for, split into new starters and spares.
func (r *Reorder) poolOf(t notation, left map[programme.SKU]int) (pool []tally, starters, spare int) {
	meant := map[programme.SKU]int{}
	for _, p := range r.Proposal.Pool {
		meant[p.SKU] += p.ForStarters
	}
	for k, n := range left {
		if n == 0 {
			continue
		}
		pool = append(pool, tally{k, n})
		starters += min(n, meant[k])
		spare += n - min(n, meant[k])
	}
	slices.SortFunc(pool, func(a, b tally) int { return t.compare(a.SKU, b.SKU) })
	return pool, starters, spare
}

// forWhom lists the first people, by site and role, and counts the others; then
// whom the order cannot serve, since their size is not known.
func (o *offer) forWhom(p *page.Page) {
	people := o.firmPeople()
	questions := o.questions()
	if len(people) == 0 && len(questions) == 0 {
		return
	}
	p.Heading(2, "For whom")
	table := page.Table{Columns: page.Columns("", "")}
	for i := range people[:min(len(people), peopleInMail)] {
		x := &people[i]
		if i == 0 || x.Site != people[i-1].Site || x.Role != people[i-1].Role {
			table.Group(page.Quiet(x.Group))
		}
		table.Row(x.Name, x.pieces(o.t))
	}
	p.Add(table)
	if more := len(people) - peopleInMail; more > 0 {
		words := fmt.Sprintf("And %d more; the form and the list name everybody", more)
		if all := len(o.d.people); all > len(people) {
			words += fmt.Sprintf(", %d people with those whose old pieces may last", all)
		}
		p.Aside("%s.", words)
	}
	if len(questions) > 0 {
		p.Heading(3, "Please tell us")
		p.List(questions[:min(len(questions), peopleInMail)])
		if more := len(questions) - peopleInMail; more > 0 {
			p.Aside("And %d more; the form lists them.", more)
		}
	}
}

// firmPeople returns the rows of people whose pieces probably would not last, without the others.
func (o *offer) firmPeople() []personRow {
	var out []personRow
	for _, row := range o.d.people {
		row.named = slices.DeleteFunc(slices.Clone(row.named), lasting)
		if len(row.named) > 0 {
			out = append(out, row)
		}
	}
	return out
}

// cutWords names the cuts between which somebody has to choose: Tunic or Ladies' tunic.
func (o *offer) cutWords(c programme.Cuts) string {
	var names []string
	for _, lines := range c {
		names = append(names, o.t.garment(lines.Newest().Garment))
	}
	return strings.Join(names, " or ")
}

// questions asks for sizes that are not known, or in which a garment is not made, and
// for names that cannot be printed.
func (o *offer) questions() []string {
	var out []string
	last := ""
	for _, x := range o.Client.Unprintable(o.Shop, o.People, o.Proposal.AsOf) {
		if x.Person.StaffID == last { // one question a person
			continue
		}
		last = x.Person.StaffID
		out = append(out, fmt.Sprintf("%s: which name goes on %s? We cannot print one: %v.",
			personName(o.People, x.Person.StaffID), o.t.garment(x.Garment), x.Why))
	}
	for i := range o.People {
		x := &o.People[i]
		role, ok := o.Client.Role(x.Role)
		if !ok || !x.ActiveOn(o.Proposal.AsOf) {
			continue
		}
		asked := map[string]bool{}
		for _, k := range role.For(o.Shop, x).Kit {
			g, ok := o.Shop.Garment(k.Garment)
			if !ok || g.SizeFamily == "one" || len(g.Sizes) < 2 || asked[g.SizeFamily] {
				continue
			}
			size := x.Sizes[g.SizeFamily]
			if _, made := g.Size(size); made {
				continue
			}
			asked[g.SizeFamily] = true
			what := fmt.Sprintf("which size in %s? We know none.", o.t.garment(k.Garment))
			if c, ok := role.In(k.Garment, k.Colour); ok && size == "" && len(c) > 1 {
				what = fmt.Sprintf("which size, and in %s? We know none.", o.cutWords(c))
			}
			if size != "" {
				what = fmt.Sprintf("size %s is on the list, but %s is not made in it. Which fits?", clean.Short(size),
					o.t.garment(k.Garment))
			}
			out = append(out, personName(o.People, x.StaffID)+": "+what)
		}
	}
	return out
}
