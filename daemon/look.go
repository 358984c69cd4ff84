package daemon

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

// ReadStatus looks at a shop's folder, whether its daemon runs or not. While the
// settings cannot be read, it leaves out what depends on them.
func ReadStatus(ctx context.Context, home string, now time.Time) (st Status, err error) {
	su, unread := readSetup(home)
	database := filepath.Join(home, books.DatabaseFile)
	if unread == nil && su.blank != "" {
		// What runs may have begun with a config.yaml that vanished since.
		if who, stamp := lock.Holder(filepath.Join(home, lock.FileName)); who != "" && stamp != su.stamp &&
			strings.Contains(stamp, config.FileName) {
			unread = su.vanished(home)
		}
	}
	if unread != nil {
		if _, err := os.Stat(database); err != nil {
			return st, unread // no shop, or none yet
		}
		su.config = nil
		if su.zone == nil {
			su.shop, su.zone = &programme.Shop{TimeZone: "UTC"}, time.UTC
		}
	}
	opt := store.Options{MustExist: true}
	if su.config != nil {
		opt.BackupDir = config.Under(home, su.config.Backup.Folder)
	}
	s, err := store.Open(ctx, database, opt)
	if err != nil {
		return st, errors.Join(unread, books.With(home, su.shop, nil).Missing(err))
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if unread != nil {
		st.worry("%s", unreadable(unread.Error()))
	}
	return st, st.look(ctx, home, su, s, now)
}

func unreadable(why string) string {
	return "The settings cannot be read; a service that runs goes on with the settings it had: " + why
}

// look fills in all but worries that are there already; su.config is nil when
// the settings cannot be read.
func (st *Status) look(ctx context.Context, home string, su setup, s *store.Store, now time.Time) error {
	st.Format, st.At, st.Zone = 1, now.In(su.zone).Truncate(time.Second), su.shop.TimeZone
	st.Running, _ = lock.Holder(filepath.Join(home, lock.FileName))
	st.Worries, st.Drop.Waiting, st.Database.Path = append([]string{}, st.Worries...), []string{}, s.Path
	if su.config != nil {
		st.Drop.Folder, st.Backup.Folder = config.Under(home, su.config.Drop.Folder),
			config.Under(home, su.config.Backup.Folder)
		st.readFolders(now)
	}
	for _, part := range []func() error{
		func() error { return st.readJobs(ctx, su, s, now) },
		func() error { return st.readOutbox(ctx, su.config, s, now) },
		func() error { return st.readFiles(ctx, home, s) },
		func() error {
			events, err := s.UntoldEvents(ctx)
			st.Untold = len(events)
			return err
		},
	} {
		if err := part(); err != nil {
			return err
		}
	}
	for _, part := range []string{"", "-wal"} {
		if info, err := os.Stat(s.Path + part); err == nil {
			st.Database.Bytes += info.Size()
		}
	}
	if free, err := freeBytes(home); err == nil && free < lowDisk {
		st.worry("The disk of %s has only %d MB left.", home, free>>20)
	}
	if st.Running == "" {
		st.worry("kitmuster is not running in the background; start it with 'kitmuster run'.")
	}
	return nil
}

func (st *Status) worry(format string, args ...any) {
	st.Worries = append(st.Worries, fmt.Sprintf(format, args...))
}

func (st *Status) readJobs(ctx context.Context, su setup, s *store.Store, now time.Time) error {
	jobs, err := jobsOf(ctx, su, s, now)
	if err != nil {
		return err
	}
	for _, p := range jobs {
		j := JobStatus{Name: p.name, Schedule: p.text}
		if p.text != "" {
			sched, err := schedule.Parse(p.text, su.zone)
			if err != nil {
				return err
			}
			j.Next = pointer(sched.Next(now).At, su.zone)
		}
		last, have, err := s.LastRun(ctx, p.name, now)
		if err != nil {
			return err
		}
		if have {
			j.State, j.Slot, j.Attempts, j.Missed, j.Error = string(last.State), last.Key, last.Attempts,
				last.Missed, last.Error
			j.Finished, j.NextTry = pointer(last.Finished, su.zone), pointer(last.NextTry, su.zone)
		}
		if last.State == store.SlotFailed || last.State == store.SlotGivenUp {
			st.worry("The job %q failed: %s", p.name, last.Error)
		}
		st.Jobs = append(st.Jobs, j)
	}
	return nil
}

// jobsOf lists the jobs of the schedule or, when that cannot be read, those on record.
func jobsOf(ctx context.Context, su setup, s *store.Store, now time.Time) ([]planned, error) {
	if su.config != nil {
		clients, _, err := books.With("", su.shop, s).Readable(ctx)
		return plan(su.config, clients, programme.DateOf(now.In(su.zone))), err
	}
	names, err := s.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	jobs := make([]planned, len(names))
	for i, name := range names {
		jobs[i].name = name
	}
	return jobs, nil
}

// lostDays is the number of days for which mails that were refused or given up are a worry.
const lostDays = 7

func (st *Status) readOutbox(ctx context.Context, c *config.Config, s *store.Store, now time.Time) (err error) {
	if st.Outbox.Counts, err = s.OutboxCount(ctx, outbox.Post); err != nil {
		return err
	}
	if n := st.Outbox.Counts[outbox.Held]; n > 0 {
		st.worry("Mails that may have arrived or not, and wait for you: %d. 'kitmuster mail list' says more; 'kitmuster mail again N' sends one once more, 'kitmuster mail drop N' closes it.", n)
	}
	lost, err := s.LostSince(ctx, now.AddDate(0, 0, -lostDays))
	if err != nil {
		return err
	}
	if lost > 0 {
		st.worry("Mails that were refused or given up in the last %d days: %d. 'kitmuster mail list --all' says why.",
			lostDays, lost)
	}
	long, err := s.WaitingSince(ctx, now.AddDate(0, 0, -1))
	if err != nil {
		return err
	}
	if long > 0 {
		st.worry("Mails that wait for more than a day: %d. 'kitmuster mail list' says why.", long)
	}
	if c == nil {
		return nil
	}
	st.Outbox.Way = "folder"
	if c.Mail.Server != "" {
		st.Outbox.Way = "smtp"
	}
	channel, err := s.Channel(ctx, st.Outbox.Way)
	if err != nil {
		return err
	}
	st.Outbox.Closed = channel != (outbox.Channel{}) // also in the minute in which the next try is due
	if st.Outbox.Closed {
		st.Outbox.Why, st.Outbox.NextTry = channel.Answer, pointer(channel.NextTry, now.Location())
		st.worry("Messages wait: %s", channel.Answer)
	}
	if !channel.Stopped.IsZero() {
		st.Outbox.NextTry = nil
		st.worry("No mail is tried until config.yaml or the file of the password is mended, or 'kitmuster mail flush' is run.")
	}
	return nil
}

// readFiles looks at the folders for drafts and papers. One that was never used
// and has nothing waiting is left out.
func (st *Status) readFiles(ctx context.Context, home string, s *store.Store) error {
	st.Files = []FileStatus{}
	for _, f := range []struct {
		way     outbox.Way
		channel string
		dir     string
		what    string
	}{{outbox.Draft, "drafts", books.DraftsDir, "Drafts for you to send"},
		{outbox.Paper, "papers", books.PapersDir, "Files that were too large for their mail"}} {
		n, err := s.OutboxCount(ctx, f.way)
		if err != nil {
			return err
		}
		channel, err := s.Channel(ctx, f.channel)
		if err != nil {
			return err
		}
		if len(n) == 0 && channel == (outbox.Channel{}) {
			continue
		}
		st.Files = append(st.Files, FileStatus{Folder: filepath.Join(home, f.dir), Waiting: n[outbox.Waiting],
			Written: n[outbox.Accepted], Why: channel.Answer})
		if channel.Answer != "" {
			st.worry("%s (%d) could not be written, and are as soon as it is possible: %s", f.what, n[outbox.Waiting],
				channel.Answer)
		}
	}
	return nil
}

func (st *Status) readFolders(now time.Time) {
	waiting, err := dropfolder.Waiting(st.Drop.Folder)
	if err != nil {
		st.worry("The drop folder cannot be read: %v", err)
	}
	st.Drop.Waiting = append(st.Drop.Waiting, waiting...)
	if strays, err := dropfolder.Strays(st.Drop.Folder); err == nil && len(strays) > 0 {
		st.worry("In the drop folder lie links, pipes or folders, which are not taken in: %d. Put copies of the files themselves there.", len(strays))
	}
	copies, err := backup.List(st.Backup.Folder)
	if err != nil {
		st.worry("The backup folder cannot be read: %v", err)
	}
	st.Backup.Copies = len(copies)
	if newest, ok := backup.Newest(copies, now); ok {
		st.Backup.Newest = &newest.At
		if age := now.Sub(newest.At); age > oldBackup {
			st.worry("The newest backup is %d days old.", int(age.Hours()/24))
		}
	}
}

func pointer(t time.Time, zone *time.Location) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.In(zone)
	return &t
}
