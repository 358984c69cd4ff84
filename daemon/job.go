package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"time"

	"golang.org/x/sync/semaphore"

	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// job is something done at its slots.
type job struct {
	name     string
	schedule schedule.Schedule
	limit    time.Duration
	run      func(ctx context.Context, s store.Slot) error
	// beside runs as long as the setup lasts, beside the slots; nil = nothing does.
	beside func(ctx context.Context)
}

// waits between the tries of a slot that failed; after the last one it is given up.
var waits = []time.Duration{time.Minute, 5 * time.Minute, 15 * time.Minute, time.Hour, 4 * time.Hour}

const (
	// longestSleep bounds a sleep, since timers notice neither a suspended
	// machine nor a clock that was set.
	longestSleep = time.Minute
	// overtime is the longest a job may take to stop when its time is up.
	overtime = 30 * time.Second
	// longBlind is the longest the record may be out of reach before the owner is told.
	longBlind = 10 * time.Minute
	// storeTrouble is the wait when the record of a slot cannot be written.
	storeTrouble = 30 * time.Second
)

// next decides what to do now: a slot to run, or how long to sleep. last is the
// newest slot on record that was due by now.
func (j *job) next(last store.Slot, have bool, now time.Time) (run store.Slot, sleep time.Duration) {
	if have {
		if slot, missed, ok := j.schedule.Due(last.Due, now); ok {
			return store.Slot{Job: j.name, Key: slot.Key, Due: slot.At, Missed: missed}, 0
		}
	}
	sleep = min(longestSleep, j.schedule.Next(now).At.Sub(now))
	switch {
	case !have:
		return store.Slot{}, sleep
	case last.State == store.SlotRunning: // its process died
		return last, 0
	case last.State == store.SlotFailed && tryDue(last.NextTry, now):
		return last, 0
	case last.State == store.SlotFailed:
		sleep = min(sleep, last.NextTry.Sub(now))
	}
	return store.Slot{}, max(sleep, time.Millisecond)
}

// tryDue reports whether the next try of a slot is due. One further ahead than any
// wait was planned by a clock that has been set right since.
func tryDue(next, now time.Time) bool {
	return !now.Before(next) || next.Sub(now) > waits[len(waits)-1]
}

// mostDeaths is the number of times that a slot is begun by processes that end in the
// middle of it.
const mostDeaths = 3

// everybody is the whole of the room in which jobs run side by side.
const everybody = 1 << 20

// runner runs one job for as long as its context lasts.
type runner struct {
	job
	// room is shared by all jobs: a slot that a process died over is run with
	// nobody beside it, so that it is known whose fault it is. nil = no others.
	room  *semaphore.Weighted
	store *store.Store
	log   *slog.Logger
	now   func() time.Time
	stuck chan struct{} // open while a run goes on past its limit; nil otherwise
	begun bool          // its schedule is on record
	blind string        // why the store could not be read or written; empty = it can
	since time.Time     // when that began

	failing string // how the job failed last; empty when it did not
}

// loop runs what is due until ctx ends.
func (r *runner) loop(ctx context.Context) {
	r.log = r.log.With(logkey.Job, r.name)
	if err := r.begin(ctx); err != nil && ctx.Err() == nil {
		r.trouble(err)
	}
	for ctx.Err() == nil {
		sleep, err := r.step(ctx)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			r.trouble(err)
			sleep = storeTrouble
		case r.blind != "":
			r.see(ctx)
		}
		pause(ctx, sleep)
	}
}

// trouble says once that the record of slots is out of reach.
func (r *runner) trouble(err error) {
	if r.blind == "" {
		r.log.Error("the record of jobs cannot be read or written; the job waits", logkey.Error, err.Error())
		r.since = r.now()
	}
	r.blind = err.Error()
}

