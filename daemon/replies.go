package daemon

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
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
	return &replies.Desk{Books: b, Keys: keys, Trust: trust, From: From(c, b.Shop), Files: taker{b, today}, Now: now, Log: log}, nil
}

// readReplies stores what lies in the folder for answers, and judges what is not
// judged yet, with the desk of these settings, which is made at the first run.
func (d *Daemon) readReplies(ctx context.Context, b *books.Books, desk **replies.Desk) error {
	c := d.su().config
	folder := inbox.Maildir{Dir: config.Under(d.opt.Home, c.Replies.Folder)}
	kept := folder.Take(ctx, inbox.DefaultLimits.Bytes, func(name string, raw []byte) error {
		_, _, err := d.store.KeepReply(context.WithoutCancel(ctx), name, raw, false)
		return err
	})
	if *desk == nil {
		made, err := Replies(b, c, d.opt.Now, d.opt.Log)
		if err != nil {
			return errors.Join(kept, err)
		}
		*desk = made
	}
	_, err := (*desk).Judge(ctx)
	return errors.Join(kept, err)
}
