package daemon

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/forget"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/programme"
)

// Names of the jobs. A client's own round is called "round of CLIENT".
const (
	JobRound     = "round"
	JobOutbox    = "outbox"
	JobDrop      = "drop folder"
	JobReplies   = "answers by mail"
	JobBackup    = "backup"
	JobSelfCheck = "self-check"
)

// planned is one line of the schedule.
type planned struct {
	name, text string
	client     string // of a round of its own
}

// plan lists the schedule of a config on a day, with the rounds that programmes say
// their clients have; where both name a client, the config holds. A client whose programme
// has ended has none.
func plan(c *config.Config, clients []*programme.Client, today programme.Date) []planned {
	all := []planned{{name: JobRound, text: c.Schedule.Round}}
	own := map[string]bool{}
	for _, client := range clients {
		own[client.Code] = client.Ended(today)
	}
	add := func(code, text string) {
		if text != "" && !own[code] {
			own[code] = true
			all = append(all, planned{JobRound + " of " + code, text, code})
		}
	}
	for _, cr := range c.Schedule.Clients {
		add(cr.Client, cr.Round)
	}
	for _, client := range clients {
		add(client.Code, client.Schedule)
	}
	if c.Replies.Address != "" {
		all = append(all, planned{name: JobReplies, text: c.Schedule.Replies})
	}
	return append(all, planned{name: JobOutbox, text: c.Schedule.Outbox}, planned{name: JobDrop, text: c.Schedule.Drop},
		planned{name: JobBackup, text: c.Schedule.Backup}, planned{name: JobSelfCheck, text: c.Schedule.SelfCheck})
}

// Planned returns the schedule of each job by its name, for a config and programmes on a day.
func Planned(c *config.Config, clients []*programme.Client, today programme.Date) map[string]string {
	all := map[string]string{}
	for _, p := range plan(c, clients, today) {
		all[p.name] = p.text
	}
	return all
}

// planned returns the schedule in force: by the config and the applied programmes. One
// that no longer reads has no round of its own; every round tells of it.
func (d *Daemon) planned(ctx context.Context) ([]planned, error) {
	clients, _, err := books.With(d.opt.Home, d.su().shop, d.store).Readable(ctx)
	return plan(d.su().config, clients, d.today()), err
}

// jobs builds the jobs of a schedule.
func (d *Daemon) jobs(list []planned) ([]job, error) {
	c := d.su().config
	b := books.With(d.opt.Home, d.su().shop, d.store)
	drop := &dropfolder.Folder{Dir: config.Under(d.opt.Home, c.Drop.Folder), Settle: c.Drop.Settle, Now: d.opt.Now,
		Taker: taker{b, d.today}, Tell: d.tellDropped, Tries: d.store}
	letters := &post{}
	var all []job
	for _, p := range list {
		s, err := schedule.Parse(p.text, d.su().zone)
		if err != nil {
			return nil, fmt.Errorf("schedule of %s: %w", p.name, err)
		}
		j := job{name: p.name, schedule: s, limit: c.Limits.Other}
		switch p.name {
		case JobOutbox:
			// A run begins no letter after its limit, and the one in hand may be slow:
			// twenty waits of the protocol at most. Cut, it might arrive twice.
			j.limit = c.Limits.Other + 20*c.Mail.Step
			j.run = func(ctx context.Context, _ store.Slot) error { return d.deliver(ctx) }
		case JobDrop:
			j.run = func(ctx context.Context, _ store.Slot) error { return d.takeIn(ctx, drop) }
		case JobReplies:
			j.run = func(ctx context.Context, _ store.Slot) error { return d.readReplies(ctx, b, letters, false) }
			if c.Replies.IMAP.Server != "" {
				j.beside = func(ctx context.Context) { d.listen(ctx, b, letters) }
			}
		case JobBackup:
			j.run = d.backUp
		case JobSelfCheck:
			j.run = d.selfCheck
		default:
			j.limit = c.Limits.Round
			j.run = func(ctx context.Context, s store.Slot) error { return d.round(ctx, b, s, p.client) }
		}
		all = append(all, j)
	}
	return all, nil
}

func (d *Daemon) today() programme.Date { return programme.DateOf(d.opt.Now().In(d.su().zone)) }

