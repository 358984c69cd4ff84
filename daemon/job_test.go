package daemon

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/semaphore"

	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
)

// inBubble runs one job on a fresh store for some simulated time.
func inBubble(t *testing.T, text string, limit, lasts time.Duration,
	run func(context.Context, store.Slot) error) []store.Slot {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	var slots []store.Slot
	synctest.Test(t, func(t *testing.T) {
		s, err := store.Open(context.Background(), path, store.Options{})
		require.NoError(t, err)
		sched, err := schedule.Parse(text, time.UTC)
		require.NoError(t, err)
		r := &runner{job: job{name: "test", schedule: sched, limit: limit, run: run}, store: s,
			log: slog.New(slog.DiscardHandler), now: time.Now}
		ctx, cancel := context.WithTimeout(context.Background(), lasts)
		defer cancel()
		r.loop(ctx)
		// whatever hangs comes back
		time.Sleep(6 * time.Hour)
		for then := time.Now().Add(24 * time.Hour); ; then = slots[len(slots)-1].Due.Add(-1) { // the newest first
			slot, found, err := s.LastSlot(context.Background(), "test", then)
			require.NoError(t, err)
			if !found {
				break
			}
			slots = append(slots, slot)
		}
		events, err := s.UntoldEvents(context.Background())
		require.NoError(t, err)
		t.Logf("%d events", len(events))
		require.NoError(t, s.Close())
	})
	return slots
}

func TestEverySlotRunsOnce(t *testing.T) {
	n := 0
	slots := inBubble(t, "0 */6 * * *", time.Minute, 48*time.Hour+time.Minute,
		func(context.Context, store.Slot) error { n++; return nil })
	require.Equal(t, 8, n)
	require.Len(t, slots, 9, "and the one before the start is on record")
}

func TestAJobThatFailsIsTriedAgainAndThenGivenUp(t *testing.T) {
	n := 0
	slots := inBubble(t, "0 6 * * *", time.Minute, 23*time.Hour,
		func(context.Context, store.Slot) error { n++; return errors.New("disk full") })
	require.Equal(t, 1+len(waits), n)
	require.Equal(t, store.SlotGivenUp, slots[0].State)
	require.Equal(t, "disk full", slots[0].Error)
}

func TestAJobThatRecoversIsDone(t *testing.T) {
	n := 0
	slots := inBubble(t, "0 6 * * *", time.Minute, 23*time.Hour, func(context.Context, store.Slot) error {
		if n++; n < 3 {
			return errors.New("database is locked")
		}
		return nil
	})
	require.Equal(t, 3, n)
	require.Equal(t, []any{store.SlotDone, 3, ""}, []any{slots[0].State, slots[0].Attempts, slots[0].Error})
}

func TestAJobThatTakesTooLongIsStopped(t *testing.T) {
	slots := inBubble(t, "0 6 * * *", time.Minute, 6*time.Hour+90*time.Second,
		func(ctx context.Context, _ store.Slot) error {
			<-ctx.Done()
			return ctx.Err()
		})
	require.Equal(t, store.SlotFailed, slots[0].State)
	require.Equal(t, "it took longer than 1m0s", slots[0].Error)
}

func TestAJobThatHangsIsLeftBehindAndNotStartedTwice(t *testing.T) {
	var at, most atomic.Int32
	slots := inBubble(t, "0 * * * *", time.Minute, 12*time.Hour, func(context.Context, store.Slot) error {
		most.Store(max(most.Load(), at.Add(1)))
		time.Sleep(3 * time.Hour) // deaf to its context
		at.Add(-1)
		return nil
	})
	require.Equal(t, int32(1), most.Load(), "never two at once")
	require.Contains(t, slots[len(slots)-2].Error, "did not stop when its time was up")
}

