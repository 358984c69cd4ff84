package simulate

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// piece is one garment in somebody's hands with the ends that await it.
type piece struct {
	issued  programme.Date
	washes  float64
	life    float64 // washes at which cloth, print or label ends it
	cause   programme.Reason
	mishap  programme.Date // the day on which it would be lost or spoilt
	damaged bool           // spoilt rather than lost
}

// rack holds one person's pieces of one line of the kit, washed in rotation.
type rack struct {
	line         *programme.KitLine
	family       string
	sku          programme.SKU
	wearsPerWash float64
	pieces       []piece
	hidden       int // endings that nobody has written down
}

// washesPerDay returns how often one of n pieces in rotation is washed a day:
// wears a week / (wears per wash · n) / 7, see design.md section 4.
func (r *rack) washesPerDay(n int) float64 {
	return r.line.WearsAWeek / (r.wearsPerWash * float64(n) * 7)
}

// ending is a piece that ended on a day.
type ending struct {
	piece  piece
	on     programme.Date
	reason programme.Reason
}

// wear carries the rack from one day to another and appends the pieces that
// ended to out, in order of days. Fewer pieces left means that each is washed
// more often, so time advances from ending to ending.
func (r *rack) wear(from, to programme.Date, out []ending) []ending {
	for from < to && len(r.pieces) > 0 {
		perDay := r.washesPerDay(len(r.pieces))
		days := to.Sub(from)
		for i := range r.pieces {
			days = min(days, r.pieces[i].daysLeft(perDay, from))
		}
		from = from.Add(days)
		kept := r.pieces[:0]
		for _, p := range r.pieces {
			p.washes += perDay * float64(days)
			if reason, ended := p.endedBy(from); ended {
				out = append(out, ending{p, from, reason})
			} else {
				kept = append(kept, p)
			}
		}
		r.pieces = kept
	}
	return out
}

// slack absorbs rounding in sums of washes.
const slack = 1e-9

// daysLeft returns after how many whole days the piece will have ended, at least 1.
func (p *piece) daysLeft(perDay float64, today programme.Date) int {
	days := p.mishap.Sub(today)
	if wash := (p.life - p.washes - slack) / perDay; wash < float64(days) {
		days = int(math.Ceil(wash))
	}
	return max(days, 1)
}

func (p *piece) endedBy(day programme.Date) (programme.Reason, bool) {
	switch {
	case p.washes >= p.life-slack:
		return p.cause, true
	case day < p.mishap:
		return programme.NoReason, false
	case p.damaged:
		return programme.Damaged, true
	default:
		return programme.Lost, true
	}
}
