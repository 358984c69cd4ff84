package roster

import (
	"encoding/csv"
	"io"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Write writes people as a roster that Read reads as the same people: one
// column for each size family that anybody has.
func Write(w io.Writer, people []programme.Person) error {
	families := map[string]bool{}
	for i := range people {
		for f := range people[i].Sizes {
			families[f] = true
		}
	}
	out := csv.NewWriter(w)
	head := []string{"staff_id", "name", "role", "site", "start_date", "end_date"}
	for _, f := range sortedKeys(families) {
		head = append(head, "size_"+f)
	}
	if err := out.Write(head); err != nil {
		return err
	}
	for i := range people {
		p := &people[i]
		cells := []string{p.StaffID, p.Name, p.Role, p.Site, p.Start.String(), p.End.String()}
		for _, f := range sortedKeys(families) {
			cells = append(cells, p.Sizes[f])
		}
		for j := range cells {
			cells[j] = table.Guard(cells[j])
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
