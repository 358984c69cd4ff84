package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/lists"
	"github.com/kitmuster/kitmuster/programme/stock"
)

// sheetFlags are the flags of 'sheet'.
type sheetFlags struct {
	need, shop, stock, kind, asOf string
	proof, drawings, list, print  string
	search                        searchFlags
	room, png, asJSON             bool
}

// searchFlags say how long a search may take.
type searchFlags struct {
	seconds    float64
	iterations int
	seed       uint64
}

func (f *searchFlags) register(c *cobra.Command, seconds float64) {
	c.Flags().Float64Var(&f.seconds, "seconds", seconds,
		"longest time to search; a longer search can only find cheaper sheets")
	c.Flags().IntVar(&f.iterations, "iterations", 0,
		"stop after this many tries instead, so that every machine finds the same (0 = by time)")
	c.Flags().Uint64Var(&f.seed, "seed", 0, "begin of the random numbers; another one may find other sheets")
}

// withoutEnd is more tries than any time box holds.
const withoutEnd = 1 << 50

// budget starts the clock. With --iterations the time plays no part.
func (f *searchFlags) budget(ctx context.Context) (sheet.Budget, error) {
	if f.seconds < 0 || f.seconds > 86400 {
		return sheet.Budget{}, usagef("--seconds is %v; give 0 to 86400", f.seconds)
	}
	if f.iterations < 0 {
		return sheet.Budget{}, usagef("--iterations is %d; give 1 or more, or 0 to go by time", f.iterations)
	}
	b := sheet.Budget{Seed: f.seed, Iterations: f.iterations}
	if b.Iterations > 0 {
		b.Stop = func() bool { return ctx.Err() != nil }
		return b, nil
	}
	b.Iterations = withoutEnd
	end := time.Now().Add(time.Duration(f.seconds * float64(time.Second)))
	b.Stop = func() bool { return ctx.Err() != nil || time.Now().After(end) }
	return b, nil
}

func newSheetCommand(a *app) *cobra.Command {
	var f sheetFlags
	c := &cobra.Command{
		Use:   "sheet",
		Short: "Lay out and price the transfer sheets for a list of artworks",
		Long: `Takes a list of artworks and pieces to press, adds the spoilage allowance, takes off
good transfers on the shelf, and lays out the rest on the cheapest sheets it finds:
few layouts and many copies for screen-printed kinds, the least length of roll for
digital ones. It orders nothing and changes nothing.

The list is a CSV file with the columns artwork, pieces and, if known, per_month.
A proof shows artworks by their pictures: SVG of plain shapes in flat colours, PNG or
JPEG (with 150 dots an inch: it is to be looked at). One that cannot be drawn as it is
meant is said, and shown as a box with its name.
Order from the proof only after looking at it. A print file (--print) is the art alone
at exact size on a clear ground, for the printer: as PDF, or as PNG of 300 dots an inch
(--png, or print_png of the kind). A picture below 150 dots an inch at print size is
refused there, one below 300 is said.

Where a sheet that is paid anyway has room, it says what else of the same clients would
be printed at no cost and from when on it would be used: the next need of what is on the
list with its per_month, and the clients' other artworks. --room puts that on the sheets.`,
		Example: `  kitmuster sheet --need need.csv --shop shop.yaml --proof proof.pdf
  kitmuster sheet pack --width 22in --gutter 0.25in --rects images.csv`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if f.need == "" {
				return usagef("'%s' wants a list of artworks: --need FILE; see '%s --help'", cmd.CommandPath(),
					cmd.CommandPath())
			}
			if f.png && f.print == "" {
				return usagef("--png says how print files are written; name their folder with --print")
			}
			return f.run(cmd.Context(), a)
		},
	}
	c.Flags().StringVar(&f.need, "need", "", "list of needed artworks: artwork, pieces[, per_month]")
	c.Flags().StringVar(&f.shop, "shop", "", "shop file (default: shop.yaml in the shop's folder)")
	c.Flags().StringVar(&f.stock, "stock", "", "statement of stock; its transfers are used first")
	c.Flags().StringVar(&f.kind, "kind", "", "plan only artworks of this transfer kind")
	c.Flags().StringVar(&f.asOf, "as-of", "", "day from which shelf life is judged (default: today)")
	c.Flags().StringVar(&f.proof, "proof", "", "write the proof at true scale to this PDF file")
	c.Flags().StringVar(&f.drawings, "svg", "", "write a drawing of each sheet into this folder")
	c.Flags().StringVar(&f.print, "print", "",
		"write print files into this folder: the art alone, one page of the sheet's size")
	c.Flags().BoolVar(&f.png, "png", false, "with --print: PNG files with 300 dots an inch instead of PDF")
	c.Flags().StringVar(&f.list, "list", "", "write the order list to this CSV file")
	c.Flags().BoolVar(&f.room, "room", false, "put what is offered for free room onto the sheets")
	c.Flags().BoolVar(&f.asJSON, "json", false, "print the plan for other programs")
	f.search.register(c, 1)
	c.AddCommand(newSheetPackCommand(a))
	return c
}

