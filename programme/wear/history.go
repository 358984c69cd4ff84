package wear

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// History is every piece the ledger knows of, with its age in washes.
type History struct {
	// InService are pieces in active hands on the date asked for, washes up to it.
	InService []programme.Piece
	// Ended are all others: ended with a reason, missing at a count, returned
	// or kept by a leaver.
	Ended []programme.Piece
	// Unmatched counts endings of pieces nobody was known to hold, and Surplus
	// pieces counted beyond those issued: movements the ledger lacks.
	Unmatched, Surplus int
	// Implied counts endings that nobody wrote down and that were read from pieces
	// handed out beyond the kit; of Received ones it was said when their proposal was
	// received that the old ones are gone.
	Implied, Received int
	// Hidden is the share of endings that nobody writes down until a count shows
	// them, as counts so far tell, or leavers' pieces; 0 where nothing tells.
	Hidden float64
	// Late tells how far entries lag behind.
	Late Late
	// Overfull is the first holding whose endings were no longer shared over alike
	// pieces, because there are too many of both; nil where all are. From it on the
	// oldest of them ended, which is not what is believed of them.
	Overfull *programme.Movement
	// Counts says that counts are held or expected, so that what is hidden comes to
	// light and is replaced; else nobody will ask for it.
	Counts bool
	// Suspicions are the groups of pieces that wear faster than the others.
	Suspicions []Suspicion
	roles      map[string]string // by person; none between Pack and Unpack
	// endings up to a holder's last count: written down, and found by a count
	written, found int
	counted        bool
	shares         int // parts of endings so far
	// parts holds what pieces in service that may be of several batches teach.
	parts []programme.Piece
	// paces holds the paces of people who differ from the others.
	paces map[string]Pace
	// bad is the delivery that wears out faster; nil = there is none.
	bad *badDelivery
	// returns names people of whom pieces that came back are written down.
	returns map[string]bool
	// packed holds InService between Pack and Unpack.
	packed *packed
}

// Trace turns movements up to and including asOf into pieces. n(t), the pieces
// of a garment and colour in one person's rotation (or of garments and colours that
// took each other's place), is what the ledger says on each day; a week of rotation gives each of them PerWeek/n
// washes. Of alike pieces, an ending takes a part of each that may be the one. Pieces missing at a
// count ended between the last sign of life (issue or count) and the count;
// rotation takes them out half-way between. A piece handed out beyond the kit is
// the ending of one that nobody wrote down.
func (b *Book) Trace(staff []programme.Person, ledger []programme.Movement, asOf programme.Date) History {
	people := make(map[string]*programme.Person, len(staff))
	for i := range staff {
		people[staff[i].StaffID] = &staff[i]
	}
	holdings := b.holdings(people)
	moves := holdings.sorted(ledger, asOf)
	h := History{
		roles: rolesOf(staff), returns: map[string]bool{},
		InService: make([]programme.Piece, 0, len(moves)/2), Ended: make([]programme.Piece, 0, len(moves)/2),
	}
	for _, m := range moves {
		if m.Kind == programme.Ended && m.Reason == programme.LeftReason {
			h.returns[m.StaffID] = true
		}
	}
	r := rotation{believe: make(map[*Terms]*belief, len(b.order))}
	if h.Late = lateness(moves, asOf); h.Late.Days > 0 {
		r.lateFrom = asOf.Add(-h.Late.Days)
	}
	for _, c := range b.order {
		r.believe[b.terms[c]] = b.terms[c].belief()
	}
	for len(moves) > 0 {
		n := 1
		for n < len(moves) && holdings.same(moves[n], moves[0]) {
			n++
		}
		r.run(b, people[moves[0].StaffID], moves[:n], asOf, &h)
		moves = moves[n:]
	}
	h.hide(b.client.CountEveryWeeks > 0)
	return h
}

func rolesOf(staff []programme.Person) map[string]string {
	roles := make(map[string]string, len(staff))
	for i := range staff {
		roles[staff[i].StaffID] = staff[i].Role
	}
	return roles
}

