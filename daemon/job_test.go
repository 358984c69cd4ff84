package daemon

import (
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
)

// inBubble runs one job on a fresh store for some simulated time.
func inBubble(t *testing.T, text string, limit, lasts time.Duration, run func(context.Context, store.Slot) error) []store.Slot {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	var slots []store.Slot
	synctest.Test(t, func(t *testing.T) {
		s, err := store.Open(context.Background(), path, store.Options{})
		require.NoError(t, err)
		sched, err := schedule.Parse(text, time.UTC)
		require.NoError(t, err)
		r := &runner{job: job{name: "test", schedule: sched, limit: limit, run: run}, store: s, log: slog.New(slog.DiscardHandler), now: time.Now}
		ctx, cancel := context.WithTimeout(context.Background(), lasts)
		defer cancel()
		r.loop(ctx)
		time.Sleep(6 * time.Hour) // whatever hangs comes back
		slots, err = s.Slots(context.Background(), "test", 100)
		require.NoError(t, err)
		events, err := s.UntoldEvents(context.Background())
		require.NoError(t, err)
		t.Logf("%d events", len(events))
		require.NoError(t, s.Close())
	})
	return slots
}

func TestEverySlotRunsOnce(t *testing.T) {
	n := 0
	slots := inBubble(t, "0 */6 * * *", time.Minute, 48*time.Hour+time.Minute, func(context.Context, store.Slot) error { n++; return nil })
	require.Equal(t, 8, n)
	require.Len(t, slots, 9, "and the one before the start is on record")
}

func TestAJobThatFailsIsTriedAgainAndThenGivenUp(t *testing.T) {
	n := 0
	slots := inBubble(t, "0 6 * * *", time.Minute, 23*time.Hour, func(context.Context, store.Slot) error { n++; return errors.New("disk full") })
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
	slots := inBubble(t, "0 6 * * *", time.Minute, 6*time.Hour+90*time.Second, func(ctx context.Context, _ store.Slot) error {
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
	r := &runner{job: job{name: "test", schedule: sched, limit: time.Minute, run: func(_ context.Context, s store.Slot) error { ran = append(ran, s.Key); return nil }},
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