func TestARunThatHangsIsKnownUnderNewSettings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	synctest.Test(t, func(t *testing.T) {
		s, err := store.Open(context.Background(), path, store.Options{})
		require.NoError(t, err)
		d := &Daemon{opt: Options{Log: slog.New(slog.DiscardHandler), Now: time.Now}, store: s,
			stuck: map[string]chan struct{}{}}
		sched, err := schedule.Parse("0 * * * *", time.UTC)
		require.NoError(t, err)
		var at, most, runs atomic.Int32
		deaf := []job{{name: "deaf", schedule: sched, limit: time.Minute, run: func(context.Context, store.Slot) error {
			runs.Add(1)
			most.Store(max(most.Load(), at.Add(1)))
			time.Sleep(3 * time.Hour)
			at.Add(-1)
			return nil
		}}}
		for range 5 { // settings that change every two hours
			ctx, cancel := context.WithTimeout(context.Background(), 2*time.Hour)
			runners := d.runners(deaf)
			runners[0].loop(ctx)
			d.remember(runners)
			cancel()
		}
		time.Sleep(6 * time.Hour)
		require.Equal(t, int32(1), most.Load(), "never two at once")
		require.Greater(t, runs.Load(), int32(1), "but again when it came back")
		require.NoError(t, s.Close())
	})
}

func TestAPanicIsAFailureOfThatJobAlone(t *testing.T) {
	slots := inBubble(t, "0 6 * * *", time.Minute, 6*time.Hour+time.Second, func(context.Context, store.Slot) error {
		panic("a promise of our own code was broken")
	})
	require.Equal(t, store.SlotFailed, slots[0].State)
	require.Contains(t, slots[0].Error, "fault of the program")
}

func TestAClockThatWasAheadDoesNotHoldAJobBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	now := time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC) // a machine that woke up in the wrong year
	s, err := store.Open(t.Context(), path, store.Options{Now: func() time.Time { return now }})
	require.NoError(t, err)
	sched, err := schedule.Parse("0 6 * * *", time.UTC)
	require.NoError(t, err)
	var ran []string
	r := &runner{job: job{name: "test", schedule: sched, limit: time.Minute,
		run: func(_ context.Context, s store.Slot) error { ran = append(ran, s.Key); return nil }},
		store: s, log: slog.New(slog.DiscardHandler), now: func() time.Time { return now }}
	day := func(year, month, day, hour int) {
		now = time.Date(year, time.Month(month), day, hour, 0, 0, 0, time.UTC)
		for range 3 {
			_, err := r.step(t.Context())
			require.NoError(t, err)
		}
	}
	day(2031, 1, 1, 1)
	day(2031, 1, 1, 7)
	day(2026, 3, 9, 5) // set right
	day(2026, 3, 9, 7)
	day(2026, 3, 9, 6) // an hour back
	day(2026, 3, 9, 8)
	day(2026, 3, 10, 7)
	require.Equal(t, []string{"2031-01-01T06:00", "2026-03-09T06:00", "2026-03-10T06:00"}, ran)
	require.NoError(t, s.Close())
}

// Three days ahead and back again: what fell due in between is done once in
// its time, but for the day that was done ahead of it; an hour back repeats nothing.
func TestAClockThatIsSteppedDoesEachSlotOnce(t *testing.T) {
	c := newStepped(t, "0 6 * * *", func(store.Slot) error { return nil })
	c.at(9, 5)
	c.at(9, 7)  // does the 9th
	c.at(9, 6)  // an hour back
	c.at(9, 7)  // and on
	c.at(12, 8) // three days ahead: the 12th stands for the 10th and 11th
	c.at(9, 8)  // set right
	c.at(10, 7)
	c.at(11, 7)
	c.at(12, 7)
	c.at(13, 7)
	require.Equal(t, []string{"09T06:00", "12T06:00 for 2", "10T06:00", "11T06:00", "13T06:00"}, c.ran)
}

// A slot that was begun by a process that died is taken up by the next one.
func TestASlotThatACrashLeftBegunIsTakenUp(t *testing.T) {
	c := newStepped(t, "0 6 * * *", func(store.Slot) error { return nil })
	c.at(9, 5)
	due := time.Date(2026, 3, 9, 6, 0, 0, 0, time.UTC)
	require.NoError(t, c.r.store.InTx(t.Context(), func(tx *store.Tx) error {
		_, err := tx.BeginSlot(store.Slot{Job: "test", Key: "2026-03-09T06:00", Due: due})
		return err
	}))
	c.at(9, 7)
	c.at(9, 8)
	require.Equal(t, []string{"09T06:00"}, c.ran)
	last, _, err := c.r.store.LastSlot(t.Context(), "test", c.now)
	require.NoError(t, err)
	require.Equal(t, []any{store.SlotDone, 2}, []any{last.State, last.Attempts})
}

