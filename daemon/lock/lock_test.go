package lock_test

import (
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/lock"
)

func TestOneAtATime(t *testing.T) {
	path := filepath.Join(t.TempDir(), lock.FileName)
	who, note := lock.Holder(path)
	require.Empty(t, who+note)
	l, err := lock.Take(path, "kitmuster run", time.Now())
	require.NoError(t, err)
	require.NoError(t, l.Note("by these settings"))
	who, note = lock.Holder(path)
	require.Contains(t, who, "kitmuster run, process ")
	require.Equal(t, "by these settings", note)
	_, err = lock.Take(path, "kitmuster restore", time.Now())
	require.ErrorIs(t, err, lock.ErrHeld)
	require.ErrorContains(t, err, who)
	require.NotContains(t, err.Error(), "settings")
	require.NoError(t, l.Release())
	who, note = lock.Holder(path)
	require.Empty(t, who+note)
}

// Looking at the lock holds it for a moment, which must keep nobody from taking it.
func TestThoseWhoLookKeepNobodyOut(t *testing.T) {
	path := filepath.Join(t.TempDir(), lock.FileName)
	stop := make(chan struct{})
	var lookers sync.WaitGroup
	for range 4 {
		lookers.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
					lock.Holder(path)
					time.Sleep(time.Millisecond)
				}
			}
		})
	}
	for range 200 {
		l, err := lock.Take(path, "kitmuster run", time.Now())
		require.NoError(t, err)
		require.NoError(t, l.Release())
	}
	close(stop)
	lookers.Wait()
}
