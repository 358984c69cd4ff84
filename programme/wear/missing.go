package wear

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Doubt holds what may be missing unseen of one person's pieces of a garment, colour and size.
type Doubt struct {
	StaffID string
	programme.SKU
	Pieces int
	// Missing is the expected number of pieces that have ended since they were last seen, Noise its variance where
	// the share of unseen endings is known, and Slope its change with that share.
	Missing, Noise, Slope float64
}

// assumedMissing is the chance that a piece of past orders that nobody has
// counted is not there, or is not what the orders say (no source).
const assumedMissing = 0.25

// Doubts lists what may be missing of what is in service, in the history's order
// of people and pieces; sd is the standard deviation of what is believed of the
// share of endings that nobody writes down.
func (b *Book) Doubts(h *History, learnt map[Class]*Learnt) (list []Doubt, sd float64) {
	hid, wrote := float64(foundBefore+h.found), float64(writtenBefore+h.written)
	share := max(h.Hidden, hid/(hid+wrote))
	sd = math.Sqrt(hid * wrote / ((hid + wrote) * (hid + wrote) * (hid + wrote + 1)))
	believed, uses := b.believed(learnt), b.usesIn(h)
	for i := range h.InService {
		p := &h.InService[i]
		n := len(list)
		if n == 0 || list[n-1].StaffID != p.StaffID || list[n-1].SKU != p.SKU {
			list = append(list, Doubt{StaffID: p.StaffID, SKU: p.SKU})
			n++
		}
		d := &list[n-1]
		d.Pieces++
		if p.Assumed {
			d.Missing, d.Noise = d.Missing+assumedMissing, d.Noise+assumedMissing*(1-assumedMissing)
			continue
		}
		use, ok := uses.of(p)
		if !ok || p.UnseenDays <= 0 {
			continue
		}
		w := believed[use.Class]
		ended := -math.Expm1(-w.wearing(p.FromWashes, p.Washes) - w.mishap*p.UnseenDays)
		never, toCome := w.unwritten(p, share, h.Late.Share)
		g := never + toCome
		d.Missing, d.Noise = d.Missing+g, d.Noise+g*(1-g)
		d.Slope += ended * (1 - ended) / ((1 - ended + share*ended) * (1 - ended + share*ended))
	}
	return list, sd
}

// unwritten is Unwritten of a piece in service.
func (b *belief) unwritten(p *programme.Piece, hidden, late float64) (never, toCome float64) {
	if p.LateDays <= 0 || late <= 0 {
		return Gone(b.wearing(p.FromWashes, p.Washes)+b.mishap*p.UnseenDays, hidden), 0
	}
	before := b.wearing(p.FromWashes, p.LateWashes) + b.mishap*(p.UnseenDays-p.LateDays)
	return Unwritten(before, b.wearing(p.LateWashes, p.Washes)+b.mishap*p.LateDays, hidden, late)
}

// Backlog returns the expected number of pieces in service that have ended without an entry yet.
func (b *Book) Backlog(h *History, learnt map[Class]*Learnt) (pieces float64) {
	if h.Late.Share <= 0 {
		return 0
	}
	believed, uses := b.believed(learnt), b.usesIn(h)
	for i := range h.InService {
		p := &h.InService[i]
		if use, ok := uses.of(p); ok && !p.Assumed {
			_, toCome := believed[use.Class].unwritten(p, h.Hidden, h.Late.Share)
			pieces += toCome
		}
	}
	return pieces
}
