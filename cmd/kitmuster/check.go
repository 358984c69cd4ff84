package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/typeface"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/catalogue"
	"github.com/kitmuster/kitmuster/programme/choose"
	"github.com/kitmuster/kitmuster/programme/kitchange"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func newCheckCommand(a *app) *cobra.Command {
	online := false
	c := &cobra.Command{
		Use:   "check",
		Short: "Review settings, programmes, permissions and the database; say what comes next",
		Long: `Reads shop.yaml, config.yaml and every programme, and looks at permissions, the
database, the disk and how mail goes out, and says which prices are missing or below
cost, whose records leave much out and whose sizes are not known. It changes nothing and
sends nothing. With --online it also connects to the mail servers and logs in.

It ends with status 1 when something must be mended.`,
		Example: "  kitmuster check --online",
		RunE: func(cmd *cobra.Command, _ []string) error {
			r := &review{a: a}
			r.all(cmd.Context(), online)
			if r.faults > 0 {
				return fmt.Errorf("%s must be mended", programme.NumberOf(r.faults, "thing"))
			}
			if r.doubtful > 0 {
				fmt.Fprintf(a.out, "\nThe settings are well. The records of %s leave much out, as said above.\n",
					programme.NumberOf(r.doubtful, "client"))
				return nil
			}
			fmt.Fprintln(a.out, "\nAll is well.")
			return nil
		},
	}
	c.Flags().BoolVar(&online, "online", false, "connect to the mail servers and log in")
	return c
}

// review is one run of 'check': what it looked at, and how much must be mended.
type review struct {
	a      *app
	faults int
	// doubtful counts clients whose records leave much out.
	doubtful int
	clients  []*programme.Client // of the files that read
}

func (r *review) well(format string, args ...any) { r.say("ok", format, args...) }

func (r *review) look(format string, args ...any) { r.say("look", format, args...) }

func (r *review) fault(err error) {
	r.faults++
	r.say("mend", "%v", err)
}

// say prints a finding behind its word (ok, look, mend), further lines indented below the first.
func (r *review) say(word, format string, args ...any) {
	words := strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", "\n      ")
	fmt.Fprintf(r.a.out, "%-6s%s\n", word, words)
}

func (r *review) all(ctx context.Context, online bool) {
	shop, err := books.ReadShop(r.a.home)
	if err != nil {
		r.fault(err)
		return
	}
	r.well("shop.yaml: %s, %d garments, %d artworks", shop.Name, len(shop.Garments), len(shop.Artworks))
	zone := books.ZoneOf(shop)
	r.well("time zone %s, where it is %s", shop.TimeZone, r.a.now().In(zone).Format("Mon 2006-01-02 15:04"))
	r.closedDays(shop, programme.DateOf(r.a.now().In(zone)))
	r.programmes(shop)
	r.prices(shop)
	r.heat(shop)
	r.pictures(shop)
	r.fonts(shop)
	r.items(shop)
	cfg, err := config.ReadFolder(r.a.home, zone)
	if err != nil {
		r.fault(err)
		return
	}
	r.well("config.yaml")
	r.modes(cfg)
	r.database(ctx, shop)
	r.mail(ctx, cfg, shop, online)
	r.answers(ctx, cfg, online)
	r.next(cfg, zone)
}

// closedDays warns where the list of closed days has run out; a shop without one lists none.
func (r *review) closedDays(shop *programme.Shop, today programme.Date) {
	switch last := shop.Closed.Last(); {
	case last.IsZero():
	case last < today:
		r.look("the closed days of shop.yaml end with %s: add the holidays to come, or promises may fall on them",
			shop.DateStyle.Date(last))
	default:
		r.well("closed days are listed up to %s", shop.DateStyle.Date(last))
	}
}

