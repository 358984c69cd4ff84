// Package delivery turns composed mails into letters, carries what waits in the
// outbox to its transport, and keeps book of each answer.
package delivery

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"time"

	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

// Courier delivers what waits.
type Courier struct {
	Store *store.Store
	// Sender is the transport of mails.
	Sender outbox.Sender
	// Drafts and Papers are the folders for what a person sends or opens by hand;
	// nil = such letters wait.
	Drafts DraftFolder
	Papers outbox.Sender
	Policy outbox.Policy
	// Within is the time in which a run begins letters; 0 = as long as some are due.
	Within time.Duration
	// PerMinute is the most tries of mails in a minute; 0 = no limit.
	PerMinute int
	Log       *slog.Logger
	Now       func() time.Time
	// Draw returns chance in [0, 1) for the spread of waits; nil = the system's.
	Draw func() float64
	// Changed returns when the settings of the transport were last changed; a
	// refused login is tried again after that. nil = never.
	Changed func() time.Time
}

// DraftFolder is a transport of drafts that puts away those nobody is to send any more.
type DraftFolder interface {
	outbox.Sender
	// Settle is told by file name whether a draft is over.
	Settle(over map[string]bool) error
}

// batch bounds what is read from the store at once.
const batch = 200

// mostBroken is the number of letters in a row that may end the connection before the
// server is left alone until the next run. Those letters wait by themselves then,
// so the next run begins with others.
const mostBroken = 5

// inHand is the longest a message that is being sent may go on after the daemon
// was told to stop.
const inHand = 8 * time.Second

// Report is the result of a run of the courier.
type Report struct {
	// Accepted, PutOff and Refused are mails; Written are drafts and papers.
	Accepted, PutOff, Refused, Written int
	// Smaller are mails that were too large and go again without their largest parts.
	Smaller int
	// Held is true when the transport as a whole is closed for now; Why says why.
	Held bool
	Why  string
	// Unwritten says why a folder of drafts or papers is closed; empty = none is.
	Unwritten string
}

// Run makes one try of every delivery that is due, files before the mails that
// name them. When ctx ends, it finishes the letter in hand and returns. Its
// error is the store's: what servers say is kept with the deliveries.
func (c *Courier) Run(ctx context.Context) (Report, error) {
	var report Report
	for _, w := range []struct {
		way    outbox.Way
		sender outbox.Sender
		again  bool
	}{{outbox.Paper, c.Papers, false}, {outbox.Draft, c.Drafts, false}, {outbox.Post, c.Sender, false},
		{outbox.Paper, c.Papers, true}} {
		if w.sender == nil || w.again && report.Smaller == 0 {
			continue
		}
		r := &run{Courier: c, way: w.way, sender: w.sender, report: &report, tried: map[string]bool{}}
		err := r.all(ctx)
		if r.session != nil {
			_ = r.session.Close() // every letter has had its answer
		}
		if err != nil {
			return report, err
		}
	}
	return report, c.settle(ctx)
}

func (c *Courier) draw() float64 {
	if c.Draw == nil {
		return rand.Float64()
	}
	return c.Draw()
}

// run is one run over the letters of one way; it uses one connection as long as
// that lasts.
type run struct {
	*Courier
	way     outbox.Way
	sender  outbox.Sender
	channel outbox.Channel
	session outbox.Session
	sent    int // answers had over this connection
	broken  int // letters in a row that ended theirs
	begun   time.Time
	tried   map[string]bool
	report  *Report
}

func (r *run) all(ctx context.Context) (err error) {
	if r.channel, err = r.Store.Channel(ctx, r.sender.Name()); err != nil {
		return err
	}
	mended := r.Changed != nil && r.channel.Mended(r.Changed())
	if !mended && !r.channel.Ready(r.Now()) {
		r.closed(&r.channel)
		return nil
	}
	r.begun = r.Now()
	for ctx.Err() == nil {
		now := r.Now()
		most := batch
		if r.way == outbox.Post {
			recent, err := r.Store.TriedBetween(ctx, r.way, now.Add(-time.Minute), now)
			if err != nil {
				return err
			}
			most = outbox.Allowance(r.PerMinute, recent, batch)
		}
		due, err := r.Store.DuePostings(ctx, r.way, now, most)
		if err != nil || len(due) == 0 {
			return err
		}
		for i := range due {
			if goOn, err := r.one(ctx, &due[i]); err != nil || !goOn {
				return err
			}
		}
	}
	return nil
}

// closed notes in the report that the way is closed.
func (r *run) closed(c *outbox.Channel) {
	if r.way == outbox.Post {
		r.report.Held, r.report.Why = true, c.Answer
	} else {
		r.report.Unwritten = c.Answer
	}
}

