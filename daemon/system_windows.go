package daemon

import (
	"os"
	"time"

	"golang.org/x/sys/windows"
)

// OwnerOnly does nothing: who may read files follows from the rights of the folder
// that they are made in.
func OwnerOnly() {}

// freeBytes is the room left for this user on the disk of a folder.
func freeBytes(dir string) (int64, error) {
	path, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(path, &free, nil, nil)
	return int64(free), err
}

// changedAt returns the time at which a file's content changed last; the system keeps no time of other
// changes. ok is false where there is no such file.
func changedAt(path string) (at time.Time, ok bool) {
	info, err := os.Stat(path)
	if err != nil || info.IsDir() {
		return time.Time{}, false
	}
	return info.ModTime(), true
}
