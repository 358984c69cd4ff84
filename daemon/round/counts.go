package round

import (
	"sort"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// countRows lists what the records say each person at work holds, in the order
// of the roster, then garment by garment: the rows of the count form.
func countRows(in *Inspection, asOf programme.Date) []message.CountRow {
	held := map[string]map[programme.SKU]int{}
	for i := range in.History.InService {
		p := &in.History.InService[i]
		if held[p.StaffID] == nil {
			held[p.StaffID] = map[programme.SKU]int{}
		}
		held[p.StaffID][p.SKU]++
	}
	var rows []message.CountRow
	for i := range in.Staff {
		p := in.Staff[i]
		if !p.ActiveOn(asOf) || p.AwayOn(asOf) {
			continue
		}
		skus := make([]programme.SKU, 0, len(held[p.StaffID]))
		for sku := range held[p.StaffID] {
			skus = append(skus, sku)
		}
		sort.Slice(skus, func(a, b int) bool { return skus[a].Less(skus[b]) })
		for _, sku := range skus {
			rows = append(rows, message.CountRow{Person: p, SKU: sku, OnRecord: held[p.StaffID][sku]})
		}
	}
	return rows
}
