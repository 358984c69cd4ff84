// Package books opens a shop's folder: its shop.yaml, its database, and the
// programmes applied to it. Commands and the round read everything through it,
// so that all of them mean the same by "the client" and "what is on hand".
package books

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/catalogue"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// Names of what lies in a shop's folder.
const (
	ShopFile      = "shop.yaml"
	CatalogueFile = "catalogue.csv" // what suppliers' price lists said
	ProgrammesDir = "programmes"
	DatabaseFile  = "kitmuster.db"
	MailDir       = "mail"
	DraftsDir     = "drafts" // messages that a person opens in the mail program, looks at and sends
	PapersDir     = "papers" // files that were too large for the mails that name them
	JobsDir       = "jobs"   // papers for the press, a folder a proposal
	BackupDir     = "backup"
)

// JobDir returns the folder within JobsDir of a proposal's papers.
func JobDir(proposal int64, client string) string { return fmt.Sprintf("%d-%s", proposal, client) }

// PickDir returns the folder within JobsDir of the pick list of an entry.
func PickDir(entry, client string) string { return "pick-" + entry + "-" + client }

// WriteJob writes files into a folder within JobsDir, which it makes, and returns its path.
func (b *Books) WriteJob(dir string, files []message.Part) (string, error) {
	dir = filepath.Join(b.Home, JobsDir, dir)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return dir, err
	}
	for _, f := range files {
		if err := wholefile.Write(filepath.Join(dir, f.Name), f.Data); err != nil {
			return dir, err
		}
	}
	return dir, nil
}

// Books is an open shop folder.
type Books struct {
	Home  string
	Shop  *programme.Shop
	Store *store.Store
	// Search is the number of tries that the search for each transfer kind's sheets get where they will be
	// bought; 0 is a quick look.
	Search int

	mu      sync.Mutex
	clients map[string]*programme.Client
	answers *returns // nil = not read yet
}

// Open reads shop.yaml and opens the database of the folder. A database that is
// not there is an error that says what to do: an empty one in its place would
// say that all is well. Close it when done.
func Open(ctx context.Context, home string) (*Books, error) { return open(ctx, home, false) }

// Create is Open for those who begin a shop: it makes the database when there is
// none, unless there are backups of one.
func Create(ctx context.Context, home string) (*Books, error) { return open(ctx, home, true) }

// patience is the longest a command waits for the entries of others.
const patience = time.Minute

func open(ctx context.Context, home string, begin bool) (*Books, error) {
	shop, err := ReadShop(home)
	if err != nil {
		return nil, err
	}
	b := With(home, shop, nil)
	begin = begin && !b.BackedUp()
	b.Store, err = store.Open(ctx, filepath.Join(home, DatabaseFile),
		store.Options{BackupDir: b.backupDir(), MustExist: !begin, Patience: patience})
	if err != nil {
		return nil, b.Missing(err)
	}
	return b, nil
}

// backupDir returns where config.yaml wants backups, or the usual folder where it
// cannot be read.
func (b *Books) backupDir() string {
	c, err := config.ReadFolder(b.Home, b.Zone())
	if err != nil {
		return filepath.Join(b.Home, BackupDir)
	}
	return config.Under(b.Home, c.Backup.Folder)
}

// backups returns the copies of the database, newest first; none where the folder
// cannot be read.
func (b *Books) backups() []backup.Copy {
	copies, err := backup.List(b.backupDir())
	if err != nil {
		return nil
	}
	return copies
}

// BackedUp reports whether there is any backup of the database.
func (b *Books) BackedUp() bool { return len(b.backups()) > 0 }

// Missing adds to the error of a missing database what will mend it; other
// errors stay as they are.
func (b *Books) Missing(err error) error {
	if !errors.Is(err, store.ErrMissing) {
		return err
	}
	copies := b.backups()
	if len(copies) == 0 {
		return fmt.Errorf("%w. Where there was one, look for it before anything else; where the shop is new, 'kitmuster programme apply' makes it", err)
	}
	newest := copies[0]
	if c, ok := backup.Newest(copies, time.Now()); ok {
		newest = c
	}
	return fmt.Errorf("%w. The newest backup is of %s: 'kitmuster restore %s' puts it in its place",
		err, newest.At.In(b.Zone()).Format("2006-01-02 15:04"), newest.Path)
}

// With builds books on a store that is open already.
func With(home string, shop *programme.Shop, st *store.Store) *Books {
	return &Books{Home: home, Shop: shop, Store: st, clients: map[string]*programme.Client{}}
}

// Zone returns the shop's time zone; everything that people read or that counts as
// a day goes by it.
func (b *Books) Zone() *time.Location { return ZoneOf(b.Shop) }

// ZoneOf returns the time zone of a shop that was read.
func ZoneOf(shop *programme.Shop) *time.Location {
	zone, err := schedule.Zone(shop.TimeZone)
	if err != nil {
		return time.UTC // a shop.yaml without a zone is not read
	}
	return zone
}

// Close closes the database.
func (b *Books) Close() error { return b.Store.Close() }

// ReadShop reads the shop.yaml of a folder.
func ReadShop(home string) (*programme.Shop, error) {
	path := filepath.Join(home, ShopFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no %s in %s; go to the shop's folder, name it with --home, or start one with 'kitmuster init'",
			ShopFile, folder(home))
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	shop, err := setup.ReadShop(path, text)
	if err != nil {
		return nil, err
	}
	FontsOf(shop, home)
	shop.Items, err = ReadItems(home, shop)
	return shop, err
}