// A slot over which process after process ends is given up after the third and
// the owner told; an orderly stop in the middle is no such end.
func TestASlotThatEndsTheProcessThreeTimesIsGivenUp(t *testing.T) {
	c := newStepped(t, "0 6 * * *", func(store.Slot) error { return nil })
	c.r.room = semaphore.NewWeighted(everybody)
	c.at(9, 5)
	slot := store.Slot{Job: "test", Key: "2026-03-09T06:00", Due: time.Date(2026, 3, 9, 6, 0, 0, 0, time.UTC)}
	in := func(do func(*store.Tx) error) { require.NoError(t, c.r.store.InTx(t.Context(), do)) }
	begin := func(tx *store.Tx) error { _, err := tx.BeginSlot(slot); return err }
	for range 5 {
		in(begin)
		in(func(tx *store.Tx) error { return tx.LeaveSlot(slot) })
	}
	for range 3 {
		in(begin)
	}
	c.at(9, 7)
	require.Empty(t, c.ran)
	last, _, err := c.r.store.LastSlot(t.Context(), "test", c.now)
	require.NoError(t, err)
	require.Equal(t, store.SlotGivenUp, last.State)
	events, err := c.r.store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Equal(t, `The job "test" failed: it was begun 3 times, and each time the program ended in the middle of it`,
		events[0].What)
	require.True(t, c.r.room.TryAcquire(everybody), "its place is free again")
	c.r.room.Release(everybody)
	c.at(10, 7)
	require.Equal(t, []string{"10T06:00"}, c.ran, "the next slot has its own tries")
}

// Only the job that a process died over runs alone: whoever worked beside it
// then is not given up for its fault.
func TestASuspectRunsAlone(t *testing.T) {
	c := newStepped(t, "0 6 * * *", func(store.Slot) error { return nil })
	c.r.room = semaphore.NewWeighted(everybody)
	c.at(9, 5)
	slot := store.Slot{Job: "test", Key: "2026-03-09T06:00", Due: time.Date(2026, 3, 9, 6, 0, 0, 0, time.UTC)}
	require.NoError(t, c.r.store.InTx(t.Context(),
		func(tx *store.Tx) error { _, err := tx.BeginSlot(slot); return err }))
	require.NoError(t, c.r.room.Acquire(t.Context(), 1)) // another job is at work
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	c.now = time.Date(2026, 3, 9, 7, 0, 0, 0, time.UTC)
	_, err := c.r.step(ctx)
	require.NoError(t, err)
	require.Empty(t, c.ran)
	c.r.room.Release(1)
	c.at(9, 7)
	require.Equal(t, []string{"09T06:00"}, c.ran)
}

// A timer notices neither a suspended machine nor a clock that was set, so the
// clock on the wall is looked at every minute, however far the next slot is.
func TestTheClockIsLookedAtEveryMinute(t *testing.T) {
	c := newStepped(t, "0 6 1 1 *", func(store.Slot) error { return nil })
	c.at(9, 5)
	sleep, err := c.r.step(t.Context())
	require.NoError(t, err)
	require.LessOrEqual(t, sleep, time.Minute)
	require.Greater(t, sleep, time.Second)
}

// A try that was put off while the clock was ahead is made when the clock is right.
func TestATryPutOffByAWrongClockIsNotWaitedFor(t *testing.T) {
	fail := true
	c := newStepped(t, "0 6 * * 1", func(store.Slot) error {
		if fail {
			return errors.New("disk full")
		}
		return nil
	})
	c.at(9, 5)  // a Monday
	c.at(13, 7) // on Friday, it believes, the slot is done and fails
	fail = false
	c.at(9, 7)
	require.Equal(t, []string{"09T06:00", "09T06:00"}, c.ran)
}

