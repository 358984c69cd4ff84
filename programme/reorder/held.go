package reorder

import "github.com/kitmuster/kitmuster/programme"

// HoldAnswer is an answer about clothing that waits for a person's yes.
type HoldAnswer struct {
	programme.SKU
	Yes    bool
	Pieces int // that the yes ordered, or that the no was about
	On     programme.Date
}

// Holds returns the protective clothing that waits for a person's yes, whatever was
// answered before.
func Holds(in *Input) []Hold { return newSituation(in).holds() }

// Unanswered leaves out what was answered already: for as long as an order is
// meant to last, a yes also stands for the few pieces that become due after it,
// and a no for those that it was about and a few more. What has grown by what
// would be noticed is asked about anew.
func Unanswered(holds []Hold, said []HoldAnswer, asOf programme.Date, coverDays int) []Hold {
	by := make(map[programme.SKU]HoldAnswer, len(said))
	for _, a := range said {
		by[a.SKU] = a
	}
	var out []Hold
	for _, h := range holds {
		a, answered := by[h.SKU]
		if !answered || asOf < a.On || asOf >= a.On.Add(coverDays) || a.grown(h.Pieces) {
			out = append(out, h)
		}
	}
	return out
}

// grown reports whether so many pieces are noticeably more than were answered
// for: after a yes those ordered are on their way and not among them.
func (a *HoldAnswer) grown(pieces int) bool {
	if a.Yes {
		pieces += a.Pieces
	}
	return pieces > a.Pieces && apart(pieces, a.Pieces, 2*noticedPieces, 2*noticedShare)
}

// usualCoverDays is the number of days for which an answer stands where a client has no cover of its own.
const usualCoverDays = 91

// AnswerDays returns how long an answer about held clothing of a client stands.
func AnswerDays(client *programme.Client) int {
	if client.CoverWeeks > 0 {
		return 7 * client.CoverWeeks
	}
	return usualCoverDays
}
