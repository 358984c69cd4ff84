package gang

import (
	"math"
	"slices"
)

// exact looks for the optimum where all artworks are of one size: it goes
// through the numbers of layouts and, total by total, through all
// non-increasing runs whose cost could still win; a dynamic programme over the
// artworks tells whether runs can cover the need. It gives up when it would
// fill more than work cells of its table. When it does not, and neither overs
// nor inks make layouts of one run unequal, the best is proven.
func (s *solver) exact(work int64) {
	if s.p.Slots == 0 {
		return
	}
	e := &enumeration{solver: s, work: work}
	for k := 1; k <= s.mostLayouts(); k++ {
		if s.hopeless(s.setUpFloor(k) + s.printFloor()) {
			break
		}
		if !e.layouts(k) {
			return
		}
	}
	s.proven = s.p.Worth == nil && s.uniform()
}

// The effort of an enumeration in cells: a tenth of a second at first, later
// about as long as the tries so far took.
const (
	leastWork  = 300_000
	workPerTry = 4000
	// perVector is the work of a run vector beside its cells.
	perVector = 500
)

// uniform reports that every layout costs the same to set up.
func (s *solver) uniform() bool {
	all := make([]int, len(s.p.Need))
	for j := range all {
		all[j] = 1
	}
	return s.p.SetUp(all) <= s.setUpFloor(1)+1e-9
}

// enumeration is the search through run vectors.
type enumeration struct {
	*solver
	work int64 // cells left
	runs []int
	// least is, for each state (slots used on all layouts but the last), the
	// fewest slots used on the last; took is how many copies each artwork put there.
	least, next []int32
	took        [][]int32
}

// layouts goes through all runs of k layouts; false when the effort ran out.
func (e *enumeration) layouts(k int) bool {
	e.runs = make([]int, k)
	if k*e.p.Slots < len(e.p.Need) {
		return true // not even one copy of each
	}
	if e.vast(k) {
		return false
	}
	for total := max(k, e.p.floor()); ; total++ {
		if e.hopeless(e.setUpFloor(k) + e.totalFloor(total)) {
			return true
		}
		if !e.found && total > k*slices.Max(e.p.Need) {
			return true
		}
		if !e.vectors(0, total, total) {
			return false
		}
	}
}

// vast reports that there are more runs to go through than the effort allows:
// a number T has about T^(k-1)/(k!(k-1)!) divisions into k runs.
func (e *enumeration) vast(k int) bool {
	total := float64(e.p.floor())
	totals := total
	if e.found {
		totals = (e.best.Net() - e.setUpFloor(k) - e.printFloor()) / e.p.price(math.MaxInt32)
	}
	cells := float64(len(e.p.Need)) * max(1, totals)
	for i := 1; i < k; i++ {
		cells *= float64(e.p.Slots+1) * total / float64(i*(i+1))
	}
	return cells > float64(e.work)
}

// totalFloor returns the least that any division of a total into runs pays for
// copies, less the most that overs can be worth.
func (e *enumeration) totalFloor(total int) float64 {
	price := e.p.Breaks[0].Price
	for _, b := range e.p.Breaks {
		price = min(price, b.Price)
	}
	v := float64(total) * price
	if e.p.PerOrder {
		_, v = e.p.cheapest(total)
	}
	for j := range e.p.Worth {
		v -= e.p.Worth[j] * float64(e.p.Useful[j])
	}
	return v
}

// vectors fills runs from place at with every way to divide left, no run above limit.
func (e *enumeration) vectors(at, left, limit int) bool {
	last := len(e.runs) - 1
	if at == last {
		if left > limit {
			return true
		}
		e.runs[at] = left
		return e.try()
	}
	places := len(e.runs) - at
	for run := min(limit, left-(places-1)); run >= ceilDiv(left, places); run-- {
		e.runs[at] = run
		if !e.vectors(at+1, left-run, run) {
			return false
		}
	}
	return true
}

// try asks whether the runs can cover the need and offers what covers it.
func (e *enumeration) try() bool {
	if e.work <= 0 || (e.opt.Stop != nil && e.opt.Stop()) {
		return false
	}
	e.work -= perVector
	if layouts, ok := e.cover(); ok {
		e.offer(e.p.finish(layouts))
	}
	return true
}

const unreachable = 1 << 30

// cover runs the dynamic programme for e.runs.
func (e *enumeration) cover() ([]Layout, bool) {
	side := e.p.Slots + 1
	states := 1
	for range e.runs[1:] {
		states *= side
	}
	e.least = append(e.least[:0], make([]int32, states)...)
	for i := range e.least[1:] {
		e.least[i+1] = unreachable
	}
	for len(e.took) < len(e.p.Need) {
		e.took = append(e.took, nil)
	}
	for j := range e.p.Need {
		e.next = append(e.next[:0], make([]int32, states)...)
		for i := range e.next {
			e.next[i] = unreachable
		}
		e.took[j] = append(e.took[j][:0], make([]int32, states)...)
		e.spread(j, 0, 0, 1, e.p.Need[j])
		e.least, e.next = e.next, e.least
		if slices.Min(e.least) > int32(e.p.Slots) {
			return nil, false
		}
	}
	return e.trace(), true
}

// spread tries all copies of artwork j on layouts at.. but the last; offset is
// the state they add up to and left what is still to be printed.
func (e *enumeration) spread(j, at, offset, stride, left int) {
	if at == len(e.runs)-1 {
		e.join(j, offset, int32(max(0, ceilDiv(max(0, left), e.runs[at]))))
		return
	}
	most := min(e.p.Slots, ceilDiv(max(0, left), e.runs[at]))
	for c := 0; c <= most; c++ {
		e.spread(j, at+1, offset+c*stride, stride*(e.p.Slots+1), left-c*e.runs[at])
	}
}

// join extends every state by one way to print artwork j.
func (e *enumeration) join(j, offset int, last int32) {
	slots := int32(e.p.Slots)
	if last > slots {
		return
	}
	e.work -= int64(len(e.least) - offset)
	for from := 0; from+offset < len(e.least); from++ {
		v := e.least[from] + last
		if v > slots || v >= e.next[from+offset] || !e.noCarry(from, offset) {
			continue
		}
		e.next[from+offset] = v
		e.took[j][from+offset] = int32(offset)
	}
}

// noCarry reports that adding two states overfills no layout.
func (e *enumeration) noCarry(a, b int) bool {
	side := e.p.Slots + 1
	for range e.runs[1:] {
		if a%side+b%side >= side {
			return false
		}
		a /= side
		b /= side
	}
	return true
}

// trace follows the choices back to layouts.
func (e *enumeration) trace() []Layout {
	layouts := make([]Layout, len(e.runs))
	for i := range layouts {
		layouts[i] = Layout{make([]int, len(e.p.Need)), e.runs[i]}
	}
	state := 0
	for i, v := range e.least {
		if v < e.least[state] {
			state = i
		}
	}
	last := len(e.runs) - 1
	for j := len(e.p.Need) - 1; j >= 0; j-- {
		offset := int(e.took[j][state])
		state -= offset
		left := e.p.Need[j]
		for i := range last {
			layouts[i].Copies[j] = offset % (e.p.Slots + 1)
			left -= layouts[i].Copies[j] * e.runs[i]
			offset /= e.p.Slots + 1
		}
		layouts[last].Copies[j] = ceilDiv(max(0, left), e.runs[last])
	}
	return layouts
}
