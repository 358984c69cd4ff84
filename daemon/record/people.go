package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/roster"
)

// Starter is a person who starts.
type Starter struct {
	Client           string
	StaffID          string // empty makes one up from initials and start
	Name, Role, Site string
	Start            programme.Date
	Sizes            map[string]string // as people write them, by size family
}

// Hire enters a person who starts.
func Hire(ctx context.Context, b *books.Books, s Starter) (Done, error) {
	return enter(ctx, b, s.Client, func(e *entry) error { return e.hire(&s) })
}

func (e *entry) hire(s *Starter) error {
	people, err := e.tx.People(e.code)
	if err != nil {
		return err
	}
	p, err := e.newcomer(people, s)
	if err != nil {
		return err
	}
	e.done.Text = fmt.Sprintf("%s starts as %s on %s", who(&p), p.Role, e.day(p.Start))
	e.about = fmt.Sprintf("%s starts as %s on %s", p.StaffID, p.Role, e.day(p.Start))
	for _, families := range e.client.Unsized(e.books.Shop, &p) {
		e.note("no size of %s is known yet; %s", strings.Join(families, " or "), hint.Text{
			Command: "enter it with 'kitmuster change'", Desk: "choose it on the page of the person"})
	}
	return e.put(nil, &p)
}

// newcomer returns the person that a starter makes, who must not be on the roster yet.
func (e *entry) newcomer(people []programme.Person, s *Starter) (p programme.Person, err error) {
	p = programme.Person{StaffID: s.StaffID, Name: clean.Line(s.Name), Site: clean.Line(s.Site), Start: s.Start}
	if p.Name == "" {
		return p, errors.New("the name is missing")
	}
	if p.Role, err = e.role(s.Role); err != nil {
		return p, err
	}
	if p.Sizes, err = e.sizes(s.Sizes); err != nil {
		return p, err
	}
	maps.DeleteFunc(p.Sizes, func(_, size string) bool { return size == programme.NoSize })
	p.StaffID = cmp.Or(s.StaffID, roster.NumberFor(&p))
	for i := range people {
		k := &people[i]
		if s.StaffID == "" && match.Plain(k.Name) == match.Plain(p.Name) {
			number := hint.Text{Command: "give a staff number with --number", Desk: "write a staff number too"}
			if !k.End.IsZero() && k.End < p.Start {
				return p, fmt.Errorf("%s (%s) was here until %s; who comes back is entered anew, like another person of that name: %w",
					k.Name, k.StaffID, e.day(k.End), number)
			}
			return p, fmt.Errorf("there is a %s already (%s, since %s); if this is another person, %w",
				k.Name, k.StaffID, e.day(k.Start), number)
		}
		if k.StaffID == p.StaffID {
			return p, fmt.Errorf("the number %s is that of %s already; %w", p.StaffID, who(k),
				hint.Text{Command: "give another with --number", Desk: "write another"})
		}
	}
	return p, nil
}

func (e *entry) role(word string) (string, error) {
	roles := match.ChoicesOf(e.client.Roles, func(x *programme.Role) (string, string) { return x.Code, x.Name })
	code, ok := roles.Find(word)
	if word == "" && len(e.client.Roles) == 1 {
		return e.client.Roles[0].Code, nil
	}
	if !ok && word == "" {
		return "", errors.New(roles.Want("role", ""))
	}
	if !ok {
		return "", fmt.Errorf("read %q, %s", word, roles.Want("role in the programme", word))
	}
	return code, nil
}

func (e *entry) sizes(written map[string]string) (map[string]string, error) {
	charts := handover.Charts(e.books.Shop)
	sizes := map[string]string{}
	for _, family := range slices.Sorted(maps.Keys(written)) {
		chart := charts[family]
		if chart == nil {
			return nil, fmt.Errorf("read %q, but the kinds of sizes are %s", family,
				strings.Join(slices.Sorted(maps.Keys(charts)), ", "))
		}
		if written[family] == programme.NoSize || written[family] == "-" {
			sizes[family] = programme.NoSize
			continue
		}
		code, want := chart.Find(written[family])
		if want != "" {
			return nil, fmt.Errorf("read %q for %s, %s", written[family], family, want)
		}
		sizes[family] = code
	}
	return sizes, nil
}

// Alteration holds the changes to a person; empty fields change nothing.
type Alteration struct {
	Client, Person string
	Role, Site     string
	// PrintName is the name on garments; programme.NothingPrinted = none.
	PrintName string
	LastDay   programme.Date
	// Stays takes the last day back.
	Stays bool
	Sizes map[string]string
	// HeldFits says that what the person holds fits, whatever its size; else pieces
	// of a size that they changed from are to be exchanged.
	HeldFits bool
}

// Alter enters what changes about a person: role, site, sizes or the last day.
func Alter(ctx context.Context, b *books.Books, a Alteration) (Done, error) {
	return enter(ctx, b, a.Client, func(e *entry) error { return e.alter(&a) })
}

