package roster

import (
	"fmt"
	"hash/fnv"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Change is one person before and after.
type Change struct {
	Before programme.Person
	After  programme.Person
}

// Diff lists what a list of staff changes. A person whose role and size changed stands in
// both lists; every list is in the order of staff numbers.
type Diff struct {
	Joined []programme.Person
	Left   []Change // a last day became known, or a full list no longer names them
	Back   []Change // had left and stand in the list again
	Role   []Change
	Site   []Change
	Size   []Change
	Other  []Change // name, start or last day corrected
	// Unchanged counts people whom the list names without a change.
	Unchanged int
	// Gone counts people the list adds who have left already.
	Gone int
	// Twins are people the list adds who have the name and start date of
	// somebody known under another number: perhaps the number changed.
	Twins []Change
	// Absent are people who are there but whom the list does not name; without
	// Full they are left alone.
	Absent []programme.Person
	// Active is the number of people there before, the base of TooManyLeave.
	Active int
	// Changed are all persons to store, each once.
	Changed []programme.Person
}

// CompareOptions say what a list is meant to be.
type CompareOptions struct {
	AsOf programme.Date
	// Full says that the list names everybody: who is missing has left.
	Full bool
}

// Compare finds what a list changes in the staff known before. Persons without
// a staff number are recognised by name and start date; where that leaves a
// doubt the row is an error (table.Errors) and takes no part in the diff.
// Empty cells take nothing away, except that an empty end_date in a list that
// has that column means that the person is there.
func Compare(before []programme.Person, list *List, opt CompareOptions) (*Diff, error) {
	c := &comparison{diff: &Diff{}, list: list, opt: opt, byID: map[string]*programme.Person{},
		byName: map[string][]*programme.Person{}, named: map[string]int{}}
	for i := range before {
		c.know(&before[i])
	}
	for i := range list.Rows {
		c.row(&list.Rows[i])
	}
	c.absent(before)
	c.diff.sort()
	if len(c.errs) > 0 {
		c.errs.Sort()
		return c.diff, c.errs
	}
	return c.diff, nil
}

// quarter is the share of staff that may leave at once without a yes.
const quarter = 0.25

// TooManyLeave reports whether more than a quarter of the staff would leave by
// one list, which is likelier a wrong list.
func (d *Diff) TooManyLeave() bool {
	return float64(len(d.Left)) > quarter*float64(d.Active)
}

// Empty reports whether the list changes nothing.
func (d *Diff) Empty() bool { return len(d.Changed) == 0 }

type comparison struct {
	diff   *Diff
	list   *List
	opt    CompareOptions
	byID   map[string]*programme.Person
	byName map[string][]*programme.Person
	named  map[string]int // staff number -> line that names it
	errs   table.Errors
}

func (c *comparison) know(p *programme.Person) {
	c.byID[p.StaffID] = p
	if p.Name != "" {
		c.byName[nameKey(p.Name)] = append(c.byName[nameKey(p.Name)], p)
	}
	if p.ActiveOn(c.opt.AsOf) {
		c.diff.Active++
	}
}

func (c *comparison) row(r *Row) {
	id, bad := c.identify(r)
	if bad == nil {
		if line, twice := c.named[id]; twice {
			bad = c.doubt(r, colName, fmt.Sprintf("but line %d already names this person (staff number %s)", line, id))
		}
	}
	if bad != nil {
		c.errs = append(c.errs, bad)
		return
	}
	c.named[id] = r.Line
	p := r.Person
	p.StaffID = id
	known, ok := c.byID[id]
	if !ok {
		c.join(p)
		return
	}
	c.change(known, p)
}

// identify returns the staff number of a row: the written one, or that of the
// person with the same name and start date, or one made up for a new person.
func (c *comparison) identify(r *Row) (string, *table.Error) {
	p := &r.Person
	if p.StaffID != "" {
		return p.StaffID, c.zeros(r)
	}
	var same, others []*programme.Person
	for _, k := range c.byName[nameKey(p.Name)] {
		if k.Start == p.Start {
			same = append(same, k)
		} else {
			others = append(others, k)
		}
	}
	switch {
	case len(same) == 1:
		return same[0].StaffID, nil
	case len(same) > 1:
		return "", c.doubt(r, colName,
			"but there are several of that name and start date: "+numbers(same)+"; write the staff number")
	case len(others) > 0:
		return "", c.doubt(r, colName, "but the "+p.Name+" we know started on another day: "+numbers(others)+
			"; write the staff number, or correct the start date")
	}
	return NumberFor(p), nil
}

// zeros notices a number that a spreadsheet has robbed of its leading zeros or
// given decimals.
func (c *comparison) zeros(r *Row) *table.Error {
	id := r.Person.StaffID
	if _, known := c.byID[id]; known {
		return nil
	}
	bare := func(id string) string { return strings.TrimLeft(strings.TrimSuffix(id, ".0"), "0") }
	for _, k := range c.byName[nameKey(r.Person.Name)] {
		if bare(k.StaffID) == bare(id) {
			return c.doubt(r, colStaff,
				fmt.Sprintf("but %s has the number %s; a spreadsheet may have changed the zeros", k.Name, k.StaffID))
		}
	}
	return nil
}

func (c *comparison) doubt(r *Row, column int, want string) *table.Error {
	value := r.Person.Name
	if column == colStaff {
		value = r.Person.StaffID
	}
	return c.list.Wrong(r.Line, column, value, want)
}

func numbers(people []*programme.Person) string {
	words := make([]string, len(people))
	for i, p := range people {
		words[i] = fmt.Sprintf("%s (since %s)", p.StaffID, p.Start)
	}
	slices.Sort(words)
	return strings.Join(words, ", ")
}

// NumberFor makes a number from initials and start date, with four signs of
// a check sum so that two people of the same initials differ. It does not
// depend on the rest of the list and does not reveal the name.
func NumberFor(p *programme.Person) string {
	var initials []rune
	for w := range strings.FieldsSeq(p.Name) {
		if r, _ := utf8.DecodeRuneInString(w); len(initials) < 3 && unicode.IsLetter(r) {
			initials = append(initials, unicode.ToUpper(r))
		}
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(nameKey(p.Name)))
	return fmt.Sprintf("%s%s-%04x", string(initials), p.Start.Time().Format("060102"), h.Sum32()&0xffff)
}

func (c *comparison) join(p programme.Person) {
	maps.DeleteFunc(p.Sizes, func(_, size string) bool { return size == programme.NoSize })
	for _, k := range c.byName[nameKey(p.Name)] {
		if k.Start == p.Start {
			c.diff.Twins = append(c.diff.Twins, Change{Before: *k, After: p})
		}
	}
	if !p.End.IsZero() && p.End < c.opt.AsOf {
		c.diff.Gone++
	} else {
		c.diff.Joined = append(c.diff.Joined, p)
	}
	c.diff.Changed = append(c.diff.Changed, p)
}

// change merges a row into the person known before.
func (c *comparison) change(known *programme.Person, p programme.Person) {
	after := c.merge(known, &p)
	ch := Change{Before: *known, After: after}
	d := c.diff
	changed := false
	put := func(is bool, into *[]Change) {
		if is {
			*into = append(*into, ch)
			changed = true
		}
	}
	leaves := known.End.IsZero() && !after.End.IsZero()
	back := !known.End.IsZero() && after.End.IsZero()
	put(leaves, &d.Left)
	put(back, &d.Back)
	put(known.Role != after.Role, &d.Role)
	put(known.Site != after.Site, &d.Site)
	put(!maps.Equal(known.Sizes, after.Sizes), &d.Size)
	put(known.Name != after.Name || known.PrintName != after.PrintName || known.Start != after.Start ||
		known.End != after.End && !leaves && !back, &d.Other)
	if !changed {
		d.Unchanged++
		return
	}
	d.Changed = append(d.Changed, after)
}

func (c *comparison) merge(known, p *programme.Person) programme.Person {
	after := *known
	after.Name, after.Role, after.Start, after.End = p.Name, p.Role, p.Start, p.End
	if p.Site != "" {
		after.Site = p.Site
	}
	if p.PrintName != "" {
		after.PrintName = p.PrintName
	}
	if after.Sizes == nil {
		after.Sizes = map[string]string{}
	}
	for family, size := range p.Sizes {
		if size != known.Sizes[family] {
			after.Resize(family, size, false)
		}
	}
	if !c.list.Has(colEnd) && known.End >= c.opt.AsOf {
		after.End = known.End // a list of present staff does not withdraw a notice for a day to come
	}
	if known.Name == "" && !known.End.IsZero() && !after.End.IsZero() {
		after.Name, after.PrintName, after.Site = "", "", "" // a leaver whose name was forgotten stays forgotten
	}
	return after
}

// absent finds who is there but not in the list. Who has yet to start is left
// alone even by a full list: lists of staff rarely name them.
func (c *comparison) absent(before []programme.Person) {
	for i := range before {
		p := &before[i]
		if _, named := c.named[p.StaffID]; named || !p.End.IsZero() || p.Start > c.opt.AsOf {
			continue
		}
		if !c.opt.Full {
			c.diff.Absent = append(c.diff.Absent, *p)
			continue
		}
		after := *p
		after.End = max(p.Start, c.opt.AsOf.Add(-1))
		c.diff.Left = append(c.diff.Left, Change{Before: *p, After: after})
		c.diff.Changed = append(c.diff.Changed, after)
	}
}

func (d *Diff) sort() {
	byID := func(a, b programme.Person) int { return match.Natural(a.StaffID, b.StaffID) }
	for _, l := range [][]programme.Person{d.Joined, d.Absent, d.Changed} {
		slices.SortFunc(l, byID)
	}
	for _, l := range [][]Change{d.Left, d.Back, d.Role, d.Site, d.Size, d.Other, d.Twins} {
		slices.SortFunc(l, func(a, b Change) int { return byID(a.Before, b.Before) })
	}
}
