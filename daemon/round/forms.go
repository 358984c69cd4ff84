package round

import (
	"context"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// isNew reports whether the entry's proposal is one that needs a number.
func (e *Entry) isNew() bool { return e.Proposal != nil && e.Before == nil }

// continueForms gives each proposal the number of the one that the client has
// not answered. The older form stands where a customer would notice no
// difference; else the new one is its next form.
func (p *Plan) continueForms(ctx context.Context) error {
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal == nil {
			continue
		}
		open, err := p.books.Store.Proposals(ctx, e.Client.Code, reorder.Unsettled()...)
		if err != nil {
			return err
		}
		if len(open) == 0 {
			continue
		}
		oldest := &open[len(open)-1] // newest first
		for j := range open[:len(open)-1] {
			e.Replaces = append(e.Replaces, &open[j])
		}
		if err := e.continues(p.books.Shop, oldest, p.AsOf); err != nil {
			return err
		}
	}
	return nil
}

// continues makes the entry's proposal the next form of an older one or, where
// nobody would notice, that one.
func (e *Entry) continues(shop *programme.Shop, old *reorder.Proposal, asOf programme.Date) error {
	if err := e.Proposal.Keep(shop, e.Client, old); err != nil {
		return err
	}
	e.Before, e.Differs = old, reorder.Noticeable(old, e.Proposal)
	again := old.State == reorder.PutOff // its day has come: they are asked anew
	if asOf < old.AsOf || len(e.Differs) == 0 && !again {
		stands := *old
		stands.Suppliers = slices.Clone(old.Suppliers)
		stands.WithoutPrinters(shop)
		e.Now, e.Proposal, e.Stands = e.Proposal, &stands, true
		return nil
	}
	e.Proposal.Continue(old)
	return nil
}

// commitForm stores the next form of a proposal that nobody has answered.
func (e *Entry) commitForm(tx *store.Tx, shop *programme.Shop, roundID int64, asOf programme.Date) error {
	p := e.Proposal
	revise := answer.Answer{Number: p.Number, Event: reorder.Revise, Day: max(asOf, p.Since()), Note: e.formNote(shop)}
	if _, err := answer.Record(tx, shop, e.Client, revise, 0, nil); err != nil {
		return err
	}
	if err := tx.UnlinkSheets(p.Number); err != nil {
		return err
	}
	return tx.ReviseProposal(roundID, p)
}

// formNote says in the history what is other than in the form before.
func (e *Entry) formNote(shop *programme.Shop) string {
	var words []string
	for _, d := range e.Differs {
		words = append(words, d.Words(shop.DateStyle.Date,
			func(m programme.Money) string { return m.In(shop.Currency) },
			func(k programme.SKU) string { return answer.Name(shop, k) }))
	}
	if len(words) == 0 {
		return "asked again"
	}
	return strings.Join(words, "; ")
}