func (r *review) programmes(shop *programme.Shop) {
	files, err := filepath.Glob(filepath.Join(r.a.home, books.ProgrammesDir, "*.yaml"))
	if err != nil {
		r.fault(err)
		return
	}
	good := 0
	for _, path := range files {
		text, err := os.ReadFile(path)
		var client *programme.Client
		if err == nil {
			client, err = setup.ReadClient(path, text, shop)
		}
		if err != nil {
			r.fault(err)
			continue
		}
		r.clients = append(r.clients, client)
		good++
	}
	if good == len(files) {
		r.well("%s in %s/, each of which can be read", programme.NumberOf(good, "programme"), books.ProgrammesDir)
	} else {
		r.well("%d of %d programmes in %s/ can be read", good, len(files), books.ProgrammesDir)
	}
}

// prices names what each client's programme asks no price for, and what it sells
// below cost.
func (r *review) prices(shop *programme.Shop) {
	whole := 0
	for _, c := range r.clients {
		doubts := reorder.PriceDoubts(shop, c, r.a.today())
		missing := false
		for _, d := range doubts {
			what := d.Garment
			if len(d.Sizes) > 0 {
				what += " " + strings.Join(d.Sizes, ", ")
			}
			if d.Price > 0 {
				r.look("%s: %s sells for %s and costs up to %s: blank, transfers and pressing", c.Code, what,
					d.Price.In(shop.Currency), d.Cost.In(shop.Currency))
				continue
			}
			missing = true
			r.look("%s: %s has no price; put it under prices: in %s/%s.yaml", c.Code, what, books.ProgrammesDir, c.Code)
		}
		switch {
		case missing && c.ShowPrices:
			r.look("%s: its mails and order forms show no prices while one is missing", c.Code)
		case len(doubts) == 0:
			whole++
		}
	}
	if whole > 0 {
		r.well("prices: every piece of %s has one that covers its cost", programme.NumberOf(whole, "programme"))
	}
}

// heat names prints that are pressed hotter than polyester bears: its dye moves into the print.
func (r *review) heat(shop *programme.Shop) {
	for _, c := range r.clients {
		said := map[string]bool{}
		for i := range c.Roles {
			for _, l := range c.Roles[i].Kit {
				g, _ := shop.Garment(l.Garment)
				for _, d := range l.Decorations {
					a, _ := shop.Artwork(d.Artwork)
					k, ok := shop.Kind(a.Kind)
					if ok && !said[g.Code+a.Code] && choose.Refuses(shop, g, k) {
						said[g.Code+a.Code] = true
						r.look("%s: %s is all polyester and %s is pressed at %s; above %s the dye may move into the print: choose a transfer that needs less heat",
							c.Code, g.Code, a.Code, shop.Units.Temperature(k.Settings.Temperature),
							shop.Units.Temperature(k.Settings.PolyesterLimit()))
					}
				}
			}
		}
	}
}

// pictures tries to draw every picture that an artwork names. One that cannot be drawn becomes a box with a name
// on proofs, so it is worth a look and no fault.
func (r *review) pictures(shop *programme.Shop) {
	root, err := os.OpenRoot(r.a.home)
	if err != nil {
		r.fault(err)
		return
	}
	defer func() { _ = root.Close() }()
	named, good := 0, 0
	for i := range shop.Artworks {
		a := &shop.Artworks[i]
		r.versions(a)
		if a.Picture() == "" {
			continue
		}
		named++
		data, err := root.ReadFile(a.Picture())
		switch {
		case errors.Is(err, fs.ErrNotExist):
			err = errors.New("there is no such file beside shop.yaml, so proofs show a box instead")
		case err != nil:
			err = fmt.Errorf("it cannot be read, so proofs show a box instead: %w", err)
		default:
			err = document.CheckPicture(a, data)
		}
		if err != nil {
			r.look("the picture of %s, %s: %v", a.Code, a.Picture(), err)
			continue
		}
		good++
	}
	if named > 0 {
		r.well("%d of %d pictures of artworks are drawn on proofs as they are", good, named)
	}
}

// versions says which artwork waits for the client's approval.
func (r *review) versions(a *programme.Artwork) {
	next, waits := a.Awaiting()
	if !waits {
		return
	}
	until := "and none of it is printed until then"
	if now, ok := a.InForce(); ok {
		until = fmt.Sprintf("and version %s is printed until then", now.Version)
	}
	r.look("%s, version %s: the client has not approved it (approved: with the day in shop.yaml), %s", a.Code,
		next.Version, until)
}

