package round

import (
	"slices"

	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/counting"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// usualMinute is the cost of a minute of counting where the shop states no cost of
// an hour, in its currency (common practice, no source).
const usualMinute = 0.5

// worthCounting chooses what of a client's pieces to count now, and says what that
// is expected to save. Who is away today is not asked for.
func worthCounting(in *forecast.Inspection, ready *reorder.Input, asOf programme.Date,
	assumed bool) ([]message.CountRow, counting.Choice) {
	doubts, sd := in.Book.Doubts(&in.History, in.Learnt)
	staff := make(map[string]*programme.Person, len(in.Staff))
	for i := range in.Staff {
		staff[in.Staff[i].StaffID] = &in.Staff[i]
	}
	stakes, weeks := reorder.Stakes(ready)
	lines := make(map[programme.SKU]counting.Line, len(stakes))
	for k, s := range stakes {
		lines[k] = counting.Line{SD: s.SD, Short: s.Short.Float(), Over: s.Over.Float(), Week: s.Week.Float()}
	}
	rows := make([]counting.Row, 0, len(doubts))
	for _, d := range doubts {
		if p := staff[d.StaffID]; p == nil || !p.ActiveOn(asOf) {
			continue
		}
		if _, ordered := stakes[d.SKU]; ordered {
			rows = append(rows, counting.Row{StaffID: d.StaffID, SKU: d.SKU, Pieces: d.Pieces, Missing: d.Missing,
				Noise: d.Noise, Slope: d.Slope})
		}
	}
	if assumed {
		rows = append(rows, unrecorded(ready.Owed, rows)...)
	}
	terms := counting.Terms{ShareSD: sd, Weeks: float64(weeks), Minute: in.Shop.Press.CostPerHour.Float() / 60}
	if terms.Minute <= 0 {
		terms.Minute = usualMinute
	}
	most := mostRows
	if assumed {
		most = mostAtFirst
	}
	choice := counting.Choose(rows, lines, terms, most)
	out := make([]message.CountRow, 0, len(choice.Rows))
	for _, i := range choice.Rows {
		r := &rows[i]
		out = append(out, message.CountRow{Person: *staff[r.StaffID], SKU: r.SKU, OnRecord: r.Pieces})
	}
	slices.SortStableFunc(out, func(a, b message.CountRow) int {
		if a.Person.StaffID != b.Person.StaffID {
			return 0
		}
		return a.Compare(b.SKU)
	})
	return out, choice
}

// unrecorded returns the people of whom an assumed stock knows nothing of a garment: as
// likely as not they have what the kit says.
func unrecorded(owed []reorder.Owed, known []counting.Row) (out []counting.Row) {
	type holding struct {
		staff string
		sku   programme.SKU
	}
	seen := make(map[holding]bool, len(known))
	for i := range known {
		seen[holding{known[i].StaffID, known[i].SKU}] = true
	}
	for _, o := range owed {
		if n := float64(o.Pieces); !seen[holding{o.StaffID, o.SKU}] {
			out = append(out, counting.Row{StaffID: o.StaffID, SKU: o.SKU, Missing: n / 2, Noise: n * n / 4})
		}
	}
	return out
}

// onRecord returns what the records say people hold of what a count asks for.
func onRecord(in *forecast.Inspection, asks []store.CountAsk) map[store.CountAsk]int {
	out := make(map[store.CountAsk]int, len(asks))
	for _, a := range asks {
		out[a] = 0
	}
	for i := range in.History.InService {
		p := &in.History.InService[i]
		ask := store.CountAsk{StaffID: p.StaffID, SKU: p.SKU}
		if _, asked := out[ask]; asked {
			out[ask]++
		}
	}
	return out
}

// mostRows is as much as is filled in with care besides other work, mostAtFirst
// where all that people hold is only assumed (common practice, no source).
const (
	mostRows    = 25
	mostAtFirst = 60
)
