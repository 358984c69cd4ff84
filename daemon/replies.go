package daemon

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"sync"
	"sync/atomic"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/replies"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme"
)

// Replies judges the mails that came to a shop, by its config.
func Replies(b *books.Books, c *config.Config, now func() time.Time, log *slog.Logger) (*replies.Desk, error) {
	keys, err := b.Keys()
	if err != nil {
		return nil, err
	}
	trust := inbox.Trust{Server: c.Replies.TrustedServer}
	if c.Replies.Signatures == "yes" {
		trust.LookupTXT = net.LookupTXT
	}
	today := func() programme.Date { return programme.DateOf(now().In(b.Zone())) }
	return &replies.Desk{Books: b, Keys: keys, Trust: trust, From: From(c, b.Shop), Files: taker{b, today}, Now: now,
		Log: log}, nil
}

// post reads the mails that come back while one setup of the daemon lasts.
type post struct {
	mu   sync.Mutex // one reads at a time
	desk *replies.Desk
	// looked is the time of the last look into the mailbox, told whether its server tells of
	// new mail.
	looked time.Time
	told   atomic.Bool
}

// lookAnyway is the time between two looks into a mailbox whose server tells of new mail (IDLE).
const lookAnyway = 10 * time.Minute

// readReplies stores what lies in the folder and the mailbox for answers, and judges
// what is not judged yet. news says that the mailbox has told of new mail.
func (d *Daemon) readReplies(ctx context.Context, b *books.Books, p *post, news bool) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	c := d.su().config
	folder := inbox.Maildir{Dir: config.Under(d.opt.Home, c.Replies.Folder)}
	kept := folder.Take(ctx, inbox.DefaultLimits.Bytes, func(name string, raw []byte) error {
		_, _, err := d.store.KeepReply(context.WithoutCancel(ctx), name, raw, false)
		return err
	})
	if now := d.opt.Now(); c.Replies.IMAP.Server != "" && (news || !p.told.Load() || now.Sub(p.looked) >= lookAnyway) {
		err := d.readMailbox(ctx)
		if err == nil {
			p.looked = now
		}
		kept = errors.Join(kept, err)
	}
	if p.desk == nil {
		made, err := Replies(b, c, d.opt.Now, d.opt.Log)
		if err != nil {
			return errors.Join(kept, err)
		}
		p.desk = made
	}
	_, err := p.desk.Judge(ctx)
	return errors.Join(kept, err)
}

// Mailbox is the mailbox that the config names.
func Mailbox(home string, c *config.Config) (*inbox.Mailbox, error) {
	m := &c.Replies.IMAP
	password, err := c.IMAPPassword(home)
	if err != nil {
		return nil, err
	}
	return &inbox.Mailbox{Host: m.Server, Port: m.Port, Security: inbox.Security(m.Security), User: m.User,
		Password: password, Folder: m.Mailbox, Done: m.MoveTo, Step: m.Step}, nil
}

func (d *Daemon) readMailbox(ctx context.Context) error {
	m, err := Mailbox(d.opt.Home, d.su().config)
	if err != nil {
		return err
	}
	return replies.ReadMailbox(ctx, d.store, m, d.opt.Now())
}

// Waits of the one who listens to the mailbox: within that of RFC 9051 (29 minutes) and
// of routers that forget quiet connections, and after a connection that ended.
const (
	listenFor   = 9 * time.Minute
	listenAgain = 30 * time.Second
)

// listen waits for the mailbox to tell of new mail, and reads it then. What goes wrong
// is told by the job, which looks into the mailbox on its schedule.
func (d *Daemon) listen(ctx context.Context, b *books.Books, p *post) {
	for ctx.Err() == nil {
		m, err := Mailbox(d.opt.Home, d.su().config)
		if err == nil {
			err = replies.WaitForMail(ctx, d.store, m, listenFor, func() { p.told.Store(true) })
		}
		if err == nil {
			err = d.readReplies(ctx, b, p, true)
		}
		if err == nil || ctx.Err() != nil {
			continue
		}
		p.told.Store(false)
		d.opt.Log.Debug("the mailbox does not tell of new mail", logkey.Error, err.Error())
		if _, no := errors.AsType[*inbox.NoIdle](err); no {
			return
		}
		pause(ctx, listenAgain)
	}
}
