//go:build unix

package daemon

import (
	"time"

	"golang.org/x/sys/unix"
)

// OwnerOnly makes files that are created from now on readable for their owner alone:
// people's data is in them.
func OwnerOnly() { unix.Umask(0o077) }

// freeBytes is the room left on the disk of a folder.
func freeBytes(dir string) (int64, error) {
	var st unix.Statfs_t
	if err := unix.Statfs(dir, &st); err != nil {
		return 0, err
	}
	return int64(st.Bavail) * int64(st.Bsize), nil // Bsize has other types on other systems
}

// changedAt returns the time at which a file's content, name or rights changed last; ok is false where
// there is no such file.
func changedAt(path string) (at time.Time, ok bool) {
	var st unix.Stat_t
	if err := unix.Stat(path, &st); err != nil || st.Mode&unix.S_IFMT == unix.S_IFDIR {
		return time.Time{}, false
	}
	return time.Unix(st.Ctim.Unix()), true // no older than the time of its content
}
