package forget

import (
	"fmt"
	"path/filepath"
	"time"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/programme"
)

// Held lists the names that older backups still hold.
type Held struct {
	Copies int            // that are thinned out by themselves
	Until  programme.Date // the day on which the last of those goes; zero = stays for longer than a life
	Stay   int            // made before a change of tables; they stay until somebody deletes them
	Folder string
}

// InBackups returns what the backup folder still holds of names that were forgotten now.
func InBackups(b *books.Books, c *config.Config, now time.Time) (Held, error) {
	h := Held{Folder: config.Under(b.Home, c.Backup.Folder)}
	copies, err := backup.List(h.Folder)
	if err != nil {
		return h, err
	}
	h.Copies = len(copies)
	if day, ok := (backup.Keep{Daily: c.Backup.Daily, Weekly: c.Backup.Weekly,
		Monthly: c.Backup.Monthly}).LastGone(copies, now, b.Zone()); ok {
		h.Until = programme.DateOf(day)
	}
	before, err := filepath.Glob(filepath.Join(h.Folder, "before-version-*.db"))
	h.Stay = len(before)
	return h, err
}

// Sentence says it for people.
func (h Held) Sentence(dates programme.DateStyle) string {
	text := ""
	switch {
	case h.Copies == 0 && h.Stay == 0:
		return "There are no backups in " + h.Folder + " that still hold the names."
	case h.Copies == 0:
	case h.Until.IsZero():
		text = fmt.Sprintf("Backups in %s still hold the names, and some stay for good. ", h.Folder)
	default:
		text = fmt.Sprintf("Backups in %s still hold the names; with one made every night the last of them goes on %s. ",
			h.Folder, dates.Date(h.Until))
	}
	if h.Stay > 0 {
		text += fmt.Sprintf("The files before-version-*.db there (%d) hold them until you delete them. ", h.Stay)
	}
	return text + "Copies that you made elsewhere are yours to look after."
}
