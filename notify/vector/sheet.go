package vector

import (
	"regexp"
	"slices"
	"strings"
)

// rule is one selector of a style sheet with what it sets.
type rule struct {
	name, class, id string
	declarations    []declaration
}

type declaration struct{ property, value string }

// weight puts rules in their order: an id beats a class, a class a name.
func (r *rule) weight() (w int) {
	if r.id != "" {
		w += 100
	}
	if r.class != "" {
		w += 10
	}
	if r.name != "" {
		w++
	}
	return w
}

func (r *rule) matches(n *node) bool {
	return (r.name == "" || r.name == n.name) && (r.id == "" || r.id == n.attrs["id"]) &&
		(r.class == "" || slices.Contains(strings.Fields(n.attrs["class"]), r.class))
}

var (
	cssComment = regexp.MustCompile(`(?s)/\*.*?\*/`)
	selector   = regexp.MustCompile(`^([A-Za-z][\w-]*)?(?:\.(-?[A-Za-z_][\w-]*))?(?:#(-?[A-Za-z_][\w-]*))?$`)
)

// rules reads a style sheet of plain selectors: a name, a class, an id, or
// these together. Anything cleverer is not understood.
func rules(sheet string) (out []rule, ok bool) {
	sheet = strings.NewReplacer("<!--", "", "-->", "").Replace(cssComment.ReplaceAllString(sheet, " "))
	for sheet = strings.TrimSpace(sheet); sheet != ""; sheet = strings.TrimLeft(sheet, " \t\r\n\f") {
		open, shut := strings.IndexByte(sheet, '{'), strings.IndexByte(sheet, '}')
		if open < 0 || shut < open {
			return nil, false
		}
		list, ok := declarations(sheet[open+1 : shut])
		if !ok {
			return nil, false
		}
		for one := range strings.SplitSeq(sheet[:open], ",") {
			m := selector.FindStringSubmatch(strings.TrimSpace(one))
			if m == nil || m[0] == "" {
				return nil, false
			}
			out = append(out, rule{m[1], m[2], m[3], list})
		}
		if len(out) > maxNodes {
			return nil, false
		}
		sheet = sheet[shut+1:]
	}
	return out, true
}

// declarations reads the properties of a rule or of a style attribute.
func declarations(s string) (out []declaration, ok bool) {
	s = cssComment.ReplaceAllString(s, " ")
	for part := range strings.SplitSeq(s, ";") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		property, value, found := strings.Cut(part, ":")
		if !found || strings.ContainsAny(value, "!{}\\") {
			return nil, false
		}
		out = append(out, declaration{strings.ToLower(strings.TrimSpace(property)), strings.TrimSpace(value)})
	}
	return out, true
}