// see says that the record is within reach again and, after a while, tells the
// owner, whom nothing could be told meanwhile. All jobs use the same words.
func (r *runner) see(ctx context.Context) {
	r.log.Info("the record of jobs can be written again")
	if r.now().Sub(r.since) >= longBlind {
		err := r.store.AddEvent(context.WithoutCancel(ctx),
			store.Event{Kind: programme.OtherTrouble,
				What: "For a while nothing could be done, since the database could not be read or written: " +
					r.blind + ".",
				Mend: "What fell due was done late. See that the disk has room and that nothing else holds the database."})
		if err != nil {
			r.trouble(err)
			return
		}
	}
	r.blind = ""
}

// begin notes for a job without any record, or with another schedule than it
// had, which slot was the last before it was set up so. What is still to be
// done stays so: the next time of the new schedule since then stands for it.
func (r *runner) begin(ctx context.Context) error {
	now := r.now()
	last, have, err := r.store.LastSlot(ctx, r.name, now)
	if err != nil {
		return err
	}
	before, known, err := r.store.JobSchedule(ctx, r.name)
	if err != nil {
		return err
	}
	planned := r.schedule.Identity()
	undone := last.State == store.SlotRunning || last.State == store.SlotFailed
	if !have || before != planned {
		slot, ok := r.schedule.Latest(now)
		if !ok {
			slot = schedule.Slot{Key: "start", At: now}
		}
		err = r.store.InTx(ctx, func(tx *store.Tx) error {
			// from before schedules were on record
			if err := tx.PutJobSchedule(r.name, planned); err != nil || undone || have && !known {
				return err
			}
			return tx.PassSlot(store.Slot{Job: r.name, Key: slot.Key, Due: slot.At})
		})
	}
	r.begun = err == nil
	return err
}

// step runs one due slot, or says how long to sleep.
func (r *runner) step(ctx context.Context) (sleep time.Duration, err error) {
	if r.stuck != nil {
		select {
		case <-r.stuck:
			r.stuck = nil
			r.log.Info("the job that hung has come back")
		default:
			return longestSleep / 4, nil
		}
	}
	last, have, err := r.store.LastSlot(ctx, r.name, r.now())
	if err != nil {
		return 0, err
	}
	if !have || !r.begun {
		if err := r.begin(ctx); err != nil {
			return 0, err
		}
		if last, have, err = r.store.LastSlot(ctx, r.name, r.now()); err != nil {
			return 0, err
		}
	}
	slot, sleep := r.next(last, have, r.now())
	if slot.Key == "" {
		return sleep, nil
	}
	return time.Millisecond, r.slot(ctx, slot)
}

// slot runs a slot in its share of the room, or gives it up when process after
// process has ended over it.
func (r *runner) slot(ctx context.Context, s store.Slot) error {
	share := int64(1)
	if s.State == store.SlotRunning && s.Unfinished > 0 {
		share = everybody
	}
	if r.room != nil {
		if err := r.room.Acquire(ctx, share); err != nil {
			return nil // told to stop
		}
		defer r.room.Release(share)
	}
	if s.State == store.SlotRunning && s.Unfinished >= mostDeaths {
		return r.deadly(ctx, s)
	}
	return r.work(ctx, s)
}

// deadly gives up a slot over which process after process has ended.
func (r *runner) deadly(ctx context.Context, s store.Slot) error {
	s.State, s.NextTry = store.SlotGivenUp, time.Time{}
	s.Error = fmt.Sprintf("it was begun %d times, and each time the program ended in the middle of it", s.Unfinished)
	r.tell(r.log.With(logkey.Slot, s.Key), s, errors.New(s.Error), 0)
	return r.store.InTx(context.WithoutCancel(ctx), func(tx *store.Tx) error {
		if err := tx.AddEvent(failure(s, errors.New(s.Error))); err != nil {
			return err
		}
		return tx.FinishSlot(s)
	})
}

