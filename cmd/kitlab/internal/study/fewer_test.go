package study_test

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/study"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// halfYear is what becomes of a client in half a year under one way of answering.
type halfYear struct {
	missing int // piece-weeks that somebody waits for a piece
	asked   []*reorder.Proposal
}

// answering lets a client live for forty weeks under all that is proposed and for half a year in which of
// every line only that part is agreed.
func answering(st *market.Study, s *market.Subject, part float64) (h halfYear) {
	const from, weeks = 40, 66
	week := 0
	way := study.Answered(st, s, func(p *reorder.Proposal) error {
		if week < from {
			return nil
		}
		h.asked = append(h.asked, p)
		var list []reorder.LineChange
		for i := range p.Lines {
			l := &p.Lines[i]
			list = append(list, reorder.LineChange{SKU: l.SKU, Pieces: int(float64(l.Order)*part + 0.5)})
		}
		_, err := p.Change(&st.Shop, &s.Client, list)
		return err
	})
	s.Run(func(v *market.View) market.Decision {
		week++
		if week >= from {
			for _, n := range v.Owed {
				h.missing += n
			}
		}
		return way(v)
	}, weeks)
	return h
}

// Clients who take a third of what is suggested, again and again, wait for less than twice as many pieces as those who
// take all of it: what they took is followed when it runs out. They are asked more often for that, but not every Monday.
func TestWhoTakesAThirdIsServedAndNotNagged(t *testing.T) {
	codes, seeds := []string{"quillbank", "larkspindle", "plumcote", "sallowgate"}, []uint64{1, 2}
	if os.Getenv("KITMUSTER_FULL") == "1" {
		codes, seeds = nil, []uint64{1, 2, 3, 4}
	}
	var all, third, mails, more int
	for _, seed := range seeds {
		st := market.NewHouse(simulate.AroundPrior, programme.NewDate(2024, 3, 4), seed)
		for i := range st.Subjects {
			s := &st.Subjects[i]
			if len(codes) > 0 && !slices.Contains(codes, s.Client.Code) {
				continue
			}
			s.Terms.LeadDays = 7 * ((reorder.LeadOfClient(&st.Shop, &s.Client).Days() + 6) / 7)
			a, b := answering(&st, s, 1), answering(&st, s, 1.0/3)
			t.Logf("%d %s: all %d missing weeks, asked %d times; a third %d, %d times", seed, s.Client.Code, a.missing,
				len(a.asked), b.missing, len(b.asked))
			all, third, mails, more = all+a.missing, third+b.missing, mails+len(a.asked), more+len(b.asked)
			for j := 1; j < len(b.asked); j++ {
				if p := b.asked[j]; len(p.Events) == 0 {
					require.GreaterOrEqual(t, p.AsOf, b.asked[j-1].Arrives, "%s: not before the last has come",
						s.Client.Code)
				}
			}
		}
	}
	t.Logf("all %d missing weeks, asked %d times; a third %d, %d times", all, mails, third, more)
	require.Less(t, third, 2*all, "where a third is left alone as long as all of it, more than three times as many")
	require.Less(t, 2*more, 5*mails)
}
