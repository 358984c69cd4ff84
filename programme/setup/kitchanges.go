package setup

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// changeField says how a line takes the place of another; of a line that takes
// nobody's place there is nothing to say.
func changeField() field[programme.KitLine] {
	f := value("change", "how it does: as-worn (old pieces are worn on and replaced by new ones), on-the-day (everybody changes on the first day) or run-out (as-worn, and old ones on the shelf go out first)",
		func(k *programme.KitLine) *programme.Change { return &k.Change }, parseChange, formatChange,
		same(programme.AsWorn))
	write := f.write
	f.write = func(from *programme.KitLine, all bool) *yaml.Node {
		return write(from, all && from.InsteadOf != (programme.Former{}))
	}
	return f
}

// parseKitDay reads the first or the last day of a kit line.
func parseKitDay(s string) (programme.Date, error) {
	d, err := programme.ParseDate(s)
	if err == nil && (d.Time().Year() > lastYear || d.Time().Year() < 1980) {
		err = fmt.Errorf("read %s; write a day between 1980 and %d, or leave it out", d, lastYear)
	}
	return d, err
}

// parseFormer reads apron/burgundy, or the same with a space between.
func parseFormer(s string) (programme.Former, error) {
	garment, colour, ok := strings.Cut(s, "/")
	if !ok {
		garment, colour, ok = strings.Cut(s, " ")
	}
	garment, colour = strings.TrimSpace(garment), strings.TrimSpace(colour)
	if _, err := parseCode(garment); err != nil || !ok || colour == "" {
		return programme.Former{}, fmt.Errorf("read %q; write garment and colour of another line, such as apron/burgundy", short(s))
	}
	colour, err := parseText(colour)
	return programme.Former{Garment: garment, Colour: colour}, err
}

func formatFormer(f programme.Former) string {
	if f == (programme.Former{}) {
		return ""
	}
	return f.Garment + "/" + f.Colour
}

// asWorn is the word of a programme file for programme.AsWorn.
const asWorn = "as-worn"

func parseChange(s string) (programme.Change, error) {
	switch c := strings.ReplaceAll(strings.TrimSpace(s), " ", "-"); c {
	case asWorn:
		return programme.AsWorn, nil
	case string(programme.OnTheDay), string(programme.RunOut):
		return programme.Change(c), nil
	}
	return "", fmt.Errorf("read %q; write as-worn, on-the-day or run-out", short(s))
}

func formatChange(c programme.Change) string {
	if c == programme.AsWorn {
		return asWorn
	}
	return string(c)
}

// joined lets one value be written as a list of its parts.
func joined[T any](f field[T]) field[T] {
	one := f.read
	f.read = func(r *reader, n *yaml.Node, path string, into *T) {
		if n.Kind == yaml.SequenceNode {
			parts := make([]string, len(n.Content))
			for i, c := range n.Content {
				parts[i] = c.Value
			}
			n = &yaml.Node{Kind: yaml.ScalarNode, Value: strings.Join(parts, ","), Line: n.Line, Column: n.Column}
		}
		one(r, n, path, into)
	}
	return f
}

// parseMonths reads april-september, oct-mar or may, july-august.
func parseMonths(s string) (m programme.Months, err error) {
	for part := range strings.SplitSeq(s, ",") {
		first, last, run := strings.Cut(part, "-")
		if !run {
			last = first
		}
		from, err := monthOf(first)
		if err != nil {
			return m, err
		}
		to, err := monthOf(last)
		if err != nil {
			return m, err
		}
		for i := from - 1; ; i = (i + 1) % 12 {
			m[i] = true
			if i == to-1 {
				break
			}
		}
	}
	if m.All() { // all the year is what no months say
		m = programme.Months{}
	}
	return m, nil
}

// monthOf reads a month's name or its first letters, three at least.
func monthOf(s string) (time.Month, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	if len(s) >= 3 {
		for m := time.January; m <= time.December; m++ {
			if strings.HasPrefix(strings.ToLower(m.String()), s) {
				return m, nil
			}
		}
	}
	return parseMonth(s)
}

