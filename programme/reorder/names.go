package reorder

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// naming gives the pieces of each line to people: first to those who are short
// today, then to those whose pieces are likeliest to end before the cover runs
// out, as many as are expected to. What is left is the pool: for starters whom
// nobody knows yet, as many as are expected to be needed, and spare.
type naming struct {
	owed   map[programme.SKU][]Owed
	coming map[programme.SKU][]Owed
	ends   map[programme.SKU][]end // by the line that would replace the piece, the likeliest first
	// asOf, horizon and cover are the day of the records, the day up to which
	// outlooks state their chances, and the one for which they are told.
	asOf, horizon, cover programme.Date
}

// end holds what naming needs of the outlook of one piece, in a third of its room: all
// due clients of a round wait with theirs.
type end struct {
	staff         string
	pEnd, washes  float64
	issued        programme.Date
	d10, d50, d90 programme.Date
	cause         programme.Cause
	assumed       bool
}

func newNaming(in *Input) naming {
	n := naming{owed: bySKU(in.Owed), coming: bySKU(in.Coming), ends: map[programme.SKU][]end{}}
	pieces := map[programme.SKU]int{}
	for i := range in.Outlooks {
		if o := &in.Outlooks[i]; o.PEnd > 0 {
			pieces[o.Replacement()]++
		}
	}
	for i := range in.Outlooks {
		o := &in.Outlooks[i]
		if o.PEnd <= 0 {
			continue
		}
		k := o.Replacement()
		if n.ends[k] == nil {
			n.ends[k] = make([]end, 0, pieces[k])
		}
		n.ends[k] = append(n.ends[k], end{o.StaffID, o.PEnd, o.Washes, o.Issued, o.D10, o.D50, o.D90,
			o.Cause, o.Assumed})
	}
	for _, list := range n.ends {
		slices.SortStableFunc(list, byChance)
	}
	return n
}

func bySKU(all []Owed) map[programme.SKU][]Owed {
	out := map[programme.SKU][]Owed{}
	for _, o := range all {
		out[o.SKU] = append(out[o.SKU], o)
	}
	for _, list := range out {
		slices.SortFunc(list, func(a, b Owed) int { return strings.Compare(a.StaffID, b.StaffID) })
	}
	return out
}

// byChance orders by chance of ending, the likeliest first, then by whatever tells
// two pieces apart, so that neither the order of the input nor rounding matters.
func byChance(a, b end) int {
	return cmp.Or(
		cmp.Compare(math.Round(b.pEnd/equalChance), math.Round(a.pEnd/equalChance)),
		cmp.Compare(a.staff, b.staff),
		cmp.Compare(a.issued, b.issued),
		cmp.Compare(b.washes, a.washes),
	)
}

// equalChance is by how much chances differ that are told apart.
const equalChance = 1e-9

// share names people for the pieces of one line as it is parted, and says what
// the rest is for; named and pool together are l.Order.
func (n naming) share(l *Line, part parting) ([]Named, Pool) {
	named, left := n.nameKnown(l)
	list := n.ends[l.SKU]
	take := min(left, part.endings, len(list))
	named = append(named, n.group(l.SKU, evenly(list, take))...)
	left -= take
	starters := min(left, part.starters)
	return named, Pool{SKU: l.SKU, ForStarters: starters, Spare: left - starters}
}

// parting splits the pieces of a line: for pieces in service that may end, and for starters whom nobody knows yet.
type parting struct{ endings, starters int }

// parted says what the pieces of each line are for beyond people who are short or
// about to start: over all lines as many are named for pieces in service as are
// expected to end together, and of the rest as many are for starters as are expected
// to be needed for them. What is left is for surprises.
func (n naming) parted(lines []Line) []parting {
	out := make([]parting, len(lines))
	room, expected := make([]int, len(lines)), make([]float64, len(lines))
	for i := range lines {
		_, left := n.nameKnown(&lines[i])
		room[i], expected[i] = min(left, len(n.ends[lines[i].SKU])), lines[i].Endings.Sum()
	}
	for i, take := range apportion(expected, room) {
		out[i].endings = take
		_, left := n.nameKnown(&lines[i])
		room[i], expected[i] = left-take, math.Max(0, lines[i].Hires-float64(n.comingOf(lines[i].SKU)))
	}
	for i, take := range apportion(expected, room) {
		out[i].starters = take
	}
	return out
}

func (n naming) comingOf(k programme.SKU) (pieces int) {
	for _, o := range n.coming[k] {
		if o.Begins.IsZero() { // of people, not of a season
			pieces += o.Pieces
		}
	}
	return pieces
}

