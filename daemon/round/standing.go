package round

import (
	"context"

	"github.com/kitmuster/kitmuster/programme/reorder"
)

// keepAnswers takes back what would be proposed against a no or a not now that
// still holds.
func (p *Plan) keepAnswers(ctx context.Context) error {
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal == nil {
			continue
		}
		past, err := p.forecaster.books.Store.Proposals(ctx, e.Client.Code, reorder.Declined, reorder.PutOff)
		if err != nil {
			return err
		}
		for j := range past {
			s, holds := reorder.Stands(&past[j], e.Proposal, p.AsOf, 7*e.Client.CoverWeeks)
			if !holds {
				continue
			}
			e.Proposal, e.Decision.Due = nil, false
			e.Decision.NextDue = max(p.NextRound, s.Until)
			break
		}
	}
	return nil
}