// A slot that is still to be done is not lost when its schedule is changed: the
// newest time of the new one stands for it.
func TestAChangedScheduleKeepsWhatIsStillToBeDone(t *testing.T) {
	for _, how := range []string{"it failed", "it was stopped halfway"} {
		t.Run(how, func(t *testing.T) {
			well := false
			c := newStepped(t, "30 6 * * 1", func(store.Slot) error {
				if !well {
					return errors.New("disk full")
				}
				return nil
			})
			c.at(9, 5) // a Monday
			c.at(9, 8)
			if how == "it was stopped halfway" {
				require.NoError(t, c.r.store.InTx(t.Context(), func(tx *store.Tx) error {
					_, err := tx.BeginSlot(store.Slot{Job: "test", Key: "2026-03-09T06:30",
						Due: time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)})
					return err
				}))
			}
			well, c.ran = true, nil
			sched, err := schedule.Parse("0 7 * * 1", time.UTC)
			require.NoError(t, err)
			c.r = &runner{job: c.r.job, store: c.r.store, log: c.r.log, now: c.r.now}
			c.r.schedule = sched
			c.at(9, 9)
			require.Equal(t, []string{"09T07:00"}, c.ran)
			c.at(15, 9)
			require.Len(t, c.ran, 1)
			c.at(16, 8)
			require.Equal(t, []string{"09T07:00", "16T07:00"}, c.ran)
		})
	}
}

// stepped is a job under a clock of March 2026 that is set by hand.
type stepped struct {
	t   *testing.T
	r   *runner
	now time.Time
	ran []string
}

func newStepped(t *testing.T, text string, run func(store.Slot) error) *stepped {
	t.Helper()
	c := &stepped{t: t}
	clock := func() time.Time { return c.now }
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), store.Options{Now: clock})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	sched, err := schedule.Parse(text, time.UTC)
	require.NoError(t, err)
	c.r = &runner{store: s, log: slog.New(slog.DiscardHandler), now: clock,
		job: job{name: "test", schedule: sched, limit: time.Minute,
			run: func(_ context.Context, s store.Slot) error {
				did := s.Key[len("2026-03-"):]
				if s.Missed > 0 {
					did += fmt.Sprintf(" for %d", s.Missed)
				}
				c.ran = append(c.ran, did)
				return run(s)
			}}}
	return c
}

// at sets the clock and lets the job do what it would.
func (c *stepped) at(day, hour int) {
	c.t.Helper()
	c.now = time.Date(2026, 3, day, hour, 0, 0, 0, time.UTC)
	for range 4 {
		_, err := c.r.step(c.t.Context())
		require.NoError(c.t, err)
	}
}

// While the database cannot be written nobody can be told; afterwards the owner is.
func TestALongTimeWithoutTheRecordIsTold(t *testing.T) {
	for long, want := range map[time.Duration]int{time.Minute: 0, time.Hour: 1} {
		c := newStepped(t, "0 6 * * *", func(store.Slot) error { return nil })
		c.at(9, 5)
		for range 2 {
			c.r.trouble(errors.New("commit: database or disk is full"))
			c.now = c.now.Add(long / 2)
		}
		c.r.see(t.Context())
		require.Empty(t, c.r.blind)
		events, err := c.r.store.UntoldEvents(t.Context())
		require.NoError(t, err)
		require.Len(t, events, want)
	}
}

// A job that fails in the same way every minute is said once, and so is its success.
func TestAFailureThatGoesOnIsSaidOnce(t *testing.T) {
	var log bytes.Buffer
	fail := true
	c := newStepped(t, "0 * * * *", func(store.Slot) error {
		if fail {
			return errors.New("the folder may not be read")
		}
		return nil
	})
	c.r.log = slog.New(slog.NewTextHandler(&log, nil))
	for hour := 5; hour < 15; hour++ {
		c.at(9, hour)
	}
	fail = false
	c.at(9, 15)
	c.at(9, 16)
	require.Equal(t, 1, strings.Count(log.String(), "job failed"), log.String())
	require.Equal(t, 1, strings.Count(log.String(), "the job works again"), log.String())
}
