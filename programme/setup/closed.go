package setup

import (
	"cmp"
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// closedField is the list of days on which nobody works.
func closedField() field[programme.Shop] {
	return field[programme.Shop]{
		key:  "closed",
		help: "days besides weekends on which you, your suppliers and carriers do not work, such as [2026-11-26, 2026-12-24/2027-01-01]; orders, lead times and promises keep clear of them",
		read: func(r *reader, n *yaml.Node, path string, into *programme.Shop) {
			into.Closed = readClosed(r, n, path)
		},
		write: func(from *programme.Shop, _ bool) *yaml.Node {
			if len(from.Closed) == 0 {
				return nil
			}
			n := &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle}
			for _, s := range from.Closed {
				n.Content = append(n.Content, scalar(s.String()))
			}
			return n
		},
	}
}

// Slips such as 0206-12-25 are kept out.
var earliestClosed, latestClosed = programme.NewDate(1980, 1, 1), programme.NewDate(2199, 12, 31)

func readClosed(r *reader, n *yaml.Node, path string) programme.ClosedDays {
	if n.Kind != yaml.SequenceNode {
		r.wrong(n, path, "read %s; write a list of days, such as [2026-11-26, 2026-12-24/2027-01-01]", describe(n))
		return nil
	}
	type entry struct {
		programme.DaySpan
		node *yaml.Node
		path string
	}
	var all []entry
	for i, item := range n.Content {
		e := entry{node: item, path: fmt.Sprintf("%s[%d]", path, i+1)}
		var err error
		if e.DaySpan, err = oneClosed(item); err != nil {
			r.wrong(item, e.path, "%s", err)
			continue
		}
		all = append(all, e)
	}
	slices.SortStableFunc(all, func(a, b entry) int { return cmp.Compare(a.First, b.First) })
	var out programme.ClosedDays
	for _, e := range all {
		if e.First <= out.Last() {
			r.wrong(e.node, e.path, "%s shares a day with %s; write each day once", e.DaySpan, out[len(out)-1])
			continue
		}
		out = append(out, e.DaySpan)
	}
	return out
}

func oneClosed(item *yaml.Node) (programme.DaySpan, error) {
	if item.Kind != yaml.ScalarNode {
		return programme.DaySpan{}, fmt.Errorf("read %s; write a day, or the first and the last day with a slash between", describe(item))
	}
	if len(item.Value) > 40 {
		return programme.DaySpan{}, fmt.Errorf("read %q; write a day such as 2026-12-25", short(item.Value))
	}
	span, err := programme.ParseDaySpan(item.Value)
	if err == nil && (span.First < earliestClosed || span.Last > latestClosed) {
		err = fmt.Errorf("read %q; write a day of this time", short(item.Value))
	}
	return span, err
}