// one tries one delivery; goOn is false when the run must end. A connection
// that breaks after it served others is replaced once.
func (r *run) one(ctx context.Context, p *outbox.Posting) (goOn bool, err error) {
	key := fmt.Sprintf("%d %s", p.ID, p.Recipient)
	if r.tried[key] || ctx.Err() != nil { // a clock that stands still must not make a loop
		return false, nil
	}
	if r.Within > 0 && r.Now().Sub(r.begun) >= r.Within {
		return false, nil
	}
	r.tried[key] = true
	letter, ok, err := r.Store.Letter(ctx, p.ID)
	if err != nil || !ok {
		return ok, err
	}
	for {
		served := r.sent
		res := r.try(ctx, &letter, p.Recipient)
		ended := res.Broken && res.Outcome != outbox.Unknown // and the server has no message
		if ended && served > 0 && ctx.Err() == nil {
			r.sent = 0
			continue
		}
		if ended && ctx.Err() != nil {
			return false, nil // we hung up, not the server
		}
		if r.broken++; !res.Broken {
			r.broken = 0
		}
		goOn, err := r.record(context.WithoutCancel(ctx), p, &letter, res)
		return goOn && r.broken < mostBroken, err
	}
}

// try sends over the open connection or a new one.
func (r *run) try(ctx context.Context, l *outbox.Letter, to string) *outbox.Result {
	if r.session == nil {
		session, err := r.sender.Open(ctx)
		if err != nil {
			return outbox.ResultOf(err)
		}
		r.session, r.sent = session, 0
	}
	finishing, cancel := grace(ctx, inHand)
	defer cancel()
	res := outbox.ResultOf(r.session.Send(finishing, l, to))
	if res.Broken {
		_ = r.session.Close()
		r.session = nil
	} else {
		r.sent++
	}
	return res
}

// grace returns a context that ends some time after ctx does.
func grace(ctx context.Context, after time.Duration) (context.Context, context.CancelFunc) {
	late, cancel := context.WithCancel(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() { time.AfterFunc(after, cancel) })
	return late, func() { stop(); cancel() }
}

// record stores the answer to a try in one transaction with what follows from it.
func (r *run) record(ctx context.Context, p *outbox.Posting, l *outbox.Letter,
	res *outbox.Result) (goOn bool, err error) {
	now := r.Now()
	after, told := r.Policy.After(p.Delivery, res, now, r.draw())
	var instead []outbox.Letter
	if res.TooLarge {
		if instead, err = smaller(l, p.Recipient, res.Most); err != nil {
			r.Log.Warn("a message that is too large could not be made smaller", logkey.Message, p.ID, logkey.Error,
				err.Error())
		}
		if len(instead) > 0 {
			after.State, told = outbox.Dropped, outbox.Notice{}
			after.Answer += "; it goes again without its largest parts"
			r.report.Smaller++
		}
	}
	channel, toldOfChannel := r.Policy.AfterChannel(r.channel, res, now, r.draw())
	err = r.Store.InTx(ctx, func(tx *store.Tx) error {
		var errs []error
		if after != p.Delivery {
			errs = append(errs, tx.Settle(p.ID, after))
		}
		if channel != r.channel {
			errs = append(errs, tx.SetChannel(r.sender.Name(), channel))
		}
		errs = append(errs, tx.EnqueueAll(instead))
		if told.What != "" {
			errs = append(errs, tx.AddEvent(store.Event{Kind: programme.MailRefused, Client: p.Client, Mend: told.Mend,
				What: fmt.Sprintf("The message %q to %s was not delivered: %s.", p.Subject, p.Recipient, told.What)}))
		}
		if toldOfChannel.What != "" {
			errs = append(errs, tx.AddEvent(store.Event{Kind: programme.MailRefused, What: toldOfChannel.What,
				Mend: toldOfChannel.Mend}))
		}
		return errors.Join(errs...)
	})
	if err != nil {
		return false, fmt.Errorf("record a delivery: %w", err)
	}
	r.tell(p, res, &after, &channel)
	r.channel = channel
	return channel == (outbox.Channel{}), nil
}

// tell writes the log: a failure that goes on is said once.
func (r *run) tell(p *outbox.Posting, res *outbox.Result, after *outbox.Delivery, channel *outbox.Channel) {
	log := r.Log.With(logkey.Way, r.sender.Name(), logkey.Message, p.ID, logkey.Kind, p.Kind, logkey.Client, p.Client)
	if r.channel.Failures > 0 && channel.Failures == 0 {
		r.Log.Info("the transport is open again", logkey.Way, r.sender.Name())
	}
	switch {
	case !channel.Stopped.IsZero():
		r.closed(channel)
		log.Error("the login to the mail server does not work; nothing is tried until the settings change", logkey.Code,
			res.Code, logkey.Error, res.Says)
	case channel.Failures > 0:
		r.closed(channel)
		if channel.Failures == 1 {
			log.Warn("the transport is closed; messages wait", logkey.Error, res.Says, logkey.Next, channel.NextTry)
		}
	case after.State == outbox.Accepted && r.way != outbox.Post:
		r.report.Written++
		log.Info("file written", logkey.Attempt, after.Attempts)
	case after.State == outbox.Accepted:
		r.report.Accepted++
		log.Info("message delivered", logkey.Attempt, after.Attempts)
	case after.State == outbox.Dropped:
		log.Warn("message too large; it goes again without its largest parts", logkey.Code, res.Code)
	case after.State == outbox.Held:
		r.report.Refused++
		log.Error("no answer again; the message waits for a person", logkey.Attempt, after.Attempts)
	case after.State == outbox.Waiting:
		r.report.PutOff++
		if after.Attempts == 1 {
			log.Warn("message put off", logkey.Code, res.Code, logkey.Next, after.NextTry)
		}
	default:
		r.report.Refused++
		log.Error("message refused for good", logkey.Code, res.Code)
	}
}