// work records the beginning, works, and records the end.
func (r *runner) work(ctx context.Context, s store.Slot) error {
	err := r.store.InTx(ctx, func(tx *store.Tx) (err error) {
		s.Attempts, err = tx.BeginSlot(s)
		return err
	})
	if errors.Is(err, store.ErrSlotTaken) {
		return nil
	}
	if err != nil {
		return err
	}
	log := r.log.With(logkey.Slot, s.Key)
	if s.Missed > 0 {
		log.Info("slots were missed; this one stands for them", logkey.Missed, s.Missed)
	}
	started := r.now()
	work := r.bounded(ctx, s)
	if ctx.Err() != nil && work != nil {
		// Told to stop: the slot stays begun and is taken up at the next start.
		return r.store.InTx(context.WithoutCancel(ctx), func(tx *store.Tx) error { return tx.LeaveSlot(s) })
	}
	s.State, s.Error, s.NextTry = store.SlotDone, "", time.Time{}
	if work != nil {
		s.State, s.Error, s.NextTry = store.SlotGivenUp, work.Error(), time.Time{}
		if s.Attempts <= len(waits) {
			s.State, s.NextTry = store.SlotFailed, r.now().Add(waits[s.Attempts-1])
		}
	}
	r.tell(log, s, work, r.now().Sub(started))
	return r.store.InTx(context.WithoutCancel(ctx), func(tx *store.Tx) error {
		if work != nil {
			if err := tx.AddEvent(failure(s, work)); err != nil {
				return err
			}
		}
		return tx.FinishSlot(s)
	})
}

// tell writes the log: a failure that goes on in the same way is said once.
func (r *runner) tell(log *slog.Logger, s store.Slot, work error, took time.Duration) {
	if work == nil {
		if r.failing != "" {
			log.Info("the job works again")
		}
		r.failing = ""
		log.Debug("job done", logkey.Took, took.Round(time.Millisecond))
		return
	}
	level := slog.LevelError
	if work.Error() == r.failing && s.State != store.SlotGivenUp {
		level = slog.LevelDebug
	}
	r.failing = work.Error()
	log.Log(context.Background(), level, "job failed", logkey.Attempt, s.Attempts, logkey.Error, work.Error())
}

func failure(s store.Slot, err error) store.Event {
	e := store.Event{Kind: programme.OtherTrouble, What: fmt.Sprintf("The job %q failed: %v", s.Job, err),
		Mend: "It is tried again by itself; 'kitmuster status' shows how it stands."}
	if s.State == store.SlotGivenUp {
		e.Mend = "It was tried several times and waits for its next slot; 'kitmuster status' shows when that is."
	}
	return e
}

// errHung says that a job did not stop when its time was up.
var errHung = errors.New("it did not stop when its time was up; nothing else of its kind is started until it does")

// bounded runs the job with its limit. A job that does not stop is left behind
// and reported; it is not started again before it returns.
func (r *runner) bounded(ctx context.Context, s store.Slot) error {
	limited, cancel := context.WithTimeoutCause(ctx, r.limit, fmt.Errorf("it took longer than %s", r.limit))
	defer cancel()
	result := make(chan error, 1)
	returned := make(chan struct{})
	go func() {
		defer close(returned)
		result <- safely(limited, s, r.run)
	}()
	select {
	case err := <-result:
		return named(limited, err)
	case <-limited.Done():
	}
	late := time.NewTimer(overtime)
	defer late.Stop()
	select {
	case err := <-result:
		return named(limited, err)
	case <-late.C:
		r.stuck = returned
		return errHung
	}
}

// named gives an error of a job whose time was up the reason for it.
func named(ctx context.Context, err error) error {
	if err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return context.Cause(ctx)
	}
	return err
}

// safely turns a panic of one job into its failure, so that the others go on.
func safely(ctx context.Context, s store.Slot, run func(context.Context, store.Slot) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("a fault of the program: %v\n%s", p, debug.Stack())
		}
	}()
	return run(ctx, s)
}

// pause sleeps, or returns early when ctx ends.
func pause(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}