// round makes the round of a slot; the round records the slot as done in its
// own transaction.
func (d *Daemon) round(ctx context.Context, b *books.Books, s store.Slot, client string) error {
	opt := round.Options{AsOf: d.today(), Slot: s.Name(), From: From(d.su().config, d.su().shop),
		Now: d.opt.Now().In(d.su().zone)}
	if client != "" {
		opt.Clients = []string{client}
	}
	b.Search = d.su().config.Limits.Tries
	res, err := round.Run(ctx, b, opt)
	if err != nil {
		return err
	}
	d.opt.Log.Info("round done", logkey.Slot, s.Key, logkey.Count, len(res.Messages))
	return nil
}

// From returns the sender of the shop's mails: the one in config.yaml, else the owner.
func From(c *config.Config, shop *programme.Shop) programme.Contact {
	from := shop.Owner
	if c.Mail.FromAddress != "" {
		from.Email = c.Mail.FromAddress
	}
	if c.Mail.FromName != "" {
		from.Name = c.Mail.FromName
	}
	return from
}

// Sender returns the transport that the config names. A password that cannot be read
// is a refused login, not a reason to stop all else.
func Sender(home string, c *config.Config) outbox.Sender {
	if c.Mail.Server == "" {
		return folder.New(config.Under(home, c.Mail.Folder))
	}
	s := smtp.Settings{Host: c.Mail.Server, Port: c.Mail.Port, Security: smtp.Security(c.Mail.Security),
		User: c.Mail.User, Step: c.Mail.Step, Most: c.Mail.Most * 1e6}
	if s.User != "" {
		password, err := c.Password(home)
		if err != nil {
			return locked{err}
		}
		s.Password = password
	}
	return smtp.New(s)
}

// locked is a mail server whose password could not be read.
type locked struct{ err error }

func (locked) Name() string { return "smtp" }

func (l locked) Open(context.Context) (outbox.Session, error) {
	return nil, &outbox.Result{Outcome: outbox.BadLogin, Broken: true, Says: l.err.Error(), Err: l.err}
}

// sender is made anew for each run, since the password may have been mended.
func (d *Daemon) sender() outbox.Sender {
	if d.opt.Sender != nil {
		return d.opt.Sender
	}
	return Sender(d.opt.Home, d.su().config)
}

// Courier carries a shop's mail by its config.
func Courier(home string, c *config.Config, s *store.Store, sender outbox.Sender,
	now func() time.Time) *delivery.Courier {
	return &delivery.Courier{Store: s, Sender: sender, Drafts: folder.Drafts(filepath.Join(home, books.DraftsDir)),
		Papers: folder.Papers(filepath.Join(home, books.PapersDir)), Policy: outbox.DefaultPolicy(),
		PerMinute: c.Mail.PerMinute, Within: c.Limits.Other, Now: now,
		Changed: func() time.Time { return changed(home, c) }}
}

// changed returns when the files that hold the settings of the mail server were last
// changed, renamed, or given other rights: all of it may mend a login.
func changed(home string, c *config.Config) time.Time {
	var newest time.Time
	for _, path := range []string{filepath.Join(home, config.FileName), config.Under(home, c.Mail.PasswordFile)} {
		if at, ok := changedAt(path); ok && at.After(newest) {
			newest = at
		}
	}
	return newest
}

func (d *Daemon) deliver(ctx context.Context) error {
	c := Courier(d.opt.Home, d.su().config, d.store, d.sender(), d.opt.Now)
	c.Log = d.opt.Log
	_, err := c.Run(ctx)
	return err
}

// takeIn takes files from the drop folder.
func (d *Daemon) takeIn(ctx context.Context, drop *dropfolder.Folder) error {
	_, err := drop.Scan(ctx)
	return err
}

// tellDropped records what came of a dropped file for the owner's mail.
func (d *Daemon) tellDropped(ctx context.Context, o dropfolder.Outcome) error {
	e := store.Event{Kind: programme.ImportRefused, Client: o.Client,
		What: fmt.Sprintf("%s was not taken in: %s", o.File, firstLines(o.Report)),
		Mend: "Mend it and put it into the drop folder again; the whole report lies beside it in " +
			dropfolder.RefusedDir + "/."}
	outcome := "refused"
	switch {
	case o.Stray:
		e.What = o.File + " lies in the drop folder and is not taken in. " + o.Report
		e.Mend = "Put a copy of the file itself there, and take this away."
		outcome = "stray"
	case o.Grew:
		e.What = o.File + " went on growing after it was taken in, so its end is missing."
		e.Mend = "Put the whole file into the drop folder once more; what is known already changes nothing."
		outcome = "grew"
	case o.Taken:
		e = store.Event{Kind: programme.FileTaken, Client: o.Client, What: o.File + ": " + inShort(o.Report)}
		outcome = "taken"
	}
	if err := d.store.AddEvent(context.WithoutCancel(ctx), e); err != nil {
		return err
	}
	d.opt.Log.Info("dropped file handled", logkey.Kind, string(o.Name.Kind), logkey.Client, o.Client,
		logkey.Outcome, outcome)
	return nil
}