// apportion turns expected pieces into whole ones, of each line what is expected,
// up or down, and together what is expected together, where there is room for them.
func apportion(expected []float64, room []int) []int {
	out := make([]int, len(expected))
	rest, sum, remainder := make([]int, 0, len(expected)), 0.0, make([]float64, len(expected))
	for i, x := range expected {
		sum += x
		out[i] = min(room[i], int(x+1e-9))
		if remainder[i] = x - float64(out[i]); out[i] < room[i] {
			rest = append(rest, i)
		}
	}
	left := int(math.Round(sum))
	for _, x := range out {
		left -= x
	}
	programme.GiveOut(out, left, rest, remainder)
	return out
}

// evenly picks n pieces, one after the other: each time for the person with the
// most pieces expected to end that are not picked yet, his or her likeliest
// piece. So people whose pieces are equally old and worn get the same, but for
// the odd ones. The list is ordered by byChance.
func evenly(list []end, n int) []*end {
	owing, first := map[string]float64{}, map[string]int{}
	pieces := map[string][]*end{}
	var people []string
	for i := range list {
		who := list[i].staff
		if pieces[who] == nil {
			first[who] = len(people)
			people = append(people, who)
		}
		pieces[who] = append(pieces[who], &list[i])
		owing[who] += list[i].pEnd
	}
	out := make([]*end, 0, n)
	for len(out) < n {
		best := ""
		for _, who := range people {
			if len(pieces[who]) > 0 && (best == "" || owing[who] > owing[best]+1e-9) {
				best = who
			}
		}
		out = append(out, pieces[best][0])
		pieces[best] = pieces[best][1:]
		owing[best]--
	}
	slices.SortStableFunc(out, func(a, b *end) int { return cmp.Compare(first[a.staff], first[b.staff]) })
	return out
}

// nameKnown gives pieces to those who are short today and to those who are about
// to start, as far as the shelf and what is on order do not serve them; left is
// what remains of the order.
func (n naming) nameKnown(l *Line) (named []Named, left int) {
	left = l.Order
	served := l.OnHand + l.OnOrder
	give := func(list []Owed, why programme.Cause) {
		for _, o := range list {
			why := why
			if !o.Begins.IsZero() {
				why = programme.CauseKit
			}
			fromShelf := min(served, o.Pieces)
			served -= fromShelf
			if pieces := min(left, o.Pieces-fromShelf); pieces > 0 {
				named = append(named, Named{StaffID: o.StaffID, SKU: l.SKU, Pieces: pieces, Why: why,
					By: o.Begins, PEnd: 1})
				left -= pieces
			}
		}
	}
	give(n.owed[l.SKU], programme.CauseOwed)
	give(n.coming[l.SKU], programme.CauseHires)
	return named, left
}

// group joins the pieces of one person; the likeliest gives the reason.
func (n naming) group(k programme.SKU, list []*end) []Named {
	at := map[string]int{}
	var out []Named
	for _, o := range list {
		j, seen := at[o.staff]
		if !seen {
			at[o.staff] = len(out)
			out = append(out, Named{StaffID: o.staff, SKU: k, Pieces: 1, Why: o.cause, Washes: o.washes,
				Assumed: o.assumed, By: o.d50, PEnd: n.chance(o)})
			continue
		}
		x := &out[j]
		x.Pieces++
		x.Washes = math.Max(x.Washes, o.washes)
		x.Assumed = x.Assumed || o.assumed
		if x.By.IsZero() || (!o.d50.IsZero() && o.d50 < x.By) {
			x.By = o.d50
		}
	}
	return out
}

// chance returns the chance that the piece ends before the order is used up: as forecast
// over the horizon, and for another day in the proportion in which the piece's
// own dates say.
func (n naming) chance(o *end) float64 {
	whole := ended(o, n.asOf, n.horizon)
	if n.cover.IsZero() || whole <= 0 {
		return o.pEnd
	}
	return math.Min(1, o.pEnd*ended(o, n.asOf, n.cover)/whole)
}

// ended returns the share of such pieces that has ended by the day. The cumulative
// hazard is 0.105, 0.693 and 2.303 when 10, 50 and 90 % have, and is taken as a
// power of time between those days and beyond them.
func ended(o *end, asOf, day programme.Date) float64 {
	hazards := [3]float64{-math.Log(0.9), math.Ln2, math.Log(10)}
	dates := [3]programme.Date{o.d10, o.d50, o.d90}
	t := math.Log(math.Max(1, float64(day.Sub(asOf))))
	var at [3]float64
	known := 0
	for i, d := range dates {
		if d.IsZero() {
			break
		}
		at[i] = math.Log(math.Max(1, float64(d.Sub(asOf))))
		known++
	}
	if known < 2 || at[1] <= at[0] {
		return 0
	}
	i := 0
	if known == 3 && t > at[1] && at[2] > at[1] {
		i = 1
	}
	power := math.Log(hazards[i+1]/hazards[i]) / (at[i+1] - at[i])
	return -math.Expm1(-hazards[i] * math.Exp(power*(t-at[i])))
}
