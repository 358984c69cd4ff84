package daemon

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Status is how a shop's daemon stands; its JSON is what 'status --json' prints.
type Status struct {
	Format   int            `json:"format"`
	At       time.Time      `json:"at"`
	Running  string         `json:"running"` // who holds the lock; empty = nobody
	Zone     string         `json:"time_zone"`
	Jobs     []JobStatus    `json:"jobs"`
	Outbox   OutboxStatus   `json:"outbox"`
	Drop     DropStatus     `json:"drop_folder"`
	Backup   BackupStatus   `json:"backup"`
	Database DatabaseStatus `json:"database"`
	// Untold is how many events wait for the owner's next mail.
	Untold int `json:"untold_events"`
	// Worries are what a person should look at, as sentences.
	Worries []string `json:"worries"`
}

// JobStatus is one job.
type JobStatus struct {
	Name     string     `json:"name"`
	Schedule string     `json:"schedule"`
	Next     time.Time  `json:"next"`
	State    string     `json:"state"` // of the last slot; empty = none yet
	Slot     string     `json:"slot,omitempty"`
	Finished *time.Time `json:"finished,omitempty"`
	NextTry  *time.Time `json:"next_try,omitempty"`
	Attempts int        `json:"attempts,omitempty"`
	Missed   int        `json:"missed,omitempty"`
	Error    string     `json:"error,omitempty"`
}

// OutboxStatus is the outbox and its way out.
type OutboxStatus struct {
	Way     string     `json:"way"`
	Counts  counts     `json:"deliveries"`
	Closed  bool       `json:"closed"`
	Why     string     `json:"why,omitempty"`
	NextTry *time.Time `json:"next_try,omitempty"`
}

type counts map[outbox.State]int

// DropStatus is the drop folder.
type DropStatus struct {
	Folder  string   `json:"folder"`
	Waiting []string `json:"waiting"`
}

// BackupStatus is the backups.
type BackupStatus struct {
	Folder string     `json:"folder"`
	Copies int        `json:"copies"`
	Newest *time.Time `json:"newest,omitempty"`
}

// DatabaseStatus is the database's files.
type DatabaseStatus struct {
	Path  string `json:"path"`
	Bytes int64  `json:"bytes"` // with its write-ahead log
}

// ReadStatus looks at a shop's folder, whether its daemon runs or not.
func ReadStatus(ctx context.Context, home string, now time.Time) (st Status, err error) {
	su, err := readSetup(home)
	if err != nil {
		return st, err
	}
	s, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{BackupDir: config.Under(home, su.config.Backup.Folder)})
	if err != nil {
		return st, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return look(ctx, home, su, s, now)
}

func look(ctx context.Context, home string, su setup, s *store.Store, now time.Time) (Status, error) {
	c := su.config
	st := Status{Format: 1, At: now.In(su.zone).Truncate(time.Second), Zone: su.shop.TimeZone, Worries: []string{}, Running: lock.Holder(filepath.Join(home, lock.FileName)),
		Drop:   DropStatus{Folder: config.Under(home, c.Drop.Folder), Waiting: []string{}},
		Backup: BackupStatus{Folder: config.Under(home, c.Backup.Folder)}, Database: DatabaseStatus{Path: s.Path}}
	for _, part := range []func() error{
		func() error { return st.readJobs(ctx, su, s, now) },
		func() error { return st.readOutbox(ctx, c, s, now) },
		func() error { return st.readFolders(now) },
		func() error {
			events, err := s.UntoldEvents(ctx)
			st.Untold = len(events)
			return err
		},
	} {
		if err := part(); err != nil {
			return st, err
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
		st.worry("The daemon does not run; start it with 'kitmuster run'.")
	}
	return st, nil
}

func (st *Status) worry(format string, args ...any) {
	st.Worries = append(st.Worries, fmt.Sprintf(format, args...))
}

func (st *Status) readJobs(ctx context.Context, su setup, s *store.Store, now time.Time) error {
	for _, p := range plan(su.config) {
		sched, err := schedule.Parse(p.text, su.zone)
		if err != nil {
			return err
		}
		j := JobStatus{Name: p.name, Schedule: p.text, Next: sched.Next(now).At.In(su.zone)}
		last, have, err := s.LastSlot(ctx, p.name, now)
		if err != nil {
			return err
		}
		if have && last.State != store.SlotPassed {
			j.State, j.Slot, j.Attempts, j.Missed, j.Error = string(last.State), last.Key, last.Attempts, last.Missed, last.Error
			j.Finished, j.NextTry = pointer(last.Finished, su.zone), pointer(last.NextTry, su.zone)
		}
		if last.State == store.SlotFailed || last.State == store.SlotGivenUp {
			st.worry("The job %q failed: %s", p.name, last.Error)
		}
		st.Jobs = append(st.Jobs, j)
	}
	return nil
}

func (st *Status) readOutbox(ctx context.Context, c *config.Config, s *store.Store, now time.Time) error {
	st.Outbox.Way = "folder"
	if c.Mail.Server != "" {
		st.Outbox.Way = "smtp"
	}
	channel, err := s.Channel(ctx, st.Outbox.Way)
	if err != nil {
		return err
	}
	if st.Outbox.Counts, err = s.OutboxCount(ctx); err != nil {
		return err
	}
	st.Outbox.Closed = !channel.Ready(now)
	if st.Outbox.Closed {
		st.Outbox.Why, st.Outbox.NextTry = channel.Answer, pointer(channel.NextTry, now.Location())
		st.worry("Messages wait: %s", channel.Answer)
	}
	if !channel.Stopped.IsZero() {
		st.Outbox.NextTry = nil
		st.worry("No mail is tried until the login is mended and 'kitmuster mail flush' is run.")
	}
	return nil
}

func (st *Status) readFolders(now time.Time) error {
	waiting, err := dropfolder.Waiting(st.Drop.Folder)
	if err != nil {
		return err
	}
	st.Drop.Waiting = append(st.Drop.Waiting, waiting...)
	copies, err := backup.List(st.Backup.Folder)
	if err != nil {
		return err
	}
	st.Backup.Copies = len(copies)
	if len(copies) > 0 {
		st.Backup.Newest = &copies[0].At
		if age := now.Sub(copies[0].At); age > 9*24*time.Hour {
			st.worry("The newest backup is %d days old.", int(age.Hours()/24))
		}
	}
	return nil
}

func pointer(t time.Time, zone *time.Location) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.In(zone)
	return &t
}