// fonts looks whether the folder that shop.yaml names for further letters has any.
func (r *review) fonts(shop *programme.Shop) {
	if shop.Fonts == "" {
		return
	}
	if err := typeface.CheckFolder(shop.Fonts); err != nil {
		r.fault(fmt.Errorf("fonts in shop.yaml: %w; name a folder with fonts, or take the line out to use those of this machine", err))
		return
	}
	r.well("papers find further letters in %s", shop.Fonts)
}

// items names what suppliers have no more of all that clients wear.
func (r *review) items(shop *programme.Shop) {
	if len(shop.Items) == 0 {
		return
	}
	gone := 0
	for _, it := range catalogue.Sorted(shop.Items) {
		if it.Supply == programme.Discontinued {
			gone++
			r.look("%s is discontinued by its supplier: buy what is left, or choose another", it.SKU)
		}
	}
	r.well("%d items of suppliers' price lists, %d of them discontinued", len(shop.Items), gone)
}

// modes looks for files with people's data that others may read.
func (r *review) modes(cfg *config.Config) {
	open := 0
	for _, name := range []string{books.DatabaseFile, books.DatabaseFile + "-wal", cfg.Mail.Folder, cfg.Drop.Folder,
		cfg.Backup.Folder} {
		path := config.Under(r.a.home, name)
		info, err := os.Stat(path)
		if err != nil || !wholefile.OthersMayRead(info) {
			continue
		}
		open++
		r.fault(fmt.Errorf("others may read %s; run: chmod -R go= %s", name, path))
	}
	if open == 0 {
		r.well("permissions: others may not read the records")
	}
}

func (r *review) database(ctx context.Context, shop *programme.Shop) {
	path := filepath.Join(r.a.home, books.DatabaseFile)
	in, err := store.Inspect(ctx, path)
	if errors.Is(err, fs.ErrNotExist) {
		b := books.With(r.a.home, shop, nil)
		gone := b.Missing(fmt.Errorf("%w: %s", store.ErrMissing, path))
		if b.BackedUp() {
			r.fault(gone)
		} else {
			r.look("%v", gone)
		}
		return
	}
	if err != nil {
		r.fault(err)
		return
	}
	r.well("database: whole, version %d, %s, %d people, %s", in.Version,
		programme.NumberOf(int(in.Rows["client"]), "client"), in.Rows["person"],
		programme.NumberOf(int(in.Rows["movement"]), "movement"))
	st, err := daemon.ReadStatus(ctx, r.a.home, r.a.now())
	if err != nil {
		r.fault(err)
		return
	}
	for _, w := range st.Worries {
		r.look("%s", w)
	}
	r.records(ctx)
}

// records says where clients' records leave so much out that what rests on them
// is doubtful.
func (r *review) records(ctx context.Context) {
	err := r.a.withBooks(ctx, func(ctx context.Context, b *books.Books) error {
		clients, err := b.Store.Clients(ctx)
		if err != nil {
			return err
		}
		f, err := forecast.New(ctx, b, r.a.today())
		if err != nil {
			return err
		}
		for _, row := range clients {
			r.doubts(ctx, b, f, row.Code)
		}
		return r.edits(ctx, b)
	})
	if err != nil {
		r.fault(err)
	}
}

