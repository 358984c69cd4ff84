package wear

import (
	"encoding/binary"
	"math"
	"math/bits"

	"github.com/kitmuster/kitmuster/programme"
)

// packed holds pieces in a fifth of their room, and without a pointer for each: of a
// piece it keeps what differs from the piece before, which mostly is the same
// person's and often handed out on the same day.
type packed struct {
	bytes    []byte
	holdings []holdingOf
	staff    []string
	skus     []programme.SKU
	number   int
}

// holdingOf is whose a piece is, and of what: places in packed.
type holdingOf struct{ staff, sku int32 }

// places gives each of some values its place in a list.
type places[T comparable] struct {
	list []T
	at   map[T]int32
}

func (p *places[T]) of(x T) int32 {
	i, known := p.at[x]
	if !known {
		i = int32(len(p.list))
		p.list, p.at[x] = append(p.list, x), i
	}
	return i
}

// words holds a piece in service but for whose it is and of what. It has no reason of an ending.
type words [13]uint64

func wordsOf(p *programme.Piece) words {
	flags := uint64(0)
	for i, set := range [...]bool{p.Assumed, p.Alike, p.Replaced, p.Shelved, p.Kept, p.Implied, p.Reissued} {
		if set {
			flags |= 1 << i
		}
	}
	w := words{flags, uint64(uint32(p.Issued)), uint64(uint32(p.Since)), uint64(uint32(p.Ended))}
	for i, x := range [...]float64{
		p.Washes, p.EntryWashes, p.FromWashes, p.ToWashes, p.UnseenDays, p.LateWashes, p.LateDays, p.AwayDays, p.Part,
	} {
		w[4+i] = bits.ReverseBytes64(math.Float64bits(x)) // round numbers become small
	}
	return w
}

func (w *words) piece(staff string, sku programme.SKU) programme.Piece {
	number := func(i int) float64 { return math.Float64frombits(bits.ReverseBytes64(w[i])) }
	set := func(i int) bool { return w[0]&(1<<i) != 0 }
	return programme.Piece{
		StaffID: staff, SKU: sku,
		Issued: programme.Date(uint32(w[1])), Since: programme.Date(uint32(w[2])), Ended: programme.Date(uint32(w[3])),
		Washes: number(4), EntryWashes: number(5), FromWashes: number(6), ToWashes: number(7),
		UnseenDays: number(8), LateWashes: number(9), LateDays: number(10), AwayDays: number(11), Part: number(12),
		Assumed: set(0), Alike: set(1), Replaced: set(2), Shelved: set(3), Kept: set(4), Implied: set(5), Reissued: set(6),
	}
}

// Pack puts pieces in service into little room until Unpack, and lets go of all others
// but those that ended, where they are to be kept: for a history that has been
// learnt from and waits for what other clients teach.
func (h *History) Pack(ended bool) {
	if h.parts = nil; !ended {
		h.Ended = nil
	}
	var to packed
	var last words
	staff, skus := places[string]{at: map[string]int32{}}, places[programme.SKU]{at: map[programme.SKU]int32{}}
	for i := range h.InService {
		p := &h.InService[i]
		of, now := holdingOf{staff.of(p.StaffID), skus.of(p.SKU)}, wordsOf(p)
		differ := uint64(0) // the lowest bit says that the holding is another
		if n := len(to.holdings); n == 0 || to.holdings[n-1] != of {
			to.holdings, differ = append(to.holdings, of), 1
		}
		for j := range now {
			if now[j] != last[j] {
				differ |= 2 << j
			}
		}
		to.bytes = binary.AppendUvarint(to.bytes, differ)
		for j := range now {
			if differ&(2<<j) != 0 {
				to.bytes = binary.AppendUvarint(to.bytes, now[j])
			}
		}
		last = now
	}
	to.number, to.staff, to.skus = len(h.InService), staff.list, skus.list
	h.InService, h.roles, h.packed = nil, nil, &to
}

// Unpack brings the pieces in service of these staff back as they were before Pack;
// without one before it does nothing.
func (h *History) Unpack(staff []programme.Person) {
	if h.packed == nil {
		return
	}
	h.roles = rolesOf(staff)
	from := h.packed.bytes
	read := func() uint64 {
		x, n := binary.Uvarint(from)
		from = from[n:]
		return x
	}
	h.InService = make([]programme.Piece, 0, h.packed.number)
	var now words
	at := -1
	for range h.packed.number {
		differ := read()
		at += int(differ & 1)
		for j := range now {
			if differ&(2<<j) != 0 {
				now[j] = read()
			}
		}
		of := h.packed.holdings[at]
		h.InService = append(h.InService, now.piece(h.packed.staff[of.staff], h.packed.skus[of.sku]))
	}
	h.packed = nil
}
