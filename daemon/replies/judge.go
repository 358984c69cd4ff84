package replies

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// judge reads the mail and decides. Each step that ends it says why in a sentence.
func (j *judgement) judge(ctx context.Context) error {
	letter, err := inbox.Read(j.reply.Bytes, inbox.DefaultLimits)
	if fault, ok := errors.AsType[*inbox.Fault](err); ok {
		return j.close(ctx, store.ReplyQuarantined, fault.Why)
	}
	if err != nil {
		return err
	}
	j.letter, j.reply.Content = letter, letter.Content()
	again := false
	if err := j.Books.Store.InTx(ctx, func(tx *store.Tx) (err error) {
		again, err = tx.CameBefore(j.reply)
		return err
	}); err != nil {
		return err
	}
	switch {
	case again:
		return j.close(ctx, store.ReplyIgnored, "the same mail came before")
	case letter.Bounce != nil:
		return j.bounce(ctx, letter.Bounce)
	case letter.Automatic:
		return j.close(ctx, store.ReplyIgnored, "a machine wrote it")
	}
	switch len(letter.Tokens) {
	case 0:
		return j.untokened(ctx)
	case 1:
		if w := letter.Tokens[0]; w.Kind != inbox.ToProposal {
			return j.toList(ctx, w)
		}
		return j.toProposal(ctx, letter.Tokens[0])
	default:
		return j.close(ctx, store.ReplyAsked, "it answers more than one question")
	}
}

// toProposal judges a mail whose token names a form of a proposal.
func (j *judgement) toProposal(ctx context.Context, w inbox.Written) error {
	var form reorder.Proposal
	err := j.Books.Store.InTx(ctx, func(tx *store.Tx) (err error) {
		form, err = tx.Form(w.Number, w.Form)
		return err
	})
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		return j.close(ctx, store.ReplyQuarantined, "the mark in its subject names no question of ours")
	}
	q := inbox.QuestionOf(form.Client, form.AsOf)
	if !j.Keys.Good(w.Token, q, w.Mark) {
		return j.close(ctx, store.ReplyQuarantined, "the mark in its subject is not one of ours")
	}
	j.reply.Proposal = w.Number
	if j.client, err = j.Books.Client(ctx, form.Client); err != nil {
		return err
	}
	if why, ok, err := j.believed(); err != nil {
		return err
	} else if !ok {
		return j.close(ctx, store.ReplyQuarantined, why)
	}
	sender := j.letter.Sender()
	switch {
	case j.today > q.Until:
		return j.close(ctx, store.ReplyAsked, fmt.Sprintf("it answers a form that counted until %s",
			j.Books.Shop.DateStyle.Date(q.Until)))
	case j.letter.Closed != "":
		return j.close(ctx, store.ReplyAsked, j.letter.Closed)
	case !May(j.Books.Shop, j.client, sender, Says):
		return j.close(ctx, store.ReplyQuarantined,
			fmt.Sprintf("the programme of %s does not name %s among those who answer", j.client.Name, sender))
	}
	return j.answer(ctx, w, &form)
}

// believed reports whether the mail comes from whom it says.
func (j *judgement) believed() (why string, ok bool, err error) {
	if j.reply.Vouched {
		if j.letter.Sender() == "" {
			return "it does not come from one readable address", false, nil
		}
		return "a person of the shop vouches for it", true, nil
	}
	return j.letter.Believe(j.Trust)
}

// Deed names a thing that a mail may ask for.
type Deed string

// Deeds by mail.
const (
	Says      Deed = "answer" // yes, not now, no
	Changes   Deed = "changes"
	Counts    Deed = "counts"
	Rosters   Deed = "rosters"
	DaySheets Deed = "day sheets"
)

// listed are the addresses that the programme lists for a deed; none = it says nothing.
func listed(m *programme.ByMail, deed Deed) []string {
	switch deed {
	case Changes:
		if len(m.Changes) > 0 {
			return m.Changes
		}
		return m.Answers
	case Counts:
		return m.Counts
	case Rosters:
		return m.Rosters
	case DaySheets:
		return m.DaySheets
	case Says:
	}
	return m.Answers
}

// May reports whether an address may ask for that by mail, as the programme lists
// them. Where it has no list for it, its customer, those who approve and the contacts
// for all sites may; contacts of a site count and hand over lists too. The shop's own
// people may ask for all.
func May(shop *programme.Shop, client *programme.Client, address string, deed Deed) bool {
	all := []string{shop.Owner.Email}
	for i := range shop.Managers {
		all = append(all, shop.Managers[i].Email)
	}
	if list := listed(&client.ByMail, deed); len(list) > 0 {
		all = append(all, list...)
	} else {
		all = append(all, client.Customer.Email, client.Approver.Email)
		for _, c := range client.Contacts {
			if c.Site == "" || deed != Says && deed != Changes {
				all = append(all, c.Email)
			}
		}
	}
	return slices.ContainsFunc(all, func(e string) bool { return e != "" && strings.EqualFold(e, address) })
}

// known are the clients whose programmes name the sender.
func (j *judgement) known(ctx context.Context) ([]*programme.Client, error) {
	clients, _, err := j.Books.Readable(ctx)
	if err != nil || j.letter.Sender() == "" {
		return nil, err
	}
	var out []*programme.Client
	for _, c := range clients {
		if slices.ContainsFunc([]Deed{Says, Changes, Counts, Rosters, DaySheets},
			func(d Deed) bool { return May(j.Books.Shop, c, j.letter.Sender(), d) }) {
			out = append(out, c)
		}
	}
	return out, nil
}

// bounce sets the delivery of a mail of ours refused. The notice is believed where it names
// a mail by its Message-ID, a part of which is drawn by chance.
func (j *judgement) bounce(ctx context.Context, b *inbox.Bounce) error {
	if !b.Final {
		return j.close(ctx, store.ReplyIgnored, "a server tries on with a mail of ours")
	}
	if b.MessageID == "" {
		return j.close(ctx, store.ReplyIgnored, "it tells of a mail that it does not name")
	}
	return j.Books.Store.InTx(ctx, func(tx *store.Tx) error {
		says := strings.TrimSpace(b.Status + " " + b.Says)
		if says == "" {
			says = "it came back"
		}
		subject, client, failed, err := tx.RefuseDelivery(b.MessageID, b.Failed, says)
		if err != nil {
			return err
		}
		if len(failed) == 0 {
			_, err := j.settle(tx, store.ReplyIgnored,
				"it tells of no mail of ours, or of one that is known to have come back")
			return err
		}
		j.reply.Client = client
		if ok, err := j.settle(tx, store.ReplyDone, fmt.Sprintf("the mail %q came back from %s", subject,
			strings.Join(failed, ", "))); err != nil || !ok {
			return err
		}
		return tx.AddEvent(store.Event{Kind: programme.MailRefused, Client: client,
			What: fmt.Sprintf("The message %q to %s came back: %s.", subject, strings.Join(failed, ", "), says),
			Mend: "Mend the address in the programme or shop.yaml, and send it again with 'kitmuster mail again'."})
	})
}