// inShort returns the last line of a report, which sums it up, and how many notes
// stand above it.
func inShort(report string) string {
	above, last := "", strings.TrimSpace(report)
	if i := strings.LastIndexByte(last, '\n'); i >= 0 {
		above, last = last[:i+1], last[i+1:]
	}
	switch n := strings.Count(above, "\n"); n {
	case 0:
		return last
	case 1:
		return last + " Its report has a note."
	default:
		return fmt.Sprintf("%s Its report has %d notes.", last, n)
	}
}

// firstLines keeps a report short enough for a mail.
func firstLines(s string) string {
	const most = 600
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + " …"
	}
	return s
}

func (d *Daemon) backUp(ctx context.Context, _ store.Slot) error {
	c := d.su().config.Backup
	dir := config.Under(d.opt.Home, c.Folder)
	made, err := backup.Make(ctx, d.store, dir, d.opt.Now())
	if err != nil {
		return err
	}
	removed, err := backup.Rotate(dir, backup.Keep{Daily: c.Daily, Weekly: c.Weekly, Monthly: c.Monthly}, d.su().zone)
	d.opt.Log.Info("backup made", logkey.File, filepath.Base(made.Path), logkey.Bytes, made.Size, logkey.Count, removed)
	return err
}

// keepSlots is the number of slots of each job that stay on record.
const keepSlots = 500

// oldBackup is the age from which the newest backup is a worry.
const oldBackup = 9 * 24 * time.Hour

// selfCheck looks at what would otherwise be noticed too late.
func (d *Daemon) selfCheck(ctx context.Context, _ store.Slot) error {
	var errs []error
	if err := d.store.QuickCheck(ctx); err != nil {
		errs = append(errs, fmt.Errorf("stop the service and put the newest backup back with 'kitmuster restore': %w",
			err))
	}
	copies, err := backup.List(config.Under(d.opt.Home, d.su().config.Backup.Folder))
	if err != nil {
		errs = append(errs, err)
	}
	if newest, ok := backup.Newest(copies, d.opt.Now()); ok && d.opt.Now().Sub(newest.At) > oldBackup {
		errs = append(errs, fmt.Errorf("the newest backup is of %s", newest.At.Format("2006-01-02")))
	}
	if free, err := d.opt.Free(d.opt.Home); err == nil && free < lowDisk {
		errs = append(errs, fmt.Errorf("the disk of %s has only %d MB left", d.opt.Home, free>>20))
	}
	errs = append(errs, d.forgetTexts(ctx), d.forgetNames(ctx), d.store.PruneSlots(ctx, keepSlots), d.store.Tidy(ctx))
	return errors.Join(errs...)
}

// forgetTexts drops the texts of mails that are older than the config keeps them.
func (d *Daemon) forgetTexts(ctx context.Context) error {
	days := d.su().config.Mail.KeepDays
	if days == 0 {
		return nil
	}
	n, err := d.store.ForgetTexts(ctx, d.opt.Now().AddDate(0, 0, -days))
	if n > 0 {
		d.opt.Log.Info("texts of old mails dropped", logkey.Count, n)
	}
	return err
}

// forgetNames removes the names that programmes keep no longer, and says in the
// log until when backups hold them.
func (d *Daemon) forgetNames(ctx context.Context) error {
	c, b := d.su().config, books.With(d.opt.Home, d.su().shop, d.store)
	clients, _, err := b.Readable(ctx)
	if err != nil {
		return err
	}
	done, err := forget.Names(ctx, b, c, clients, d.today())
	if !done.Any() {
		return err
	}
	held, herr := forget.InBackups(b, c, d.opt.Now())
	d.opt.Log.Info("names of leavers forgotten", logkey.People, done.People, logkey.Mails, done.Mails, logkey.Files,
		done.Files, logkey.Backups, held.Sentence(b.Shop.DateStyle))
	return errors.Join(err, herr)
}
