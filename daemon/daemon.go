// Package daemon runs a shop by itself: rounds on their schedule, mail out of
// the outbox, files from the drop folder, backups. Its jobs come from
// config.yaml; each planned time is done once, whatever happens to the machine.
package daemon

import (
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/semaphore"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Options holds what a daemon is given from outside.
type Options struct {
	Home string
	Log  *slog.Logger
	// Now is the clock; nil = time.Now.
	Now func() time.Time
	// Sender replaces the transport of the config, for tests; nil = the config's.
	Sender outbox.Sender
	// Free returns the room left on the disk of a folder, in bytes; nil = the disk's.
	Free func(dir string) (int64, error)
}

// Daemon is a daemon that holds its shop's lock.
type Daemon struct {
	opt   Options
	lock  *lock.Lock
	store *store.Store
	setup atomic.Pointer[setup]
	// unread says why changed files could not be read; nil = they are in force.
	unread atomic.Pointer[string]
	stuck  map[string]chan struct{} // runs that hang, by job
	room   *semaphore.Weighted      // see runner
}

// New reads the folder's files, takes its lock and opens its database. Files
// that it makes from then on are for their owner alone. Close it when done.
func New(ctx context.Context, opt Options) (*Daemon, error) {
	OwnerOnly()
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.Free == nil {
		opt.Free = freeBytes
	}
	d := &Daemon{opt: opt, stuck: map[string]chan struct{}{}, room: semaphore.NewWeighted(everybody)}
	su, err := readSetup(opt.Home)
	if err != nil {
		return nil, err
	}
	if d.lock, err = lock.Take(filepath.Join(opt.Home, lock.FileName), "kitmuster run", opt.Now()); err != nil {
		return nil, err
	}
	d.use(&su)
	path := filepath.Join(opt.Home, books.DatabaseFile)
	d.store, err = store.Open(ctx, path, store.Options{Now: opt.Now, MustExist: true,
		BackupDir: config.Under(opt.Home, d.su().config.Backup.Folder)})
	if err != nil {
		return nil, errors.Join(books.With(opt.Home, su.shop, nil).Missing(err), d.lock.Release())
	}
	return d, nil
}

// Close closes the database and gives up the lock. Beside many others the
// database may take its time to close; what is recorded is safe without that,
// so Close does not wait for it longer than closeWithin.
func (d *Daemon) Close() error {
	closed := make(chan error, 1)
	go func() { closed <- d.store.Close() }()
	late := time.NewTimer(closeWithin)
	defer late.Stop()
	select {
	case err := <-closed:
		return errors.Join(err, d.lock.Release())
	case <-late.C:
		return d.lock.Release()
	}
}

// A service manager is promised an end within ten seconds: stopWithin is how long
// Run waits for jobs when it is told to stop, more than SQLite waits for a lock.
const (
	stopWithin  = 7 * time.Second
	closeWithin = 2 * time.Second
)

// ErrStillRunning says that a job did not stop in time; what it had begun is
// taken up at the next start.
var ErrStillRunning = errors.New("stopped while a job was still at work; it is taken up at the next start")

// Run works until ctx ends, and then lets the jobs stop. It returns nil after
// an orderly stop. When config.yaml, shop.yaml or a client's schedule change, it goes on with what
// they say; when they cannot be read, with what they said before. When the
// database is removed or replaced under it, it stops with store.ErrMoved.
func (d *Daemon) Run(ctx context.Context) error {
	d.opt.Log.Info("service started", logkey.Database, d.store.Path)
	pages, err := d.openPages(ctx)
	if err != nil {
		return err
	}
	defer func() { closePages(ctx, pages) }()
	for ctx.Err() == nil {
		if err := d.generation(ctx); err != nil {
			return err
		}
		for i := range pages {
			pages[i] = d.follow(ctx, pages[i])
		}
	}
	d.opt.Log.Info("service stopped")
	return nil
}

// generation runs the jobs of one setup until ctx ends or the setup changes.
func (d *Daemon) generation(ctx context.Context) error {
	list, err := d.planned(ctx)
	if err != nil { // it is looked for again while the others go on
		d.opt.Log.Error("the clients' schedules cannot be read", logkey.Error, err.Error())
	}
	jobs, err := d.jobs(list)
	if err != nil {
		return err
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	var running sync.WaitGroup
	runners := d.runners(jobs)
	for _, r := range runners {
		running.Go(func() { r.loop(inner) })
		if r.beside != nil {
			running.Go(func() { r.beside(inner) })
		}
	}
	gone := d.watch(ctx, list)
	cancel()
	stopped := make(chan struct{})
	go func() { running.Wait(); close(stopped) }()
	late := time.NewTimer(stopWithin)
	defer late.Stop()
	select {
	case <-stopped:
	case <-late.C:
		if ctx.Err() != nil || gone != nil {
			return errors.Join(gone, ErrStillRunning)
		}
		<-stopped // a change of settings waits for the jobs that the old ones began
	}
	d.remember(runners)
	return gone
}

// runners makes a runner for each job. A run that hung under the settings
// before is known to it, so that no second one is started beside it.
func (d *Daemon) runners(jobs []job) []*runner {
	all := make([]*runner, len(jobs))
	for i, j := range jobs {
		all[i] = &runner{job: j, store: d.store, log: d.opt.Log, now: d.opt.Now, room: d.room, stuck: d.stuck[j.name]}
	}
	return all
}

// remember keeps which runs hang when their runners have ended.
func (d *Daemon) remember(runners []*runner) {
	for _, r := range runners {
		if r.stuck != nil {
			d.stuck[r.name] = r.stuck
		} else {
			delete(d.stuck, r.name)
		}
	}
}

// event records something for the owner's next mail; where even that fails,
// the log has it.
func (d *Daemon) event(ctx context.Context, e store.Event) {
	if err := d.store.AddEvent(context.WithoutCancel(ctx), e); err != nil {
		d.opt.Log.Error("an event could not be recorded", logkey.Error, err.Error())
	}
}