// ReadItems reads what suppliers' price lists said; nil when none was taken.
// Items of garments, colours and sizes that shop.yaml has no more wait there.
func ReadItems(home string, shop *programme.Shop) (map[programme.SKU]programme.Item, error) {
	path := filepath.Join(home, CatalogueFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	list, err := catalogue.Read(path, data, catalogue.Options{Garments: ledger.NewCatalogue(shop.Garments)})
	if err != nil {
		return nil, fmt.Errorf("%w; mend it, or delete the file and take the price lists again with 'kitmuster catalogue import'", err)
	}
	items := make(map[programme.SKU]programme.Item, len(list.Rows))
	for _, it := range list.Rows {
		items[it.SKU] = it
	}
	return items, nil
}

// FontsOf finds the folder of fonts of a shop file from the folder it lies in.
func FontsOf(shop *programme.Shop, home string) {
	if shop.Fonts != "" && !filepath.IsAbs(shop.Fonts) {
		shop.Fonts = filepath.Join(home, shop.Fonts)
	}
}

func folder(home string) string {
	if home == "." || home == "" {
		return "this folder"
	}
	return home
}

// Client returns the applied programme of a client; store.ErrNoClient when
// there is none.
func (b *Books) Client(ctx context.Context, code string) (*programme.Client, error) {
	row, err := b.Store.Client(ctx, code)
	if err != nil {
		return nil, b.withCodes(ctx, err)
	}
	return b.parse(row)
}

// ClientName returns what people call a client; its code where the programme does not read or names none.
func (b *Books) ClientName(ctx context.Context, code string) string {
	if c, err := b.Client(ctx, code); err == nil && c.Name != "" {
		return c.Name
	}
	return code
}

// mostCodes is the number of codes that an error lists.
const mostCodes = 12

// withCodes adds the codes there are to the error of a mistyped one.
func (b *Books) withCodes(ctx context.Context, err error) error {
	rows, lerr := b.Store.Clients(ctx)
	if lerr != nil || len(rows) == 0 || !errors.Is(err, store.ErrNoClient) {
		return err
	}
	codes := make([]string, 0, mostCodes+1)
	for _, r := range rows[:min(len(rows), mostCodes)] {
		codes = append(codes, r.Code)
	}
	if len(rows) > mostCodes {
		codes = append(codes, "...")
	}
	return fmt.Errorf("%w (the clients are: %s)", err, strings.Join(codes, ", "))
}

// Clients returns every applied programme, ordered by code. One that no longer
// reads under the present shop.yaml is an error naming it.
func (b *Books) Clients(ctx context.Context) ([]*programme.Client, error) {
	all, faults, err := b.Readable(ctx)
	if err != nil {
		return nil, err
	}
	for _, f := range faults {
		err = errors.Join(err, f.Err)
	}
	return all, err
}

// Fault is an applied programme that cannot be read any more.
type Fault struct {
	Client string
	Err    error
}

// Readable returns the programmes that can be read and, apart, those that
// cannot: a round goes on without them and says so.
func (b *Books) Readable(ctx context.Context) ([]*programme.Client, []Fault, error) {
	rows, err := b.Store.Clients(ctx)
	if err != nil {
		return nil, nil, err
	}
	all := make([]*programme.Client, 0, len(rows))
	var faults []Fault
	for _, row := range rows {
		c, err := b.parse(row)
		if err != nil {
			faults = append(faults, Fault{row.Code, err})
			continue
		}
		all = append(all, c)
	}
	return all, faults, nil
}

func (b *Books) parse(row store.ClientRow) (*programme.Client, error) {
	key := row.Code + "\x00" + row.AppliedAt.String()
	b.mu.Lock()
	c, ok := b.clients[key]
	b.mu.Unlock()
	if ok {
		return c, nil
	}
	c, err := setup.ReadClient("programme of "+row.Code+" as applied", row.Programme, b.Shop)
	if err != nil {
		return nil, err
	}
	b.mu.Lock()
	b.clients[key] = c
	b.mu.Unlock()
	return c, nil
}

// Records holds a client's people and the movements of their pieces.
type Records struct {
	People    []programme.Person
	Movements []programme.Movement
}

// Records reads a client's roster and ledger up to and including asOf, so that
// a look at a past date sees only what had happened by then.
func (b *Books) Records(ctx context.Context, client string, asOf programme.Date) (Records, error) {
	people, err := b.Store.People(ctx, client)
	if err != nil {
		return Records{}, err
	}
	moves, err := b.Store.Ledger(ctx, client, b.Zone())
	if err != nil {
		return Records{}, err
	}
	kept := moves[:0]
	for i := range moves {
		if moves[i].Date <= asOf {
			kept = append(kept, moves[i])
		}
	}
	return Records{People: people, Movements: kept}, nil
}

// Pictures reads the files of artworks from the shop's folder, by code, and draws
// those of names. One that is missing or lies outside the folder is left out.
func Pictures(home string, shop *programme.Shop, artworks []string) map[string][]byte {
	root, err := os.OpenRoot(home)
	if err != nil {
		return nil
	}
	defer func() { _ = root.Close() }()
	out := map[string][]byte{}
	for _, code := range artworks {
		a, ok := shop.Artwork(code)
		if !ok || out[code] != nil {
			continue
		}
		if svg, isName := a.Letters(); isName {
			out[code] = svg
			continue
		}
		if a.Picture() == "" {
			continue
		}
		if b, err := root.ReadFile(a.Picture()); err == nil {
			out[code] = b
		}
	}
	return out
}
