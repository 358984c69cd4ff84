package dropfolder

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// Kept is a file that was handed over and lies in done/ or refused/ since.
type Kept struct {
	Path string
	At   time.Time // when it was moved there
	Name Name      // its Client is empty where the name does not tell it
}

// stamped matches the names that move gives files: the time, a number where there were
// several, and the name that the file had.
var stamped = regexp.MustCompile(`^(\d{4}-\d\d-\d\dT\d{6}Z)-(?:\d{1,3}-)?(.+)$`)

// ListKept returns the files of a drop folder that were handed over earlier,
// without their reports. Files that somebody else put there are not among them.
func ListKept(dir string) ([]Kept, error) {
	var all []Kept
	for _, sub := range []string{DoneDir, RefusedDir} {
		entries, err := os.ReadDir(filepath.Join(dir, sub))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("look into the drop folder: %w", err)
		}
		for _, e := range entries {
			parts := stamped.FindStringSubmatch(e.Name())
			if parts == nil || !e.Type().IsRegular() || strings.HasSuffix(e.Name(), reportSuffix) {
				continue
			}
			at, err := time.Parse("2006-01-02T150405Z", parts[1])
			if err != nil {
				continue
			}
			name, _ := ParseName(parts[2]) // what has no proper name is nobody's
			all = append(all, Kept{Path: filepath.Join(dir, sub, e.Name()), At: at, Name: name})
		}
	}
	return all, nil
}

// Read returns the file's bytes and its report's, of a file of a reasonable size.
func (k Kept) Read() (data, report []byte, err error) {
	if data, err = read(k.Path); err != nil {
		return nil, nil, err
	}
	report, err = os.ReadFile(k.Path + reportSuffix)
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	return data, report, err
}

// Remove removes the file and its report.
func (k Kept) Remove() error {
	for _, path := range []string{k.Path + reportSuffix, k.Path} {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove what was handed over: %w", err)
		}
	}
	return nil
}

// IsOf reports whether a file may be about a client: it names that one, or none.
func (k Kept) IsOf(client string) bool {
	return k.Name.Kind != Stock && strings.EqualFold(cmp.Or(k.Name.Client, client), client)
}
