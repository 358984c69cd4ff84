package roster

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Text shows a diff so that a person can judge it: counts first, then names.
func (d *Diff) Text(dates programme.DateStyle) string {
	var b strings.Builder
	fmt.Fprintln(&b, d.summary())
	section(&b, "Joining", d.Joined, func(p programme.Person) string {
		return joinWords(who(&p), p.Role, p.Site, "from "+dates.Date(p.Start), until(&p, dates), sizesText(p.Sizes))
	})
	section(&b, "Leaving", d.Left, func(c Change) string {
		return joinWords(who(&c.After), c.After.Role, "last day "+dates.Date(c.After.End))
	})
	section(&b, "Coming back", d.Back, func(c Change) string {
		return joinWords(who(&c.After), "had left on "+dates.Date(c.Before.End))
	})
	section(&b, "Other role", d.Role,
		func(c Change) string { return who(&c.After) + ": " + arrow(c.Before.Role, c.After.Role) })
	section(&b, "Other site", d.Site,
		func(c Change) string { return who(&c.After) + ": " + arrow(c.Before.Site, c.After.Site) })
	section(&b, "Other size", d.Size,
		func(c Change) string { return who(&c.After) + ": " + sizeChange(c.Before.Sizes, c.After.Sizes) })
	section(&b, "Corrected", d.Other, func(c Change) string { return who(&c.After) + ": " + correction(&c, dates) })
	section(&b, "Perhaps known under another number (same name and start date)", d.Twins, func(c Change) string {
		return who(&c.After) + ": is this " + c.Before.StaffID + "? Then correct the number before importing"
	})
	if n := len(d.Absent); n > 0 {
		fmt.Fprintf(&b, "Not in the list and left alone: %s (by a full list, --full, they would leave)\n",
			programme.NumberOf(n, "person"))
	}
	return b.String()
}

// summary counts what changes, in one line.
func (d *Diff) summary() string {
	var parts []string
	for _, p := range []struct {
		n         int
		one, many string
	}{
		{len(d.Joined), "joins", "join"}, {len(d.Left), "leaves", "leave"}, {len(d.Back), "comes back", "come back"},
		{len(d.Role), "changes role", "change role"}, {len(d.Site), "changes site", "change site"},
		{len(d.Size), "changes size", "change size"},
		{len(d.Other), "is corrected", "are corrected"}, {d.Gone, "had left already", "had left already"},
	} {
		if p.n > 0 {
			parts = append(parts, count(p.n, p.one, p.many))
		}
	}
	if len(parts) == 0 {
		parts = []string{"nothing changes"}
	}
	return strings.Join(append(parts, fmt.Sprintf("%d unchanged", d.Unchanged)), ", ")
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func section[T any](b *strings.Builder, title string, list []T, line func(T) string) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(b, "%s:\n", title)
	for _, x := range list {
		fmt.Fprintf(b, "  %s\n", line(x))
	}
}

func who(p *programme.Person) string { return strings.TrimSpace(p.StaffID + " " + p.Name) }

func joinWords(words ...string) string {
	var kept []string
	for _, w := range words {
		if w != "" {
			kept = append(kept, w)
		}
	}
	return strings.Join(kept, ", ")
}

func until(p *programme.Person, dates programme.DateStyle) string {
	if p.End.IsZero() {
		return ""
	}
	return "until " + dates.Date(p.End)
}

func arrow(before, after string) string { return orNone(before) + " → " + orNone(after) }

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

func sizesText(sizes map[string]string) string {
	var words []string
	for _, family := range slices.Sorted(maps.Keys(sizes)) {
		words = append(words, family+" "+sizes[family])
	}
	return strings.Join(words, ", ")
}

func sizeChange(before, after map[string]string) string {
	var words []string
	for _, family := range slices.Sorted(maps.Keys(after)) {
		if before[family] != after[family] {
			words = append(words, family+" "+arrow(before[family], after[family]))
		}
	}
	return strings.Join(words, ", ")
}

func correction(c *Change, dates programme.DateStyle) string {
	var words []string
	if c.Before.Name != c.After.Name {
		words = append(words, "name "+arrow(c.Before.Name, c.After.Name))
	}
	if c.Before.PrintName != c.After.PrintName {
		words = append(words, "name on garments "+arrow(c.Before.PrintName, c.After.PrintName))
	}
	if c.Before.Start != c.After.Start {
		words = append(words, "start "+arrow(dates.Date(c.Before.Start), dates.Date(c.After.Start)))
	}
	if c.Before.End != c.After.End {
		words = append(words, "last day "+arrow(dates.Date(c.Before.End), dates.Date(c.After.End)))
	}
	return strings.Join(words, ", ")
}