func (e *entry) alter(a *Alteration) error {
	p, _, err := e.person(a.Person)
	if err != nil {
		return err
	}
	after, said, err := e.altered(p, a)
	if err != nil {
		return err
	}
	if len(said) == 0 {
		return fmt.Errorf("that is how %s is entered already", who(p))
	}
	if err := e.put(p, &after); err != nil {
		return err
	}
	if unworn := e.unworn(&after, a.Sizes); unworn != nil {
		e.note("%s", unworn)
	}
	e.done.Text = who(p) + ": " + strings.Join(said, ", ")
	e.about = p.StaffID + ": " + strings.Join(said, ", ")
	return nil
}

func (e *entry) altered(p *programme.Person, a *Alteration) (after programme.Person, said []string, err error) {
	after = *p
	if a.Role != "" {
		if after.Role, err = e.role(a.Role); err != nil {
			return after, nil, err
		}
	}
	sizes, err := e.sizes(a.Sizes)
	if err != nil {
		return after, nil, err
	}
	for family, size := range sizes {
		after.Resize(family, size, a.HeldFits)
	}
	if !a.HeldFits {
		e.recut(p, &after)
	}
	if site := clean.Line(a.Site); site != "" {
		after.Site = site
	}
	if name := clean.Line(a.PrintName); name != "" {
		after.PrintName = name
	}
	if !a.LastDay.IsZero() {
		if a.LastDay < p.Start {
			return after, nil, fmt.Errorf("%s started on %s, after %s", who(p), e.day(p.Start), e.day(a.LastDay))
		}
		after.End = a.LastDay
	}
	if a.Stays {
		if p.End.IsZero() {
			return after, nil, fmt.Errorf("no last day of %s is entered", who(p))
		}
		after.End = 0
	}
	return after, e.differences(p, &after), nil
}

// recut notes what no longer fits where other sizes mean another cut.
func (e *entry) recut(before, after *programme.Person) {
	if role, ok := e.client.Role(after.Role); ok && role.HasCuts() {
		role.Recut(e.books.Shop, before, after)
	}
}

// unworn tells of a size that was entered of a cut that the person does not wear, since
// they have a size of another: nothing comes of it. It is nil where there is none.
func (e *entry) unworn(p *programme.Person, entered map[string]string) error {
	role, ok := e.client.Role(p.Role)
	if !ok {
		return nil
	}
	for _, c := range role.Cuts() {
		worn, ok := e.books.Shop.Garment(c[c.Worn(e.books.Shop, p)].Newest().Garment)
		if !ok || len(c) == 1 || p.Sizes[worn.SizeFamily] == "" {
			continue
		}
		for _, family := range c.Families(e.books.Shop) {
			if size := entered[family]; family != worn.SizeFamily && size != "" && size != programme.NoSize {
				return fmt.Errorf("%s has size %s %s and so wears %s; for the other cut %w as well", who(p),
					worn.SizeFamily, p.Sizes[worn.SizeFamily], cmp.Or(worn.Name, worn.Code), hint.Text{
						Command: "give '--size " + worn.SizeFamily + "=none'",
						Desk:    "choose none under Size, " + worn.SizeFamily,
					})
			}
		}
	}
	return nil
}

func (e *entry) differences(before, after *programme.Person) (said []string) {
	if before.Role != after.Role {
		said = append(said, fmt.Sprintf("role %s instead of %s", after.Role, before.Role))
	}
	if before.Site != after.Site {
		said = append(said, "site "+after.Site)
	}
	switch {
	case before.PrintName == after.PrintName:
	case after.PrintName == programme.NothingPrinted:
		said = append(said, "no name on garments")
	default:
		said = append(said, "another name on garments") // not which: the log keeps no names
	}
	for _, family := range slices.Sorted(maps.Keys(after.Sizes)) {
		if before.Sizes[family] != after.Sizes[family] {
			said = append(said, fmt.Sprintf("size %s %s", family, after.Sizes[family]))
		}
	}
	for _, family := range slices.Sorted(maps.Keys(before.Sizes)) {
		if after.Sizes[family] == "" {
			said = append(said, fmt.Sprintf("no size %s any more", family))
		}
	}
	if !reflect.DeepEqual(before.Outgrown, after.Outgrown) && maps.Equal(before.Sizes, after.Sizes) {
		said = append(said, "what they hold fits")
	}
	switch {
	case before.End == after.End:
	case after.End.IsZero():
		said = append(said, "stays; the last day, "+e.day(before.End)+", is taken back")
	default:
		said = append(said, "last day "+e.day(after.End))
	}
	return said
}

func nameless(p *programme.Person) *programme.Person {
	q := *p
	q.Name, q.PrintName = "", ""
	return &q
}
