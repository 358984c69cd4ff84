// Package round runs over all clients: from the shop's books to proposals,
// transfer sheets and messages, committed together.
package round

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Options say which round to run.
type Options struct {
	AsOf programme.Date
	// Slot is the scheduled slot it is made for; a slot that has had its round
	// is not run again. Empty for a round by hand.
	Slot string
	// Clients limits the round to these codes; none = all.
	Clients []string
	// From is the sender of the messages; empty = the owner.
	From programme.Contact
	// Now is the moment of the messages' date headers.
	Now time.Time
	// Reached is told how far the round has come; nil = nobody asks.
	Reached func(Stage)
}

// Stage is a point on the way of a round.
type Stage string

// Stages of a round, in order.
const (
	Composed  Stage = "composed"  // all is worked out, nothing is stored
	Written   Stage = "written"   // stored, but for the commit
	Committed Stage = "committed" // there to stay
)

func (o *Options) reached(s Stage) {
	if o.Reached != nil {
		o.Reached(s)
	}
}

// Result is the result of a round.
type Result struct {
	Plan     *Plan
	Number   int64 // of the round
	Messages []Message
	// Again is true when the slot had had its round already; nothing was done.
	Again bool
}

// Run computes a round and commits its proposals, sheets and messages in one
// transaction: all of it is there afterwards, or nothing.
func Run(ctx context.Context, b *books.Books, opt Options) (*Result, error) {
	if opt.Slot != "" {
		if r, done, err := b.Store.RoundOfSlot(ctx, opt.Slot); err != nil || done {
			return &Result{Number: r.ID, Again: true}, err
		}
	}
	if opt.From.Email == "" {
		opt.From = b.Shop.Owner
	}
	for try := 1; ; try++ {
		res, err := once(ctx, b, opt, try > strictTries)
		if err == nil || !errors.Is(err, errOvertaken) || try == mostTries {
			return res, err
		}
	}
}

// A round takes seconds to a minute, in which people go on working. What changed
// meanwhile is read again and computed anew. In a house where something is
// entered all the time, entries made during the later tries wait for the next
// round; an answer to a proposal, or another programme, never does.
const (
	mostTries   = 6
	strictTries = 3
)

// errOvertaken says that what the round had read was changed before it was recorded.
var errOvertaken = errors.New("the records were changed again and again while the round was worked out; run it once more")

// once computes a round and commits it, unless what it read was changed
// meanwhile; agreedAlone passes over entries.
func once(ctx context.Context, b *books.Books, opt Options, agreedAlone bool) (*Result, error) {
	before, err := b.Store.Marks(ctx)
	if err != nil {
		return nil, err
	}
	plan, err := Make(ctx, b, opt.AsOf, opt.Clients...)
	if err != nil {
		return nil, err
	}
	letters, err := newSpool(b.Home)
	if err != nil {
		return nil, err
	}
	defer letters.close()
	res, err := compose(ctx, b, plan, opt, letters)
	if err != nil {
		return nil, err
	}
	opt.reached(Composed)
	err = b.Store.InTx(ctx, func(tx *store.Tx) error {
		defer opt.reached(Written)
		now, err := tx.Marks()
		if err != nil {
			return err
		}
		if _, changed := now.Changed(before, agreedAlone, opt.Clients...); changed {
			return errOvertaken
		}
		return commit(tx, res, opt, letters)
	})
	if err != nil {
		return nil, fmt.Errorf("record the round: %w", err)
	}
	opt.reached(Committed)
	return res, nil
}

// summary is the record of a round in the store.
type summary struct {
	AsOf      programme.Date `json:"as_of"`
	Clients   int            `json:"clients"`
	Proposals []int64        `json:"proposals"`
	NextDue   []nextDue      `json:"next_due"`
	// Told marks what the owner's mail has told, see message.Mail.
	Told []string `json:"told,omitempty"`
}

type nextDue struct {
	Client string         `json:"client"`
	On     programme.Date `json:"on"`
}

func commit(tx *store.Tx, res *Result, opt Options, letters *spool) error {
	plan := res.Plan
	sum := summary{AsOf: plan.AsOf, Clients: len(plan.Entries)}
	for i := range plan.Entries {
		e := &plan.Entries[i]
		if e.Proposal != nil {
			sum.Proposals = append(sum.Proposals, e.Proposal.Number)
		} else {
			sum.NextDue = append(sum.NextDue, nextDue{e.Client.Code, e.Decision.NextDue})
		}
	}
	sum.Told = res.Messages[0].Told
	if len(opt.Clients) > 0 {
		sum.Told = append(sum.Told, plan.told...) // a client's own round says nothing of the others
	}
	text, err := json.Marshal(sum)
	if err != nil {
		return err
	}
	if err := tx.AddRound(store.Round{ID: res.Number, AsOf: plan.AsOf, Slot: opt.Slot, Summary: text}); err != nil {
		return err
	}
	if err := tx.SlotDone(opt.Slot); err != nil {
		return err
	}
	for i := range plan.Entries {
		if err := commitEntry(tx, plan.books.Shop, res.Number, &plan.Entries[i], plan.AsOf); err != nil {
			return err
		}
	}
	for i := range plan.Entries {
		if c := plan.Entries[i].count.fresh; c != nil {
			if err := tx.AddCountPlan(c); err != nil {
				return err
			}
		}
	}
	if err := commitSheets(tx, res.Number, plan); err != nil {
		return err
	}
	counted := map[string]bool{}
	for i := range res.Messages {
		if err := res.Messages[i].commit(tx, letters, plan.AsOf, counted); err != nil {
			return err
		}
	}
	for _, a := range plan.alarms {
		if err := tx.AddTold(a, res.Number); err != nil {
			return err
		}
	}
	return tx.MarkTold(plan.events, res.Number)
}

// commitEntry stores a client's proposal, as a new one or as the next form of
// one that nobody has answered, and lets others lapse that it takes the place of
// or that nobody answered in time.
func commitEntry(tx *store.Tx, shop *programme.Shop, roundID int64, e *Entry, asOf programme.Date) error {
	open, err := tx.Proposals(e.Client.Code, reorder.Unsettled()...)
	if err != nil {
		return err
	}
	for i := range open {
		old := &open[i]
		note := "nobody answered by its last day"
		switch {
		case e.Before != nil && e.Before.Number == old.Number:
			continue
		case e.Proposal != nil:
			note = fmt.Sprintf("its pieces are in proposal %d", e.Proposal.Number)
		case !old.Lapses(asOf):
			continue
		}
		lapse := answer.Answer{Number: old.Number, Event: reorder.Lapse, Day: max(asOf, old.AsOf), Note: note}
		if _, err := answer.Record(tx, shop, e.Client, lapse, 0, nil); err != nil {
			return err
		}
	}
	switch {
	case e.Proposal == nil:
		return nil
	case e.Before == nil:
		return tx.AddProposal(roundID, e.Proposal)
	case e.Stands:
		return tx.UnlinkSheets(e.Proposal.Number) // this round's sheets take the place of the last one's
	}
	return e.commitForm(tx, shop, roundID, asOf)
}

// commitSheets stores the planned sheets, one order a transfer kind.
func commitSheets(tx *store.Tx, roundID int64, plan *Plan) error {
	for i := range plan.Sheets.Orders {
		o := &plan.Sheets.Orders[i]
		_, err := tx.AddSheetOrder(store.SheetOrder{RoundID: roundID, Kind: o.Kind, State: sheet.Planned,
			Plan: plan.Sheets.Part(o), Numbers: plan.proposalsOn(o.Kind)})
		if err != nil {
			return err
		}
	}
	return nil
}
