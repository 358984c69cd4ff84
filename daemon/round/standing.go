package round

import (
	"context"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// keepAnswers takes back what would be proposed against a no or a not now that
// still holds, and notes those and the ones said since the last round, for the
// owner's mail.
func (p *Plan) keepAnswers(ctx context.Context) error {
	for i := range p.Entries {
		e := &p.Entries[i]
		past, err := p.books.Store.Proposals(ctx, e.Client.Code, reorder.Declined, reorder.PutOff)
		if err != nil {
			return err
		}
		for j := range past {
			if p.keepAnswer(e, &past[j]) {
				break
			}
		}
	}
	return nil
}

// keepAnswer reports whether that answer holds back the entry's proposal.
func (p *Plan) keepAnswer(e *Entry, past *reorder.Proposal) bool {
	if yes := p.forecaster.Orders[e.Client.Code]; yes != nil && yes.Answered > past.Answered {
		return false // they have ordered since: what they refused is history
	}
	cover := 7 * e.Client.CoverWeeks
	if cover == 0 { // the programme sets no limit: as long as what they refused was to last
		cover = max(0, past.CoverUntil.Sub(past.Answered))
	}
	said := message.Refused{Client: e.Client, Proposal: past, Until: past.Until}
	if past.Until.IsZero() {
		said.Until, said.More = past.Answered.Add(cover), true
	}
	recent := past.Answered > p.AsOf.Add(-p.books.Shop.ReviewDays) && p.AsOf < said.Until
	if e.Proposal == nil {
		if recent {
			e.Refused = append(e.Refused, said)
		}
		return false
	}
	if !reorder.Stands(past, e.Proposal, p.AsOf, cover) {
		return false
	}
	e.Refused = append(e.Refused, said)
	e.Proposal, e.Decision.Due = nil, false
	e.Decision.NextDue = max(p.NextRound, past.Until)
	return true
}
