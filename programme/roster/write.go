package roster

import (
	"io"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Write writes people as a roster that Read reads as the same people: one
// column for each size family that anybody has.
func Write(w io.Writer, people []programme.Person) error {
	heading := []string{"staff_id", "name", "role", "site", "start_date", "end_date"}
	families := familiesOf(people)
	for _, f := range families {
		heading = append(heading, "size_"+f)
	}
	return table.Write(w, heading, func(yield func([]string) bool) {
		for i := range people {
			p := &people[i]
			cells := []string{p.StaffID, p.Name, p.Role, p.Site, p.Start.String(), p.End.String()}
			for _, f := range families {
				cells = append(cells, p.Sizes[f])
			}
			if !yield(cells) {
				return
			}
		}
	})
}

// familiesOf are the size families that anybody has a size in, sorted.
func familiesOf(people []programme.Person) []string {
	all := map[string]bool{}
	for i := range people {
		for f := range people[i].Sizes {
			all[f] = true
		}
	}
	return slices.Sorted(maps.Keys(all))
}
