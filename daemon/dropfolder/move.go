package dropfolder

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/kitmuster/kitmuster/notify/wholefile"
)

// move puts a file and its report where they belong, under a name with the
// time in front that nothing else has. The report comes first: its name is
// taken as long as nobody has it, and keeps the file's name free too. Hard
// links would do that in one step, but shared and removable disks have none.
func (f *Folder) move(name string, o Outcome) (string, error) {
	dir := filepath.Join(f.Dir, RefusedDir)
	if o.Taken {
		dir = filepath.Join(f.Dir, DoneDir)
	}
	stamp := f.Now().UTC().Format("2006-01-02T150405Z")
	for n := 1; n < 1000; n++ {
		to := filepath.Join(dir, movedName(stamp, name, n))
		if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
			if err != nil {
				return "", err
			}
			continue
		}
		err := wholefile.New(to+reportSuffix, []byte(strings.TrimSuffix(o.Report, "\n")+"\n"))
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		if err := os.Rename(filepath.Join(f.Dir, name), to); err != nil {
			return "", errors.Join(err, os.Remove(to+reportSuffix))
		}
		return to, nil
	}
	return "", errors.New("no free name in " + dir)
}

// reportSuffix follows the name of a file in the name of its report.
const reportSuffix = ".report.txt"

// movedName returns the n-th name for a file that was dropped at a time. It is
// short enough for every file system with its report's suffix, which one of
// the longest allowed would not be.
func movedName(stamp, name string, n int) string {
	if n > 1 {
		stamp = fmt.Sprintf("%s-%d", stamp, n)
	}
	const most = 180
	if len(name) > most {
		ext := filepath.Ext(name)
		if len(ext) > 20 {
			ext = ""
		}
		name = strings.ToValidUTF8(name[:most-len(ext)], "") + ext
	}
	return stamp + "-" + name
}
