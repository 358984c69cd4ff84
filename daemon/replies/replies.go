// Package replies decides what comes of mail that came back: a yes is carried out, a
// doubt is put before a person, what cannot be believed is put aside. The mail is
// stored as it came before anything is decided, and what it causes commits together
// with the note that it is done, so that each mail acts once whenever the machine stops.
//
// No rule about proposals lives here: package answer has them.
package replies

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Desk judges the mails that came to one shop.
type Desk struct {
	Books *books.Books
	Keys  inbox.Keys
	Trust inbox.Trust
	// From is the sender of confirmations and of the papers of a yes.
	From programme.Contact
	// Files takes what is attached as the drop folder does.
	Files dropfolder.Taker
	Now   func() time.Time
	Log   *slog.Logger

	begun map[int64]bool // counted as begun by this process
}

// Report counts what came of the mails of one run.
type Report struct{ Done, Asked, Quarantined, Ignored int }

// mostTries is the number of times that a mail is begun although each time the process ended over it.
const mostTries = 5

// atOnce bounds how many mails are held in memory.
const atOnce = 20

// Judge decides on every mail that is not judged yet, the oldest first. One that
// cannot be judged now, such as one whose signature's key no server tells, keeps no
// other from being judged; it is in the error and is judged again at the next call.
func (d *Desk) Judge(ctx context.Context) (Report, error) {
	var report Report
	var errs []error
	for last := int64(0); ctx.Err() == nil; {
		waiting, err := d.Books.Store.NewReplies(ctx, last, atOnce)
		if err != nil || len(waiting) == 0 {
			return report, errors.Join(append(errs, err)...)
		}
		for i := range waiting {
			if last = waiting[i].ID; ctx.Err() != nil {
				break
			}
			state, err := d.one(ctx, &waiting[i])
			if err != nil {
				errs = append(errs, fmt.Errorf("judge mail %d that came: %w", last, err))
			}
			report.count(state)
		}
	}
	return report, errors.Join(errs...)
}

func (r *Report) count(s store.ReplyState) {
	switch s {
	case store.ReplyDone:
		r.Done++
	case store.ReplyAsked:
		r.Asked++
	case store.ReplyQuarantined:
		r.Quarantined++
	case store.ReplyIgnored:
		r.Ignored++
	case store.ReplyNew:
	}
}

// one judges one mail. Reading is counted beforehand: a mail over which process
// after process ends is put aside unread.
func (d *Desk) one(ctx context.Context, r *store.Reply) (store.ReplyState, error) {
	if d.begun == nil {
		d.begun = map[int64]bool{}
	}
	tries, err := 0, error(nil)
	if !d.begun[r.ID] {
		if tries, err = d.Books.Store.BeginReply(ctx, r.ID); err != nil {
			return "", err
		}
		d.begun[r.ID] = true
	}
	j := &judgement{Desk: d, reply: r, today: programme.DateOf(d.Now().In(d.Books.Zone()))}
	if tries > mostTries {
		err = j.close(ctx, store.ReplyQuarantined,
			fmt.Sprintf("the program ended %d times while it read this mail", mostTries))
	} else {
		err = j.judge(ctx)
	}
	if err != nil {
		// The trouble is the machine's, not the mail's: it is judged again, and counts
		// as begun until this process has lived through it.
		if d.Books.Store.PauseReply(context.WithoutCancel(ctx), r.ID) == nil {
			delete(d.begun, r.ID)
		}
		return "", err
	}
	delete(d.begun, r.ID)
	d.Log.Info("mail that came is judged", logkey.Message, r.ID, logkey.Client, r.Client, logkey.Outcome,
		string(r.State))
	return r.State, nil
}

// judgement is one mail while it is judged.
type judgement struct {
	*Desk
	reply  *store.Reply
	letter *inbox.Letter
	client *programme.Client
	today  programme.Date
}

// close settles the mail without any act, and tells the owner where a person must look.
func (j *judgement) close(ctx context.Context, state store.ReplyState, why string) error {
	return j.Books.Store.InTx(ctx, func(tx *store.Tx) error {
		_, err := j.settle(tx, state, why)
		return err
	})
}

// settle notes what came of the mail within a transaction. ok is false when another
// hand has settled it: the caller must then undo what it did.
func (j *judgement) settle(tx *store.Tx, state store.ReplyState, why string) (ok bool, err error) {
	r := j.reply
	r.State, r.Why = state, clean.Line(why)
	if j.letter != nil {
		r.Sender, r.Subject = clean.Line(j.letter.Sender()), clean.Short(j.letter.Subject)
	}
	if j.client != nil {
		r.Client = j.client.Code
	}
	if ok, err = tx.SettleReply(r); err != nil || !ok {
		return ok, err
	}
	e := store.Event{Kind: programme.MailAsked, Client: r.Client,
		Mend: fmt.Sprintf("Read it with 'kitmuster mail read %d', and record what is meant.", r.ID)}
	switch state {
	case store.ReplyAsked:
		e.What = fmt.Sprintf("A mail%s%s waits for you: %s.", j.from(), j.about(), why)
	case store.ReplyQuarantined:
		e.What = fmt.Sprintf("A mail%s%s was put aside: %s.", j.from(), j.about(), why)
		e.Mend = fmt.Sprintf("Read it with 'kitmuster mail read %d'. If it is real, ask its sender, and record what they say.", r.ID)
		if r.Proposal == 0 && j.client == nil {
			return true, nil // it claims nothing of ours: nobody need hear of each piece of junk
		}
	case store.ReplyDone, store.ReplyIgnored, store.ReplyNew:
		return true, nil
	}
	return true, tx.AddEvent(e)
}

func (j *judgement) from() string {
	if j.letter == nil || j.letter.Sender() == "" {
		return ""
	}
	return " from " + clean.Line(j.letter.Sender())
}

func (j *judgement) about() string {
	if j.reply.Proposal == 0 {
		return ""
	}
	return fmt.Sprintf(" about proposal %d", j.reply.Proposal)
}