func (f *sheetFlags) run(ctx context.Context, a *app) error {
	req, home, err := f.request(ctx, a)
	if err != nil {
		return err
	}
	plan, err := sheet.Arrange(req)
	if err != nil {
		return err
	}
	if err := soundPlan(req.Shop, &plan); err != nil {
		return err
	}
	papers := sheetPapers{shop: req.Shop, home: home, plan: &plan, asOf: req.AsOf, warn: a.err, dots: f.png}
	if f.print != "" { // first: it may refuse a picture, and then nothing is written
		if err := papers.printFiles(f.print); err != nil {
			return err
		}
	}
	if err := papers.write(f.proof, f.drawings, f.list); err != nil {
		return err
	}
	if f.asJSON {
		return writeJSON(a.out, planJSON(req.Shop, &plan))
	}
	return printSheets(a.out, req.Shop, &plan)
}

// request reads the files the plan depends on; home is the folder that
// pictures are named from.
func (f *sheetFlags) request(ctx context.Context, a *app) (req sheet.Request, home string, err error) {
	if req.Shop, home, err = f.readShop(a); err != nil {
		return req, "", err
	}
	a.zone = books.ZoneOf(req.Shop) // --shop may name another shop than --home
	if req.AsOf, err = a.day(f.asOf); err != nil {
		return req, "", err
	}
	data, err := os.ReadFile(f.need)
	if err != nil {
		return req, "", fmt.Errorf("read the list of needs: %w", err)
	}
	if req.Needs, err = lists.ReadNeeds(f.need, data, req.Shop); err != nil {
		return req, "", err
	}
	if req.Needs, err = onlyKind(req.Shop, req.Needs, f.kind); err != nil {
		return req, "", err
	}
	if f.stock != "" {
		if req.Shelf, err = readShelf(f.stock); err != nil {
			return req, "", err
		}
	}
	req.Spares, req.Fill = sheet.Likely(req), f.room
	req.Budget, err = f.search.budget(ctx)
	return req, home, err
}

func (f *sheetFlags) readShop(a *app) (*programme.Shop, string, error) {
	if f.shop == "" {
		shop, err := books.ReadShop(a.home)
		return shop, a.home, err
	}
	text, err := os.ReadFile(f.shop)
	if err != nil {
		return nil, "", fmt.Errorf("read the shop file: %w", err)
	}
	shop, err := setup.ReadShop(f.shop, text)
	if err == nil {
		books.FontsOf(shop, filepath.Dir(f.shop))
	}
	return shop, filepath.Dir(f.shop), err
}

func readShelf(file string) ([]programme.StockLine, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read the statement of stock: %w", err)
	}
	list, err := stock.Read(file, data, stock.Options{})
	if err != nil {
		return nil, err
	}
	return list.Rows, nil
}

// onlyKind keeps the needs of one transfer kind; an empty kind keeps all.
func onlyKind(shop *programme.Shop, needs []sheet.Need, kind string) ([]sheet.Need, error) {
	if kind == "" {
		return needs, nil
	}
	if _, ok := shop.Kind(kind); !ok {
		return nil, usagef("--kind is %q; the shop file has %s", kind,
			programme.Listing(shop.Kinds, func(k programme.TransferKind) string { return k.Code }))
	}
	var kept []sheet.Need
	for _, n := range needs {
		if art, ok := shop.Artwork(n.Artwork); ok && art.Kind == kind {
			kept = append(kept, n)
		}
	}
	if len(kept) == 0 {
		return nil, fmt.Errorf("no artwork of the list is of transfer kind %s", kind)
	}
	return kept, nil
}

// printSheets writes the plan for a person: what the numbers are made of, then
// each sheet with its cost, then who pays what.
func printSheets(w io.Writer, shop *programme.Shop, plan *sheet.Plan) error {
	printNeeds(w, shop, plan)
	for i := range plan.Orders {
		printOrder(w, shop, &plan.Orders[i])
	}
	if len(plan.Orders) == 0 {
		_, err := fmt.Fprintln(w, "\nNothing needs printing: the shelf has enough.")
		return err
	}
	if len(plan.Shares) > 1 {
		fmt.Fprintln(w, "\nEach client's part, by the area of its images on each sheet:")
		t := page.Table{Columns: page.Columns("Client", "#Set-up", "#Printing", "#Top-up", "#Together")}
		for _, s := range plan.Shares {
			t.Row(s.Client, s.Cost.SetUp.In(shop.Currency), s.Cost.Print.In(shop.Currency),
				s.Cost.TopUp.In(shop.Currency), s.Cost.Total().In(shop.Currency))
		}
		show(w, t)
	}
	_, err := fmt.Fprintf(w, "\nTransfers cost %s in all.\n", plan.Cost.Total().In(shop.Currency))
	return err
}

