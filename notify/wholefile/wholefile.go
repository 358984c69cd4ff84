// Package wholefile writes files that appear whole or not at all, and stay after
// the power is cut.
package wholefile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// Write puts data under path, for the owner alone (mode 0600): into a file of
// another name in the same folder, which is synced and then takes the place. A
// reader finds the old file or the new one. With an error the old one stands.
func Write(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".writing-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			if gone := os.Remove(f.Name()); !errors.Is(gone, os.ErrNotExist) {
				err = errors.Join(err, gone)
			}
		}
	}()
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

// New is Write for a file that must not be there yet: where it is, the error is
// os.ErrExist and the file stays as it was. It holds its name from the first
// moment on, so that of two that write the same one gets it.
func New(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return syncDir(filepath.Dir(path))
}

// syncDir makes a new name in a folder last. Windows keeps its folders by itself, and
// opens none to be written.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Sync makes what was written to a file, or the names in a folder, last.
func Sync(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.IsDir() {
		return syncDir(path)
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0) // Windows syncs only what may be written
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// OthersMayRead reports whether others than its owner may read a file. On Windows the
// rights of the folder decide, which are not looked at.
func OthersMayRead(info fs.FileInfo) bool {
	return runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0
}
