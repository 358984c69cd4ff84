package sheet

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// tidy lays the images of a sheet so that equal ones lie together where that is
// possible within a height: it is cut apart by hand. A trimmer's sheets are left
// as they are, their columns are of one piece anyway; for its rolls see keepHandy.
func (f *field) tidy(places []pack.Place, height int64) []pack.Place {
	if f.kind.Cut == programme.Trimmer || f.trial {
		return places
	}
	pieces := make([]pack.Piece, len(f.wants))
	for i, w := range f.wants {
		pieces[i] = f.piece(w, 1)
	}
	return pack.Tidy(pieces, f.width, height, places)
}

// handsWorth is the extra that may be paid for a roll that is cut apart in fewer
// islands: as much again lies between the steps at which it is worked out anew,
// so that it never comes to more than 0.3 % together.
const handsWorth = 0.0015

// note remembers the height from which the roll is tidied. It is taken anew only
// where the search has saved more than tidying may cost, so that a longer search
// never ends dearer than a shorter one.
func (t *rollTask) note() {
	_, lengths := t.best()
	if len(lengths) != 1 {
		return
	}
	if t.level == 0 || float64(lengths[0])*(1+handsWorth) < float64(t.level) {
		t.level = lengths[0]
	}
}

// tidyOne tidies a roll in one piece, within what its length costs already or a
// little more.
func (t *rollTask) tidyOne(rolls [][]pack.Place, lengths []int64) {
	if len(lengths) != 1 || t.level == 0 || t.kind.Cut == programme.Trimmer || t.trial {
		return
	}
	paid := float64(t.cost([]int64{t.level}).Total())
	most := lengths[0]
	free := int64(t.tariff.charged(t.outer(t.level)) - t.outer(t.level)) // charged anyway
	for _, length := range []int64{t.level, t.level + free, int64(math.Floor(float64(t.level) * (1 + handsWorth)))} {
		if length <= t.height && float64(t.cost([]int64{length}).Total()) <= paid*(1+handsWorth) {
			most = max(most, length)
		}
	}
	rolls[0] = t.tidy(rolls[0], most)
	lengths[0] = 0
	for _, p := range rolls[0] {
		lengths[0] = max(lengths[0], p.Y+p.H)
	}
}
