package replies

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/table"
)

// askAgainDays is the time after which somebody is asked again who says not now without a day.
const askAgainDays = 28

// errAsk ends the transaction of an answer that a person must decide on.
type errAsk struct{ why string }

func (e *errAsk) Error() string { return e.why }

// errIgnore ends that of one that says what is known.
type errIgnore struct{ why string }

func (e *errIgnore) Error() string { return e.why }

// answer carries out what a believed mail says about a proposal, or asks a person.
func (j *judgement) answer(ctx context.Context, w inbox.Written, form *reorder.Proposal) error {
	said := j.letter.Judge(inbox.About{Proposal: w.Number, Form: w.Form, Pieces: form.Pieces()}, j.today)
	if said.Doubt != "" {
		return j.close(ctx, store.ReplyAsked, said.Doubt)
	}
	a := answer.Answer{Number: w.Number, Day: j.today, Form: w.Form, Home: j.Books.Home, From: j.From,
		Note: j.note(&said)}
	switch said.Verdict {
	case inbox.Yes, inbox.Changes:
		a.Event = reorder.Accept
		list, err := j.list(ctx, w.Number)
		var ask *errAsk
		switch {
		case errors.As(err, &ask):
			return j.close(ctx, store.ReplyAsked, ask.why)
		case err != nil:
			return err
		case list == nil && said.Verdict == inbox.Changes:
			return j.close(ctx, store.ReplyAsked, "it wants changes and has no list with other numbers")
		case list != nil && said.Verdict == inbox.Yes && !same(list, form.List()):
			return j.close(ctx, store.ReplyAsked, "it says yes, and the attached list has other numbers")
		case list != nil && said.Verdict == inbox.Changes:
			if !May(j.Books.Shop, j.client, j.letter.Sender(), Changes) {
				return j.close(ctx, store.ReplyAsked,
					fmt.Sprintf("the programme of %s does not name %s among those who change an order", j.client.Name,
						j.letter.Sender()))
			}
			a.List = list
		}
	case inbox.NotNow:
		a.Event, a.Until = reorder.Wait, said.Until
		if a.Until.IsZero() {
			a.Until = j.today.Add(askAgainDays)
		}
		if a.Until <= j.today {
			return j.close(ctx, store.ReplyAsked, "the day on which to ask again has passed")
		}
	case inbox.No:
		a.Event, a.Because = reorder.Decline, said.Because
	case inbox.Unclear:
		return j.close(ctx, store.ReplyAsked, "what it says is not plain")
	}
	return j.carryOut(ctx, &a)
}

// note returns the sentence about the mail that the history keeps.
func (j *judgement) note(said *inbox.Answer) string {
	note := "by mail from " + j.letter.Sender()
	if said.OrderNumber != "" {
		note += ", order number " + said.OrderNumber
	}
	return note
}

// list reads the attached list; nil = there is none. More than one, or one that
// does not read, is a person's.
func (j *judgement) list(ctx context.Context, proposal int64) ([]reorder.Listed, error) {
	var out []reorder.Listed
	for _, f := range j.letter.Files {
		switch strings.ToLower(filepath.Ext(f.Name)) {
		case ".csv", ".xlsx", ".tsv":
		case ".dat":
			return nil, &errAsk{"its attachments are packed so that they cannot be read"}
		default:
			continue
		}
		if out != nil {
			return nil, &errAsk{"more than one list is attached"}
		}
		rows, err := answer.ReadList(ctx, j.Books, j.client, proposal, f.Name, f.Data, table.Options{})
		if err != nil {
			return nil, &errAsk{fmt.Sprintf("the attached list %s cannot be read: %v", f.Name, err)}
		}
		out = rows
	}
	return out, nil
}

// same reports whether two lists want the same pieces for the same people.
func same(a, b []reorder.Listed) bool {
	sum := map[reorder.Listed]int{}
	for _, l := range a {
		n := l.Pieces
		l.Pieces = 0
		sum[l] += n
	}
	for _, l := range b {
		n := l.Pieces
		l.Pieces = 0
		sum[l] -= n
	}
	for _, n := range sum {
		if n != 0 {
			return false
		}
	}
	return true
}

// carryOut records the answer, the confirmation and what the owner reads of it, all
// or nothing. What a person must decide leaves no trace but the question.
func (j *judgement) carryOut(ctx context.Context, a *answer.Answer) error {
	err := j.Books.Store.InTx(ctx, func(tx *store.Tx) error {
		before, err := tx.Proposal(a.Number)
		if err != nil {
			return err
		}
		if err := j.allowed(&before, a); err != nil {
			return err
		}
		out, err := answer.GiveIn(tx, j.Books.Shop, j.client, *a)
		var state *reorder.StateError
		switch {
		case errors.As(err, &state):
			return &errAsk{state.Error()}
		case store.IsTrouble(err) || ctx.Err() != nil:
			return errors.Join(err, ctx.Err())
		case err != nil:
			return &errAsk{err.Error()}
		case out.Anew:
			return &errAsk{"by now it would come to another day, price or number of pieces than the form says"}
		}
		if err := j.careful(&before, &out.Proposal, a); err != nil {
			return err
		}
		if ok, err := j.settle(tx, store.ReplyDone,
			fmt.Sprintf("proposal %d is %s", a.Number, out.Proposal.State)); err != nil {
			return err
		} else if !ok {
			return errSettled
		}
		return errors.Join(j.tell(tx, &out), j.confirm(tx, &before, &out))
	})
	var ask *errAsk
	var known *errIgnore
	switch {
	case errors.As(err, &ask):
		return j.close(ctx, store.ReplyAsked, ask.why)
	case errors.As(err, &known):
		return j.close(ctx, store.ReplyIgnored, known.why)
	case errors.Is(err, errSettled):
		return nil // another hand was faster, and what was done here is given up
	}
	return err
}