func formatMonths(m programme.Months) string {
	var parts []string
	for _, run := range m.Runs() {
		part := strings.ToLower(run[0].String())
		if run[1] != run[0] {
			part += "-" + strings.ToLower(run[1].String())
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// checkChanges looks whether the lines of a kit that follow one another fit together.
func checkChanges(r *reader, n *yaml.Node, s *programme.Shop, role *programme.Role, garments []string) {
	path := "roles." + role.Code + ".kit"
	taken := map[programme.Former]string{}
	for j := range role.Kit {
		k := &role.Kit[j]
		at, path := at(n, "kit", j), join(path, k.Garment)
		if !k.Until.IsZero() && k.Until < k.From {
			r.wrong(child(at, "until"), join(path, "until"), "the last day, %s, lies before the first, %s",
				k.Until, k.From)
		}
		if k.InsteadOf == (programme.Former{}) {
			if k.Change != programme.AsWorn {
				r.wrong(child(at, "change"), join(path, "change"),
					"it says how the line takes the place of another; name that one under instead_of, such as instead_of: apron/burgundy")
			}
			continue
		}
		former := child(at, "instead_of")
		switch by := taken[k.InsteadOf]; {
		case k.From.IsZero():
			r.wrong(former, join(path, "instead_of"),
				"write the first day of the new line beside it, such as from: 2027-03-01")
		case k.InsteadOf == k.Former():
			r.wrong(former, join(path, "instead_of"), "a line cannot take its own place")
		case by != "":
			r.wrong(former, join(path, "instead_of"), "%s takes the place of %s already; keep one", by,
				formatFormer(k.InsteadOf))
		}
		taken[k.InsteadOf] = formatFormer(k.Former())
		if k.InsteadOf == k.Former() {
			continue
		}
		checkFormer(r, former, join(path, "instead_of"), s, role, k, garments)
	}
	for j := range role.Kit {
		if k := &role.Kit[j]; k.InsteadOf != k.Former() && circles(role, k) {
			r.wrong(at(n, "kit", j), path,
				"these lines take each other's place in a circle; one of them must be the first")
			return
		}
	}
}

// checkFormer looks for the line whose place another takes, in the catalogue and in the kit.
func checkFormer(r *reader, n *yaml.Node, path string, s *programme.Shop, role *programme.Role, k *programme.KitLine,
	garments []string) {
	r.known(n, path, k.InsteadOf.Garment, "garment", garments)
	g, ok := s.Garment(k.InsteadOf.Garment)
	if !ok {
		return
	}
	r.known(n, path, k.InsteadOf.Colour, "colour of "+g.Code, g.Colours)
	for i := range role.Kit {
		switch f := &role.Kit[i]; {
		case f.Former() != k.InsteadOf || k.From.IsZero():
		case f.From >= k.From:
			r.wrong(n, path, "%s begins on %s itself; this line must begin later than that",
				formatFormer(k.InsteadOf), f.From)
		case f.Until >= k.From:
			r.wrong(n, path,
				"%s stays until %s, and this line begins on %s; take out the until, or move one of the days",
				formatFormer(k.InsteadOf), f.Until, k.From)
		}
	}
}

// linesBut lists the other lines of a kit that may have cuts.
func linesBut(role *programme.Role, i int) string {
	var out []string
	for j := range role.Kit {
		if l := &role.Kit[j]; j != i && l.CutOf == (programme.Former{}) {
			out = append(out, formatFormer(l.Former()))
		}
	}
	if len(out) == 0 {
		return "no other"
	}
	return strings.Join(out, ", ")
}

// checkCuts looks whether the lines that are cuts of others can be told apart by sizes.
func checkCuts(r *reader, n *yaml.Node, s *programme.Shop, role *programme.Role) {
	for j := range role.Kit {
		k := &role.Kit[j]
		if k.CutOf == (programme.Former{}) {
			continue
		}
		path, cut := join("roles."+role.Code+".kit", k.Garment), child(at(n, "kit", j), "cut_of")
		path = join(path, "cut_of")
		i := slices.IndexFunc(role.Kit, func(l programme.KitLine) bool { return l.Former() == k.CutOf })
		switch {
		case k.CutOf == k.Former():
			r.wrong(cut, path, "a line cannot be a cut of itself; name the line for everybody else")
			continue
		case i < 0:
			r.wrong(cut, path,
				"the kit has no line %s: it has %s; where %s was given another garment or colour, write that here too",
				formatFormer(k.CutOf), linesBut(role, j), formatFormer(k.CutOf))
			continue
		case role.Kit[i].CutOf != (programme.Former{}):
			r.wrong(cut, path, "%s is a cut of %s itself; name that one", formatFormer(k.CutOf),
				formatFormer(role.Kit[i].CutOf))
			continue
		}
		if next, ok := role.Following(k.CutOf); ok && next.Change == programme.OnTheDay &&
			!slices.ContainsFunc(role.Kit, func(l programme.KitLine) bool { return l.CutOf == next.Former() }) {
			r.wrong(cut, path,
				"%s takes the place of %s for everybody on %s; add its own cut for those who wear %s, with cut_of: %s",
				formatFormer(next.Former()), formatFormer(k.CutOf), next.From, k.Garment, formatFormer(next.Former()))
		}
		own, ok := s.Garment(k.Garment)
		other, made := s.Garment(k.CutOf.Garment)
		switch {
		case !ok || !made:
		case own.SizeFamily == other.SizeFamily:
			r.wrong(cut, path, "%s and %s both take a person's size of %s, so nobody could tell who wears which; give %s a size_family of its own in shop.yaml, such as ladies-%s",
				own.Code, other.Code, own.SizeFamily, own.Code, own.SizeFamily)
		case len(own.Sizes) == 1:
			r.wrong(cut, path, "%s comes in one size, so no size says who wears it", own.Code)
		}
	}
}

// circles reports whether a line takes the place of lines that lead back to it.
func circles(role *programme.Role, k *programme.KitLine) bool {
	f := k.InsteadOf
	for range role.Kit {
		if f == k.Former() {
			return true
		}
		former, ok := role.Line(f.Garment, f.Colour)
		if !ok {
			return false
		}
		f = former.InsteadOf
	}
	return false
}
