package wear

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/bits"
	"slices"

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
		w[4+i] = wordOf(x)
	}
	return w
}

func (w *words) piece(staff string, sku programme.SKU) programme.Piece {
	number := func(i int) float64 { return numberOf(w[i]) }
	set := func(i int) bool { return w[0]&(1<<i) != 0 }
	return programme.Piece{
		StaffID: staff, SKU: sku,
		Issued: programme.Date(uint32(w[1])), Since: programme.Date(uint32(w[2])), Ended: programme.Date(uint32(w[3])),
		Washes: number(4), EntryWashes: number(5), FromWashes: number(6), ToWashes: number(7),
		UnseenDays: number(8), LateWashes: number(9), LateDays: number(10), AwayDays: number(11), Part: number(12),
		Assumed: set(0), Alike: set(1), Replaced: set(2), Shelved: set(3), Kept: set(4), Implied: set(5),
		Reissued: set(6),
	}
}

// Pack puts pieces in service into little room until Unpack, and lets go of all others
// but those that ended, where they are to be kept: for a history that has been
// learnt from and waits for what other clients teach.
func (h *History) Pack(ended bool) {
	if h.parts = nil; !ended {
		h.Ended = nil
	}
	to := packed{bytes: make([]byte, 0, 32*len(h.InService))}
	var last words
	staff, skus := places[string]{at: map[string]int32{}}, places[programme.SKU]{at: map[programme.SKU]int32{}}
	for i := range h.InService {
		p := &h.InService[i]
		of, now := holdingOf{staff.of(p.StaffID), skus.of(p.SKU)}, wordsOf(p)
		another := len(to.holdings) == 0 || to.holdings[len(to.holdings)-1] != of
		if another {
			to.holdings = append(to.holdings, of)
		}
		to.bytes = appendChanged(to.bytes, now[:], last[:], another)
		last = now
	}
	to.bytes, to.holdings = bytes.Clone(to.bytes), slices.Clone(to.holdings) // without the room for more
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
	h.InService = make([]programme.Piece, 0, h.packed.number)
	var now words
	at := -1
	for range h.packed.number {
		another := false
		if from, another = readChanged(from, now[:]); another {
			at++
		}
		of := h.packed.holdings[at]
		h.InService = append(h.InService, now.piece(h.packed.staff[of.staff], h.packed.skus[of.sku]))
	}
	h.packed = nil
}

// appendChanged appends those words that differ from the last ones, and before them which
// these are and a flag.
func appendChanged(to []byte, now, last []uint64, flag bool) []byte {
	differ := uint64(0)
	if flag {
		differ = 1
	}
	for i := range now {
		if now[i] != last[i] {
			differ |= 2 << i
		}
	}
	to = binary.AppendUvarint(to, differ)
	for i := range now {
		if differ&(2<<i) != 0 {
			to = binary.AppendUvarint(to, now[i])
		}
	}
	return to
}

// readChanged reads what appendChanged appended into now, which holds the last ones, and
// returns what follows.
func readChanged(from []byte, now []uint64) (rest []byte, flag bool) {
	differ, n := binary.Uvarint(from)
	from = from[n:]
	for i := range now {
		if differ&(2<<i) != 0 {
			now[i], n = binary.Uvarint(from)
			from = from[n:]
		}
	}
	return from, differ&1 != 0
}

// Round numbers become small words.
func wordOf(x float64) uint64   { return bits.ReverseBytes64(math.Float64bits(x)) }
func numberOf(w uint64) float64 { return math.Float64frombits(bits.ReverseBytes64(w)) }

// packedLives holds lives in a third of their room, each as what differs from the one before.
type packedLives struct {
	bytes  []byte
	number int
}

type lifeWords [13]uint64

func packLives(lives []life) (p packedLives) {
	p.bytes = make([]byte, 0, 64*len(lives))
	var last lifeWords
	for i := range lives {
		l := &lives[i]
		now := lifeWords{uint64(l.cause)}
		for j, set := range [...]bool{l.known, l.ended, l.good} {
			if set {
				now[0] |= 1 << (8 + j)
			}
		}
		for j, x := range l.numbers() {
			now[1+j] = wordOf(*x)
		}
		now[2] ^= now[3] // mostly the same
		now[5] ^= wordOf(l.meanPace())
		p.bytes = appendChanged(p.bytes, now[:], last[:], false)
		last = now
	}
	p.bytes, p.number = bytes.Clone(p.bytes), len(lives)
	return p
}

// unpack appends the lives as they were.
func (p *packedLives) unpack(to []life) []life {
	to = slices.Grow(to, p.number)
	from := p.bytes
	var now lifeWords
	for range p.number {
		from, _ = readChanged(from, now[:])
		l := life{cause: programme.Cause(now[0] & 0xff), known: now[0]&(1<<8) != 0, ended: now[0]&(1<<9) != 0,
			good: now[0]&(1<<10) != 0}
		plain := now
		plain[2] ^= plain[3]
		for j, x := range l.numbers() {
			*x = numberOf(plain[1+j])
		}
		l.pace = numberOf(plain[5] ^ wordOf(l.meanPace()))
		to = append(to, l)
	}
	return to
}

// meanPace is the pace of most lives: that from the first to the last sign of life.
func (l *life) meanPace() float64 {
	if l.days <= 0 {
		return 0
	}
	return (l.to - l.entry) / l.days
}

// numbers are all numbers of a life, from and to the second and the third.
func (l *life) numbers() [12]*float64 {
	return [...]*float64{&l.entry, &l.from, &l.to, &l.days, &l.pace, &l.count, &l.unseenDays, &l.hidden, &l.lateFrom,
		&l.lateDays, &l.late, &l.blur}
}