var errSettled = errors.New("settled by another hand")

// allowed stops what a mail may not decide before anything is worked out.
func (j *judgement) allowed(p *reorder.Proposal, a *answer.Answer) error {
	settled := slices.Contains(reorder.OnItsWay(), p.State) || p.State == reorder.Received
	switch {
	case settled && (a.Event != reorder.Accept || a.List != nil):
		return &errAsk{fmt.Sprintf("the proposal is %s already", p.State)}
	case settled:
		return &errIgnore{fmt.Sprintf("the proposal is %s already", p.State)}
	case a.Event != reorder.Accept:
		return nil
	}
	if p.State == reorder.Declined || p.State == reorder.Lapsed {
		return &errAsk{fmt.Sprintf("the proposal is %s", p.State)}
	}
	if e := j.client.Approver.Email; e != "" && !strings.EqualFold(e, j.letter.Sender()) {
		return &errAsk{fmt.Sprintf("it is a yes that %s has still to give too", j.client.Approver.Name)}
	}
	for i := range p.Lines {
		if g, ok := j.Books.Shop.Garment(p.Lines[i].Garment); ok && g.Protective != programme.NotProtective &&
			p.Lines[i].Order > 0 {
			return &errAsk{"it orders protective clothing, which a person decides on"}
		}
	}
	return nil
}

// muchMore is the part of a form's pieces that a yes by mail may add to it.
const muchMore = 0.2

// careful stops an answer that came to more than a mail may decide.
func (j *judgement) careful(before, now *reorder.Proposal, a *answer.Answer) error {
	if a.Event != reorder.Accept {
		return nil
	}
	if more := now.Pieces() - before.Pieces(); float64(more) > muchMore*float64(before.Pieces()) {
		return &errAsk{fmt.Sprintf("it wants %d pieces more than the form has", more)}
	}
	if b := j.client.Budget; b > 0 && now.Priced() && now.Price > b {
		return &errAsk{fmt.Sprintf("it comes to %s, above the budget of %s", now.Price.In(j.Books.Shop.Currency),
			b.In(j.Books.Shop.Currency))}
	}
	return nil
}

// tell puts what was done into the owner's next mail.
func (j *judgement) tell(tx *store.Tx, out *answer.Outcome) error {
	p := &out.Proposal
	what := ""
	switch p.State {
	case reorder.Accepted:
		what = fmt.Sprintf("By mail, %s said yes to proposal %d: %d pieces.", j.letter.Sender(), p.Number, p.Pieces())
	case reorder.PutOff:
		what = fmt.Sprintf("By mail, %s said not now to proposal %d; asked again on %s.", j.letter.Sender(), p.Number,
			j.Books.Shop.DateStyle.Date(p.Until))
	case reorder.Declined:
		what = fmt.Sprintf("By mail, %s said no to proposal %d.", j.letter.Sender(), p.Number)
	case reorder.Drafted, reorder.Sent, reorder.Ordered, reorder.PartReceived, reorder.Received, reorder.Lapsed:
	}
	return tx.AddEvent(store.Event{Kind: programme.MailAnswered, Client: j.client.Code,
		What: what + fmt.Sprintf(" Not so? 'kitmuster undo %s' takes it back.", j.client.Code)})
}

// confirm puts a confirmation into the outbox: one a sender and day, so that two
// programs that answer each other stop after one mail (RFC 3834, section 2).
func (j *judgement) confirm(tx *store.Tx, before *reorder.Proposal, out *answer.Outcome) error {
	return j.once(tx, out.Proposal.Number, func() (message.Mail, error) {
		return message.ComposeConfirmation(message.Confirmation{
			Shop: j.Books.Shop, Client: j.client, Before: before, Proposal: &out.Proposal, Number: j.reply.ID,
			To: j.to(), InReplyTo: j.letter.ID, Without: hint.Commands(out.Notices),
		})
	})
}

// receipt tells somebody whose lists were taken in that they were, as confirm does.
func (j *judgement) receipt(tx *store.Tx, taken []string) error {
	return j.once(tx, 0, func() (message.Mail, error) {
		return message.ComposeReceipt(message.Receipt{Shop: j.Books.Shop, Client: j.client, To: j.to(),
			InReplyTo: j.letter.ID, Number: j.reply.ID, Taken: taken})
	})
}

// to is whoever wrote the mail.
func (j *judgement) to() programme.Contact {
	return programme.Contact{Name: j.letter.Name, Email: j.letter.Sender()}
}

// once puts a mail to the sender into the outbox, unless one was today.
func (j *judgement) once(tx *store.Tx, proposal int64, compose func() (message.Mail, error)) error {
	if sent, err := tx.ConfirmedSince(string(message.KindConfirmation), j.letter.Sender(),
		j.today.Time()); err != nil || sent {
		return err
	}
	m, err := compose()
	if err != nil {
		return err
	}
	l, err := delivery.Seal(m, delivery.Envelope{From: j.From, Date: j.Now().In(j.Books.Zone()), Client: j.client.Code,
		Proposal: proposal})
	if err != nil {
		return err
	}
	_, err = tx.Enqueue(l)
	return err
}
