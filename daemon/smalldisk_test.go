//go:build smalldisk

package daemon_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme/roster"
)

// onSmallDisk is the variable that tells this test binary that it has mounts of its own.
const onSmallDisk = "KITMUSTER_TEST_SMALL_DISK"

// withMounts runs the present test again in a process with mounts of its own,
// in which it may mount a disk, as root and as anybody else; own is true there.
// The kernel must allow user namespaces for the latter (user_namespaces(7)).
func withMounts(t *testing.T) (own bool) {
	t.Helper()
	if os.Getenv(onSmallDisk) != "" {
		require.NoError(t, syscall.Mount("none", "/", "", syscall.MS_REC|syscall.MS_PRIVATE, ""))
		return true
	}
	c := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	c.Env = append(os.Environ(), onSmallDisk+"=1")
	c.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS}
	if os.Getuid() != 0 {
		c.SysProcAttr.Cloneflags |= syscall.CLONE_NEWUSER
		c.SysProcAttr.UidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}}
		c.SysProcAttr.GidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}
	}
	out, err := c.CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), "--- PASS: "+t.Name())
	return false
}

// smallDisk mounts a disk of some megabytes at dir and puts there what dir held.
func smallDisk(t *testing.T, dir, size string) {
	t.Helper()
	held := t.TempDir()
	require.NoError(t, os.CopyFS(held, os.DirFS(dir)))
	require.NoError(t, syscall.Mount("tmpfs", dir, "tmpfs", 0, "mode=0700,size="+size))
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(dir, syscall.MNT_DETACH)) })
	require.NoError(t, os.CopyFS(dir, os.DirFS(held)))
}

// fill leaves so many bytes free on the disk of home, until room is called.
func fill(t *testing.T, home string, leave int64) (room func()) {
	t.Helper()
	path := filepath.Join(home, "somebody else's")
	f, err := os.Create(path)
	require.NoError(t, err)
	_, err = io.Copy(f, zeros{})
	require.ErrorIs(t, err, syscall.ENOSPC)
	size, err := f.Seek(0, io.SeekEnd)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(size-leave))
	require.NoError(t, f.Close())
	return func() { require.NoError(t, os.Remove(path)) }
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { return len(p), nil }

// files lists the plain files below a folder of home, without their times.
func files(t *testing.T, home, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join(home, dir))
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		if e.Type().IsRegular() {
			name := e.Name()
			if _, rest, ok := strings.Cut(name, "Z-"); ok {
				name = rest
			}
			names = append(names, name)
		}
	}
	return names
}

// The daemon lives through a disk that is full to the last byte and one that
// fills up in the middle of an import, a backup, a round and a delivery; what
// was due is done when there is room again, and nothing is done twice.
func TestTheDiskIsFullWhileTheDaemonRuns(t *testing.T) {
	if !withMounts(t) {
		return
	}
	home := folder(t, weekly, 2)
	smallDisk(t, home, "16m")
	code, list := joiners(t, 300)
	log := &logBuffer{}
	at := func(day, hour, minute int) { // of January 2000, by UTC; New York is five hours behind
		time.Sleep(time.Until(time.Date(2000, 1, day, hour, minute, 0, 0, time.UTC)))
	}
	synctest.Test(t, func(t *testing.T) {
		liveWith(t, home, log, nil, func() {
			at(1, 12, 0)
			room := fill(t, home, 0)
			at(2, 12, 0) // the drop folder, the outbox, the backup and the self-check were due
			st := status(t, home)
			require.NotEmpty(t, st.Running)
			require.Contains(t, st.Worries, "The disk of "+home+" has only 0 MB left.")
			require.Equal(t, 1, st.Backup.Copies, "the one of the night before")
			room()
			at(2, 12, 10)
			require.Equal(t, 2, status(t, home).Backup.Copies, "made up for at once")

			dropped := []string{"roster--" + code + ".csv", "roster--nobody.csv"}
			for _, name := range dropped {
				require.NoError(t, os.WriteFile(filepath.Join(home, "drop", name), list, 0o600))
			}
			room = fill(t, home, 40<<10)
			at(3, 5, 45) // after the drop folder's evening
			require.Equal(t, dropped, status(t, home).Drop.Waiting)
			require.Empty(t, files(t, home, "drop/done"))
			require.Empty(t, files(t, home, "drop/refused"))
			room()
			at(3, 7, 10)
			require.Equal(t, []string{dropped[0], dropped[0] + ".report.txt"}, files(t, home, "drop/done"))
			require.Equal(t, []string{dropped[1], dropped[1] + ".report.txt"}, files(t, home, "drop/refused"))

			room = fill(t, home, 64<<10)
			at(3, 7, 18) // after the backup
			require.Equal(t, "failed", job(t, status(t, home), daemon.JobBackup).State)
			require.Len(t, files(t, home, "backup"), 2, "no half copy, and none lost")
			room()
			at(3, 11, 0)
			require.Equal(t, 3, status(t, home).Backup.Copies)

			room = fill(t, home, 64<<10)
			at(3, 12, 0) // after the round
			require.Zero(t, rounds(t, home))
			require.NotEqual(t, "done", job(t, status(t, home), daemon.JobRound).State)
			room()
			at(3, 14, 0)
			require.Equal(t, 1, rounds(t, home))
			waiting := status(t, home).Outbox.Counts["waiting"]
			require.Positive(t, waiting)

			room = fill(t, home, 24<<10)
			at(3, 15, 0) // after the outbox
			require.Equal(t, waiting, status(t, home).Outbox.Counts["waiting"])
			require.Empty(t, files(t, home, "mail"), "and no half mail")
			room()
			at(4, 12, 0)
			require.Equal(t, map[outbox.State]int{outbox.Accepted: waiting},
				map[outbox.State]int(status(t, home).Outbox.Counts))
			mails := files(t, home, "mail") // drafts lie in a folder of their own
			require.NotEmpty(t, mails)
			require.Zero(t, len(mails)%2, "each with its page")
			require.Equal(t, 1, rounds(t, home))
		})
	})
	wrong, taken := ownersMail(t, home)
	require.Contains(t, taken, "300 joined")
	require.NotContains(t, taken, "Nothing in it was new")
	require.Contains(t, wrong, "nobody.csv was not taken in")
	require.Contains(t, wrong, "For a while nothing could be done, since the database could not be read or written")
	require.Contains(t, wrong, "disk is full")
	_, err := store.Inspect(t.Context(), filepath.Join(home, books.DatabaseFile))
	require.NoError(t, err)
	t.Log(log.String())
}

// joiners is a list of the smallest client's staff with so many more.
func joiners(t *testing.T, n int) (code string, list []byte) {
	t.Helper()
	client := &world().Cases[0]
	people := slices.Clone(client.Roster)
	for i := range n {
		p := people[0]
		p.StaffID, p.Name = fmt.Sprintf("J%03d", i), fmt.Sprintf("Joiner %d", i)
		people = append(people, p)
	}
	var text bytes.Buffer
	require.NoError(t, roster.Write(&text, people))
	return client.Client.Code, text.Bytes()
}
