//go:build unix

package daemon

import (
	"syscall"
	"time"
)

// OwnerOnly makes files that are created from now on readable for their owner alone:
// people's data is in them.
func OwnerOnly() { syscall.Umask(0o077) }

// freeBytes is the room left on the disk of a folder.
func freeBytes(dir string) (int64, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, err
	}
	return int64(st.Bavail) * st.Bsize, nil
}

// changedAt is when a file's content, name or rights changed last; ok is false where
// there is no such file.
func changedAt(path string) (at time.Time, ok bool) {
	var st syscall.Stat_t
	if err := syscall.Stat(path, &st); err != nil || st.Mode&syscall.S_IFMT == syscall.S_IFDIR {
		return time.Time{}, false
	}
	return time.Unix(st.Ctim.Unix()), true // no older than the time of its content
}
