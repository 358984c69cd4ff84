package daemon

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// su returns the settings in force.
func (d *Daemon) su() *setup { return d.setup.Load() }

// use puts a setup in force, and leaves word of it for those who ask how the
// daemon stands.
func (d *Daemon) use(su *setup) {
	d.setup.Store(su)
	if err := d.lock.Note(su.stamp); err != nil {
		d.opt.Log.Warn("which settings are in force could not be noted", logkey.Error, err.Error())
	}
}

// setup holds what the files of the shop's folder say at one moment.
type setup struct {
	shop   *programme.Shop
	zone   *time.Location
	config *config.Config
	stamp  string // of the files that were read
	blank  string // how config.yaml says nothing: "gone" or "empty"; or ""
}

// readSetup reads shop.yaml and config.yaml.
func readSetup(home string) (s setup, err error) {
	s.stamp = stampOf(home)
	if s.shop, err = books.ReadShop(home); err != nil {
		return s, err
	}
	if s.zone, err = schedule.Zone(s.shop.TimeZone); err != nil {
		return s, err
	}
	s.blank = blank(filepath.Join(home, config.FileName))
	s.config, err = config.ReadFolder(home, s.zone)
	return s, err
}

// blank tells how a file says nothing: "gone" or "empty"; "" when it says something.
func blank(path string) string {
	text, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "gone"
	case err == nil && len(bytes.TrimSpace(text)) == 0:
		return "empty"
	}
	return ""
}

// reread reads the files that changed. A config.yaml that is gone or empty all
// of a sudden, as an editor or a full disk leaves it, is no wish for the
// defaults, under which mails go to a folder and count as delivered.
func (d *Daemon) reread() (setup, error) {
	fresh, err := readSetup(d.opt.Home)
	if err == nil && fresh.blank != "" && d.su().blank == "" {
		err = fresh.vanished(d.opt.Home)
	}
	return fresh, err
}

func (s *setup) vanished(home string) error {
	return fmt.Errorf("%s is %s; put it right, or start the service again to go on without it",
		filepath.Join(home, config.FileName), s.blank)
}

// stampOf returns the sizes and times of the files, by which a change is seen.
func stampOf(home string) string {
	var stamps []string
	for _, name := range []string{books.ShopFile, config.FileName} {
		if info, err := os.Stat(filepath.Join(home, name)); err == nil {
			stamps = append(stamps, fmt.Sprintf("%s %d %s", name, info.Size(),
				info.ModTime().UTC().Format(time.RFC3339Nano)))
		}
	}
	return strings.Join(stamps, ", ")
}

// watchEvery is the time between two looks at the files for changes.
const watchEvery = 15 * time.Second

// watch returns when ctx ends, when the files have changed, lie unchanged
// since, and can be read, when another schedule than list was applied, or with an error when the database is not the
// one any more that the daemon works on.
func (d *Daemon) watch(ctx context.Context, list []planned) error {
	seen := d.su().stamp
	applied := ""
	for last := seen; ctx.Err() == nil; {
		pause(ctx, watchEvery)
		if err := d.store.InPlace(); err != nil && ctx.Err() == nil {
			return err
		}
		if mark, err := d.store.Applied(ctx); err == nil && mark != applied {
			applied = mark
			if fresh, err := d.planned(ctx); err == nil && !slices.Equal(fresh, list) {
				d.opt.Log.Info("a client has another schedule; going on with that")
				return nil
			}
		}
		stamp := stampOf(d.opt.Home)
		settled := stamp == last // else somebody may still be writing
		last = stamp
		if stamp == seen || !settled || ctx.Err() != nil {
			continue
		}
		seen = stamp
		fresh, err := d.reread()
		if err == nil {
			d.unread.Store(nil)
			d.use(&fresh)
			d.opt.Log.Info("settings changed; going on with the new ones")
			return nil
		}
		why := err.Error()
		d.unread.Store(&why)
		d.opt.Log.Error("settings changed and cannot be read; going on with the old ones", logkey.Error, err.Error())
		d.event(ctx, store.Event{Kind: programme.OtherTrouble,
			What: "The settings were changed and cannot be read, so the old ones are still used: " + err.Error(),
			Mend: "Mend the file; 'kitmuster check' says when it is right."})
	}
	return nil
}
