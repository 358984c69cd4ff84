package handover

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Heap is more pieces of one garment in one person's hands than anybody wears,
// as a ledger says when one of its columns holds something else than pieces.
type Heap struct {
	StaffID string
	SKU     programme.SKU
	Held    int // issued less ended, by this file alone
	Each    int // what the kit of the person has; 0 = nothing of it
}

func (h *Heap) text() string {
	return fmt.Sprintf("by this ledger %s would hold %d pieces of %s at once, and the kit has %d of them. Nothing was imported. Look at the column of pieces; if it is right, import the file again with --yes",
		h.StaffID, h.Held, strings.ReplaceAll(h.SKU.String(), "/", " "), h.Each)
}

// Whoever never writes down an ending has some twenty kits on record after as
// many renewals; beyond that, and beyond a hundred pieces, it is asked about.
const (
	heapKits   = 20
	heapPieces = 100
)

// largestHeap returns the largest of the heaps that movements make, or nil.
func largestHeap(client *programme.Client, people []programme.Person, moves []programme.Movement) *Heap {
	type holding struct {
		staff string
		sku   programme.SKU
	}
	held := map[holding]int{}
	for i := range moves {
		m := &moves[i]
		switch m.Kind {
		case programme.Issued:
			held[holding{m.StaffID, m.SKU}] += m.Pieces
		case programme.Ended:
			held[holding{m.StaffID, m.SKU}] -= m.Pieces
		case programme.Counted: // moves nothing
		}
	}
	roles := make(map[string]string, len(people))
	for i := range people {
		roles[people[i].StaffID] = people[i].Role
	}
	var largest *Heap
	order := func(a, b holding) int { return strings.Compare(a.staff+" "+a.sku.String(), b.staff+" "+b.sku.String()) }
	for _, h := range slices.SortedFunc(maps.Keys(held), order) {
		each := inKit(client, roles[h.staff], h.sku)
		if n := held[h]; n > max(heapPieces, heapKits*each) && (largest == nil || n > largest.Held) {
			largest = &Heap{StaffID: h.staff, SKU: h.sku, Held: n, Each: each}
		}
	}
	return largest
}

// inKit returns how many pieces of a garment and colour a role's kit has.
func inKit(client *programme.Client, code string, sku programme.SKU) (each int) {
	role, ok := client.Role(code)
	if !ok {
		return 0
	}
	if l, ok := role.Line(sku.Garment, sku.Colour); ok {
		return l.Each
	}
	return 0
}