func printNeeds(w io.Writer, shop *programme.Shop, plan *sheet.Plan) {
	t := page.Table{Columns: page.Columns("Artwork", "Client", "#To press", "#Spoilage", "#From shelf", "#To print",
		"#On sheets", "#Over")}
	for i := range plan.Lines {
		l := &plan.Lines[i]
		t.Row(l.Artwork, l.Client, l.Asked, l.Spoilage, l.FromShelf, l.Print, l.Printed, l.Over())
	}
	show(w, t)
	for _, p := range plan.Picks {
		where := "on the shelf"
		if !p.Expected.IsZero() {
			where = "due " + shop.DateStyle.Date(p.Expected)
		}
		fmt.Fprintf(w, "Use first: %d of %s made %s, %s.\n", p.Pieces, p.Artwork, shop.DateStyle.Date(p.Made), where)
	}
	for i := range plan.Lines {
		l := &plan.Lines[i]
		if l.Expired > 0 {
			fmt.Fprintf(w, "Not counted: %d of %s are past their shelf life.\n", l.Expired, l.Artwork)
		}
		if l.Former > 0 {
			fmt.Fprintf(w, "Not counted: %d of %s are of a former version (use_up_former: yes in shop.yaml uses them).\n", l.Former, l.Artwork)
		}
	}
}

func printOrder(w io.Writer, shop *programme.Shop, o *sheet.Order) {
	fmt.Fprintf(w, "\n%s, %s: %s", shop.KindName(o.Kind), o.Sheet.Code, o.Cost.Total().In(shop.Currency))
	fmt.Fprintf(w, " (set-up %s, printing %s", o.Cost.SetUp.In(shop.Currency), o.Cost.Print.In(shop.Currency))
	if o.Cost.TopUp > 0 {
		fmt.Fprintf(w, ", up to the printer's minimum %s", o.Cost.TopUp.In(shop.Currency))
	}
	fmt.Fprintf(w, "), %.0f %% covered\n", 100*o.Fill)
	for i := range o.Layouts {
		l := &o.Layouts[i]
		fmt.Fprintf(w, "  %s: print %d of %s × %s with %s\n", l.Name, l.Copies, shop.Units.Length(l.Width),
			shop.Units.Length(l.Height), onLayout(l))
		if h, ok := sheet.HandsOf(l); ok && o.Cut == programme.Trimmer {
			fmt.Fprintf(w, "     %d cuts of %s together, the longest %s; the fence is set %d times\n", h.Cuts,
				shop.Units.Length(h.Length), shop.Units.Length(h.Longest), h.Settings)
		}
	}
	for _, s := range o.Why {
		fmt.Fprintf(w, "  %s\n", s)
	}
	printRoom(w, shop, o, "--room")
}

// printRoom says what else would be printed at no cost, and with which word it is.
func printRoom(w io.Writer, shop *programme.Shop, o *sheet.Order, word string) {
	if len(o.Room) == 0 {
		return
	}
	head, tail := "Room that is paid anyway", "; "+word+" prints them"
	if o.Room[0].Taken {
		head, tail = "Printed besides, at no cost", ""
	}
	fmt.Fprintf(w, "  %s%s:\n", head, tail)
	for _, r := range o.Room {
		use := "no use is known yet"
		if !r.From.IsZero() {
			use = fmt.Sprintf("used from %s to about %s", shop.DateStyle.Date(r.From), shop.DateStyle.Date(r.Until))
		}
		called := r.Artwork
		if a, ok := shop.Artwork(r.Artwork); ok && a.Called() != r.Artwork {
			called = fmt.Sprintf("“%s” (%s)", a.Called(), r.Artwork)
		}
		fmt.Fprintf(w, "     %d %s on %s, %s\n", r.Pieces, called, r.Layout, use)
	}
}

// onLayout lists what is on a layout: 6 bakery-chest, 2 garage-back.
func onLayout(l *sheet.Layout) string {
	var parts []string
	for code, n := range l.Artworks() {
		parts = append(parts, fmt.Sprintf("%d %s", n, code))
	}
	return strings.Join(parts, ", ")
}

// errUnsound would be a fault of the program: better no sheet than a wrong one.
var errUnsound = errors.New("the plan broke a rule of its own and was thrown away; please report this with the files used")