// doubts looks at the records of one client; programmes that cannot be read were reported before.
func (r *review) doubts(ctx context.Context, b *books.Books, f *forecast.Forecaster, code string) {
	client, err := b.Client(ctx, code)
	if err != nil {
		return
	}
	in, err := f.Inspect(ctx, client)
	if err != nil {
		r.look("%v", err)
		return
	}
	for _, x := range client.CarryFormer(b.Shop, in.Stock) {
		r.look("%s: %s", code, x.Words())
	}
	for _, x := range client.Unprintable(b.Shop, in.Staff, r.a.today()) {
		r.look("%s: which name goes on the %s of %s %s? None is printed: %v (kitmuster change %s %s --print-name NAME)",
			code, x.Garment, x.Person.StaffID, x.Person.Name, x.Why, code, x.Person.StaffID)
	}
	if words := client.UnsizedWords(client.WithoutSizes(b.Shop, in.Staff, r.a.today())); words != "" {
		r.look("%s: %s", code, words)
	}
	list := in.Doubts()
	if e := in.Evidence(); e.Unconfirmed() {
		list = append(list, fmt.Sprintf("%d of %s in service are only assumed, from past orders; nothing is learnt from them, and a count comes before the first order",
			e.Assumed, programme.NumberOf(e.InService, "piece")))
	}
	if len(list) > 0 {
		r.doubtful++
	}
	for _, d := range list {
		r.look("%s: %s", code, d)
	}
	if len(b.Shop.Items) == 0 {
		return
	}
	ahead := in.Muster(discontinuedWeeks)
	ended := kitchange.EndedOf(in.Input, &ahead, slices.Concat(f.Shelf, in.Stock))
	for i := range ended {
		r.look("%s: %s %s", code, ended[i].Words(b.Shop), ended[i].Do(b.Shop))
	}
}

// discontinuedWeeks is the number of weeks over which the need of discontinued goods is forecast.
const discontinuedWeeks = 26

func (r *review) mail(ctx context.Context, cfg *config.Config, shop *programme.Shop, online bool) {
	from := daemon.From(cfg, shop)
	if cfg.Mail.Server == "" {
		r.well("mail: written to %s, from %s; no mail server is set", config.Under(r.a.home, cfg.Mail.Folder),
			from.Email)
		return
	}
	if cfg.Mail.User != "" {
		if _, err := cfg.Password(r.a.home); err != nil {
			r.fault(err)
			return
		}
	}
	r.well("mail: to %s port %d with %s, from %s", cfg.Mail.Server, cfg.Mail.Port, cfg.Mail.Security, from.Email)
	if !online {
		fmt.Fprintln(r.a.out, "      'kitmuster check --online' tries the connection")
		return
	}
	session, err := daemon.Sender(r.a.home, cfg).Open(ctx)
	if err != nil {
		r.fault(err)
		return
	}
	_ = session.Close()
	r.well("mail server: connected, protected and logged in")
}

// answers reviews how answers by mail come back.
func (r *review) answers(ctx context.Context, cfg *config.Config, online bool) {
	if cfg.Replies.Address == "" {
		return
	}
	if cfg.Replies.TrustedServer == "" && cfg.Replies.Signatures == "no" {
		r.look("answers by mail: without trusted_server and without signatures each is put aside for you")
	}
	m := &cfg.Replies.IMAP
	if m.Server == "" {
		r.well("answers by mail: to %s, read from %s", cfg.Replies.Address, config.Under(r.a.home, cfg.Replies.Folder))
		return
	}
	box, err := daemon.Mailbox(r.a.home, cfg)
	if err != nil {
		r.fault(err)
		return
	}
	r.well("answers by mail: to %s, read from %s at %s port %d with %s", cfg.Replies.Address, m.Mailbox, m.Server,
		m.Port, m.Security)
	if !online {
		return
	}
	n, err := box.Look(ctx)
	if err != nil {
		r.fault(err)
		return
	}
	r.well("mailbox: connected and logged in, %s in %s", programme.NumberOf(n, "mail"), m.Mailbox)
}

// next says what the service would do next.
func (r *review) next(cfg *config.Config, zone *time.Location) {
	var lines []string
	for name, text := range daemon.Planned(cfg, r.clients, r.a.today()) {
		if name == daemon.JobOutbox || name == daemon.JobDrop { // every minute or so
			continue
		}
		if s, err := schedule.Parse(text, zone); err == nil {
			lines = append(lines, s.Next(r.a.now()).At.In(zone).Format("2006-01-02 15:04 Mon")+"  "+name)
		}
	}
	slices.Sort(lines)
	fmt.Fprintln(r.a.out, "\nThe service ('kitmuster run') would do next:")
	for _, l := range lines {
		fmt.Fprintln(r.a.out, "  "+l)
	}
}
