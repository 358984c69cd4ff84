package demand

import (
	"fmt"
	"math"
	"time"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// doubtful is the share of endings, or of pieces in service, from which a gap in
// the records is told.
const doubtful = 0.1

// Evidence returns what the records say of lives, all classes together.
func (in *Input) Evidence() (sum wear.Evidence) {
	for _, k := range in.Learnt {
		sum = sum.Plus(k.Evidence)
	}
	return sum
}

// Doubts says in sentences where the records leave so much out that whoever reads the forecast should know what was
// made of it.
func (in *Input) Doubts() []string {
	h, endings := &in.History, in.Evidence().Replaced()
	held := len(h.InService)
	var out []string
	say := func(n, of int, format string, args ...any) {
		if n > 0 && float64(n) >= doubtful*float64(of) {
			out = append(out, fmt.Sprintf(format, args...))
		}
	}
	say(h.Implied-h.Received, endings, "%d pieces were handed out beyond the kits with no ending on record; each is read as one that ended that day, of unknown cause. "+
		"Write down what is thrown out and why, or set old_pieces_kept in the programme if the old ones stay in use.",
		h.Implied-h.Received)
	say(h.Unmatched, endings, "%d endings are on record for pieces that nobody was known to hold; they were passed over. Hand-overs are missing from the ledger.", h.Unmatched)
	say(h.Surplus, held, "%d pieces were counted that no hand-over tells of; they are taken to be there, half-way through their lives. Enter them as issued on their day, if you know it.", h.Surplus)
	if h.Hidden > 0 && !h.Counts && h.Hidden >= 2*doubtful {
		out = append(out, fmt.Sprintf("Pieces are on the books that are too old to be in use: about %.0f in 100 endings seem not to be written down at all. A count would show what is there.", 100*h.Hidden))
	}
	if in.SeasonLearnt {
		hard, soft := in.hardestAndSoftest()
		w := in.Client.Work.WearByMonth
		out = append(out, fmt.Sprintf("Pieces wear hardest in %s (%.1f times the usual) and least in %s (%.1f), by when they ended so far; the forecast reckons with it. "+
			"wear_by_month in the programme says it better.", hard, w[hard-1], soft, w[soft-1]))
	}
	if late := in.backlog(); late >= 2 {
		out = append(out, fmt.Sprintf("Endings come into the books late, nine in ten of them within %s. Some %d of that time are probably not entered yet; "+
			"the forecast counts them as needed now.", spanOf(h.Late.Within), late))
	}
	return out
}

// hardestAndSoftest are the months that wear most and least.
func (in *Input) hardestAndSoftest() (hard, soft time.Month) {
	hard, soft = time.January, time.January
	w := &in.Client.Work.WearByMonth
	for m := time.February; m <= time.December; m++ {
		if w[m-1] > w[hard-1] {
			hard = m
		}
		if w[m-1] < w[soft-1] {
			soft = m
		}
	}
	return hard, soft
}

// backlog returns the expected number of endings that are still to be entered.
func (in *Input) backlog() int {
	if in.History.Late.Share <= 0 {
		return 0
	}
	return int(math.Round(in.Book.Backlog(&in.History, in.Learnt)))
}

// spanOf says a number of days in words.
func spanOf(days int) string {
	if days < 14 {
		return fmt.Sprintf("%d days", days)
	}
	return fmt.Sprintf("%d weeks", (days+6)/7)
}