// Before the first counts it is believed, as from ten endings, that one in ten
// is not written down (common practice, no source).
const writtenBefore, foundBefore = 9, 1

// hide works out how many endings stay hidden until a count, where counts are
// held or expected.
func (h *History) hide(expected bool) {
	h.Counts = h.counted || expected
	if h.Counts || h.found > 0 {
		h.Hidden = float64(foundBefore+h.found) / float64(writtenBefore+foundBefore+h.written+h.found)
	}
}

// holdings tells which movements are of one person's pieces of one place in the kit.
type holdings struct {
	people map[string]*programme.Person
	// first is, of lines that took the place of others or are cuts of them, the first of them; nil where
	// no kit has such.
	first map[useKey]programme.Former
}

func (b *Book) holdings(people map[string]*programme.Person) *holdings {
	h := &holdings{people: people}
	for key, u := range b.uses {
		if u.place != (programme.Former{}) {
			if h.first == nil {
				h.first = map[useKey]programme.Former{}
			}
			h.first[key] = u.place
		}
	}
	return h
}

// place is the garment and colour that stand for a movement's place in the kit.
func (h *holdings) place(m *programme.Movement) (garment, colour string) {
	if h.first != nil {
		role := ""
		if p := h.people[m.StaffID]; p != nil {
			role = p.Role
		}
		if f, ok := h.first[useKey{role, m.SKU.Garment, m.SKU.Colour}]; ok {
			return f.Garment, f.Colour
		}
	}
	return m.SKU.Garment, m.SKU.Colour
}

// sorted returns the movements up to and including asOf, those of one person's place in
// the kit together, in the order of compare and else of the ledger.
func (h *holdings) sorted(ledger []programme.Movement, asOf programme.Date) []*programme.Movement {
	type row struct{ holding, at int32 }
	of, order := places[whose]{at: map[whose]int32{}}, make([]row, 0, len(ledger))
	for i := range ledger {
		if m := &ledger[i]; m.Date <= asOf {
			garment, colour := h.place(m)
			order = append(order, row{of.of(whose{m.StaffID, garment, colour}), int32(i)})
		}
	}
	// Texts are compared once for each holding, and not for each pair of rows.
	byName, turn := make([]int32, len(of.list)), make([]int32, len(of.list))
	for i := range byName {
		byName[i] = int32(i)
	}
	slices.SortFunc(byName, func(a, b int32) int { return of.list[a].compare(&of.list[b]) })
	for i, holding := range byName {
		turn[holding] = int32(i)
	}
	// With the place in the ledger as the last word it is stable, in half the time of a stable sort.
	slices.SortFunc(order, func(a, b row) int {
		if a.holding != b.holding {
			return cmp.Compare(turn[a.holding], turn[b.holding])
		}
		return cmp.Or(compare(&ledger[a.at], &ledger[b.at]), cmp.Compare(a.at, b.at))
	})
	moves := make([]*programme.Movement, len(order))
	for i, r := range order {
		moves[i] = &ledger[r.at]
	}
	return moves
}

// whose is one person's place in the kit.
type whose struct{ staff, garment, colour string }

func (w *whose) compare(o *whose) int {
	return cmp.Or(cmp.Compare(w.staff, o.staff), cmp.Compare(w.garment, o.garment), cmp.Compare(w.colour, o.colour))
}

// compare sorts movements of one holding by day: what came in before what went out, and counts last.
func compare(a, b *programme.Movement) int {
	return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(rank(a.Kind), rank(b.Kind)))
}

func (h *holdings) same(a, b *programme.Movement) bool {
	return a.StaffID == b.StaffID && (a.SKU.Garment == b.SKU.Garment && a.SKU.Colour == b.SKU.Colour || h.alike(a, b))
}

func (h *holdings) alike(a, b *programme.Movement) bool {
	garmentA, colourA := h.place(a)
	garmentB, colourB := h.place(b)
	return garmentA == garmentB && colourA == colourB
}

func rank(k programme.MovementKind) int {
	switch k {
	case programme.Issued:
		return 0
	case programme.Ended:
		return 1
	default:
		return 2
	}
}
